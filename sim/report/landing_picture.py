"""Picture of an ensemble: where it comes down, and how hard and how tilted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Ellipse, Rectangle
from numpy.typing import NDArray

from sim.analysis.flights import meanings, successes
from sim.analysis.landing_box import PAD_STATES
from sim.analysis.limits import landing_pad_radius, read_limits
from sim.report import style
from sim.report.display import percent, words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

MOST_POINTS = 20_000
MOST_ALONE = 400  # up to so many points are drawn large
_WIDTH, _HEIGHT = 11.0, 6.9  # in
SEEN = 0.99  # share of the landed flights that the frame must hold


@dataclass(frozen=True)
class Kind:
    """Flights drawn alike."""

    label: str
    colour: str
    marker: str
    mask: NDArray[np.bool_]


_LOOKS = {
    "feet_first": (style.SKY, "o"),
    "off_landing_pad": (style.AMBER, "^"),
    "airframe_first": (style.RUST, "s"),
    "tumbled": (style.PLUM, "X"),
    "landing_motor_unlit": (style.INK, "P"),
    "standing": (style.SKY, "o"),
    "tipped": (style.RUST, "v"),
    "unsettled": (style.AMBER, "d"),
    "frame_struck": (style.RUST, "*"),
    "leg_overloaded": (style.PLUM, "<"),
    "frame_overloaded": (style.PLUM, ">"),
    "too_fast": (style.INK, "X"),
}


def draw_landing(path: Path, ds: Dataset, box: Dataset, contact: Dataset) -> None:
    """Draw landing points beside touchdown speed and tilt.

    Parameters
    ----------
    path : Path
        PNG to write.
    ds : Dataset
        The ensemble.
    box, contact : Dataset
        From `sim.analysis.landing_box` and `sim.analysis.touchdown`.
    """
    kinds = kinds_of(ds)
    with style.picture(path, _WIDTH, _HEIGHT, arranged=False) as figure:
        plan, touch = figure.subplots(1, 2)
        figure.suptitle(_headline(ds, contact), x=0.01, y=0.99, ha="left",
                        fontweight="bold", fontsize=11)  # fmt: skip
        below = draw_plan(plan, ds, box, kinds), draw_touchdown(touch, ds, contact, kinds)
        _arrange(plan, touch, max(below))
        style.caption(figure, _caption(ds, box))


def _arrange(plan: Axes, touch: Axes, rows: int) -> None:
    """Put a square panel beside another, above legends of so many rows and the caption."""
    bottom = 0.8 + 0.17 * rows  # in
    side = _HEIGHT - 0.48 - bottom
    low, high = bottom / _HEIGHT, side / _HEIGHT
    plan.set_position((0.62 / _WIDTH, low, side / _WIDTH, high))
    left = 0.62 + side + 0.8
    touch.set_position((left / _WIDTH, low, (_WIDTH - 0.15 - left) / _WIDTH, high))


def _headline(ds: Dataset, contact: Dataset) -> str:
    lower, share, upper = (float(x) for x in contact["success"])
    title = str(ds.attrs.get("title", "")).partition(":")[0]
    return f"{title}: {percent(share)} succeed ({percent(lower)} to {percent(upper)})"


def _caption(ds: Dataset, box: Dataset) -> str:
    level = percent(float(box.attrs["confidence"]), 0)
    lost = int(box["not_down"])
    gone = f" {lost:,} never came down and are not drawn;" if lost else ""
    unfinished = " UNFINISHED ensemble;" if "unfinished" in ds.attrs else ""
    return (
        f"{int(box['flights']):,} flights, seed {ds.attrs.get('seed', '?')};{gone}{unfinished} "
        f"ranges are bounds with {level} confidence. A simulation: ask the range safety officer."
    )


def kinds_of(ds: Dataset) -> list[Kind]:
    """Flights that came down, by what became of them; success first."""
    outcome, good = ds["outcome"].to_numpy(), successes(ds)
    down = np.isfinite(ds["miss_east"].to_numpy())
    found = [Kind("success", style.TEAL, "o", good & down)]
    for name, value in meanings(ds["outcome"]).items():
        mask = down & ~good & (outcome == value)
        if not mask.any():
            continue
        colour, marker = _LOOKS.get(name, (style.FAINT, "D"))
        beyond = {"feet_first": "feet first", "standing": "standing"}
        label = f"{beyond[name]}, but beyond a limit" if name in beyond else words(name)
        found.append(Kind(label, colour, marker, mask))
    return found


def _points(axes: Axes, kinds: Sequence[Kind], x: Any, y: Any) -> None:
    """Points of each kind; the most numerous below, so that rare ones are seen."""
    total = sum(int(kind.mask.sum()) for kind in kinds)
    size, faint = (16.0, 0.8) if total <= MOST_ALONE else (5.0, 0.45)
    for kind in sorted(kinds, key=lambda kind: -int(kind.mask.sum())):
        chosen = np.flatnonzero(kind.mask)[:MOST_POINTS]
        axes.scatter(
            x[chosen], y[chosen], s=size, c=kind.colour, marker=kind.marker, alpha=faint,
            linewidths=0.0, rasterized=True,
        )  # fmt: skip


# ---- plan view -----------------------------------------------------------------------------------


def draw_plan(axes: Axes, ds: Dataset, box: Dataset, kinds: Sequence[Kind]) -> int:
    """Draw the landing points; returns the rows of the legend."""
    east, north = ds["miss_east"].to_numpy(), ds["miss_north"].to_numpy()
    radius = landing_pad_radius(ds)
    if radius is not None and math.isfinite(radius):
        axes.add_patch(Circle((0, 0), radius, facecolor=style.GROUND, edgecolor="none", zorder=0.5))
    _points(axes, kinds, east, north)
    lines: list[Line2D | None] = []
    if radius is not None and math.isfinite(radius):
        axes.add_patch(Circle((0, 0), radius, fill=False, edgecolor=style.INK, linewidth=1.6))
        lines.append(_line(style.INK, "-", f"landing pad, {radius:.2f} m", 1.6))
    lines += [
        _ring(axes, box, "circular_error_probable", "50 % within", style.NAVY, "--"),
        _ring(axes, box, "radius_95", "95 % within", style.NAVY, "-."),
        _ellipse(axes, box),
        _needed(axes, box),
    ]
    axes.plot(0, 0, marker="+", color=style.INK, markersize=13, markeredgewidth=1.8)
    half = half_width(np.hypot(east, north), box, radius)
    axes.set_xlim(-half, half)
    axes.set_ylim(-half, half)
    axes.set_aspect("equal")
    axes.set_xlabel("east of the mark [m]")
    axes.set_ylabel("north of the mark [m]")
    axes.set_title("Landing points (of the axis, at the feet)")
    beyond = int(np.sum((np.abs(east) > half) | (np.abs(north) > half)))
    if beyond:
        style.note(axes, f"{beyond:,} beyond the frame")
    return _legend(axes, [line for line in lines if line is not None])


def _legend(axes: Axes, handles: Sequence[Line2D]) -> int:
    """Legend below a panel, where it hides no flight; returns its rows."""
    axes.legend(handles=handles, loc="upper left", bbox_to_anchor=(-0.02, -0.1), ncols=1,
                borderpad=0.2)  # fmt: skip
    return len(handles)


def _line(colour: str, dashes: Any, label: str, width: float = 1.3) -> Line2D:
    return Line2D([], [], color=colour, linestyle=dashes, linewidth=width, label=label)


def _ring(
    axes: Axes, box: Dataset, name: str, label: str, colour: str, dashes: str
) -> Line2D | None:
    lower, middle, upper = (float(x) for x in box[name].sel(about="mark"))
    if not math.isfinite(middle):
        return None
    axes.add_patch(
        Circle((0, 0), middle, fill=False, edgecolor=colour, linestyle=dashes, linewidth=1.3)
    )
    high = f"{upper:.2f}" if math.isfinite(upper) else "no bound"
    return _line(colour, dashes, f"{label} {middle:.2f} m ({lower:.2f} to {high})")


def _ellipse(axes: Axes, box: Dataset) -> Line2D | None:
    major, minor = (float(x) for x in box["sigma"].sel(about="centre"))
    azimuth = float(box["azimuth"].sel(about="centre"))
    if not (math.isfinite(major) and math.isfinite(azimuth)):
        return None
    scale = float(box["ellipse_scale"].sel(share=0.95))
    found = float(box["ellipse_found"].sel(share=0.95))
    centre = [float(x) for x in box["bias"].sel(bound="estimate")]
    axes.add_patch(Ellipse(
        (centre[0], centre[1]), 2.0 * scale * major, 2.0 * scale * minor,
        angle=90.0 - math.degrees(azimuth), fill=False, edgecolor=style.RUST, linestyle=":",
        linewidth=1.5,
    ))  # fmt: skip
    axes.plot(*centre, marker="x", color=style.RUST, markersize=6, markeredgewidth=1.5)
    return _line(style.RUST, ":", f"mean (x) and 95 % normal ellipse; holds {percent(found)}", 1.5)


def _needed(axes: Axes, box: Dataset) -> Line2D | None:
    if "landing_pad_state" not in box or PAD_STATES[int(box["landing_pad_state"])] != "attained":
        return None
    radius = float(box["landing_pad_radius"])
    axes.add_patch(Circle((0, 0), radius, fill=False, edgecolor=style.PLUM, linewidth=1.2,
                          linestyle=(0, (6, 2, 1, 2, 1, 2))))  # fmt: skip
    share, level = (percent(float(box.attrs[n]), 0) for n in ("probability", "confidence"))
    label = f"landing pad for all feet of {share}, {level} sure: {radius:.2f} m"
    return _line(style.PLUM, (0, (6, 2, 1, 2, 1, 2)), label, 1.2)


def half_width(distance: Any, box: Dataset, radius: float | None) -> float:
    """Half side of the frame: nearly all points, both circles, and the landing pad."""
    landed = distance[np.isfinite(distance)]
    sizes = [1.0, float(np.quantile(landed, SEEN)) if landed.size else 0.0]
    sizes += [radius] if radius is not None and math.isfinite(radius) else []
    if "landing_pad_radius" in box and math.isfinite(float(box["landing_pad_radius"])):
        sizes.append(float(box["landing_pad_radius"]))
    ring = float(box["radius_95"].sel(about="mark", bound="estimate"))
    sizes += [ring] if math.isfinite(ring) else []
    return 1.12 * max(sizes)


# ---- touchdown -----------------------------------------------------------------------------------


def draw_touchdown(axes: Axes, ds: Dataset, contact: Dataset, kinds: Sequence[Kind]) -> int:
    """Draw touchdown speed and tilt; returns the rows of the legend."""
    speed, tilt = ds["touchdown_speed"].to_numpy(), np.degrees(ds["tilt"].to_numpy())
    limits = {limit.variable: limit.high for limit in read_limits(ds) if limit.high is not None}
    right = _reach(speed, limits.get("touchdown_speed"))
    top = _reach(tilt, math.degrees(limits["tilt"]) if "tilt" in limits else None)
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    _allowed(axes, limits, right, top)
    _points(axes, kinds, speed, tilt)
    for statistic, dashes in (("median", "--"), ("p95", "-.")):
        at = float(contact["touchdown_speed"].sel(statistic=statistic, bound="estimate"))
        if math.isfinite(at) and at < right:
            axes.axvline(at, color=style.NAVY, linestyle=dashes, linewidth=1.1)
            name = {"median": "median", "p95": "95 %"}[statistic]
            axes.text(at, 0.995 * top, f" {name} {at:.2f}", rotation=90, va="top", ha="right",
                      fontsize=7.5, color=style.NAVY)  # fmt: skip
    axes.set_xlabel("touchdown speed [m/s]")
    axes.set_ylabel("tilt at first contact [deg]")
    axes.set_title("How hard, how tilted")
    handles = [
        Line2D([], [], marker=kind.marker, color=kind.colour, linestyle="none", markersize=5,
               label=f"{kind.label}: {int(kind.mask.sum()):,}")
        for kind in kinds
    ]  # fmt: skip
    beyond = int(np.sum((speed > right) | (tilt > top)))
    if beyond:
        style.note(axes, f"{beyond:,} beyond the frame")
    return _legend(axes, handles)


def _reach(values: Any, limit: float | None) -> float:
    finite = values[np.isfinite(values)]
    most = float(np.quantile(finite, SEEN)) if finite.size else 1.0
    return 1.12 * max(most, 1.25 * limit if limit is not None else 0.0, 1e-3)


def _allowed(axes: Axes, limits: dict[str, float], right: float, top: float) -> None:
    """Shade what the success predicate allows of the two, and name its edges."""
    speed = limits.get("touchdown_speed")
    tilt = math.degrees(limits["tilt"]) if "tilt" in limits else None
    wide, high = min(speed or right, right), min(tilt or top, top)
    if speed is None and tilt is None:
        return
    axes.add_patch(Rectangle((0, 0), wide, high, facecolor=style.GROUND, edgecolor="none",
                             zorder=0.5))  # fmt: skip
    axes.plot([wide, wide, 0], [0, high, high], color=style.INK, linewidth=1.4)
    axes.text(0.98 * wide, 0.98 * high, "allowed", ha="right", va="top", fontsize=8,
              color=style.INK)  # fmt: skip
