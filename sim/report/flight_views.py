"""One flight in space: from the side, from above, and the last metres to scale."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from matplotlib.patches import Circle, Rectangle
from numpy.typing import NDArray

from sim.report import style
from sim.report.flight_body import axes_of
from sim.report.flight_outline import Drawing, can_outline, outline

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from sim.report.flight_sheet import Sheet

Floats = NDArray[np.float64]
Places = NDArray[np.int64]

TICK_EVERY = 0.5  # s, between pictures of the attitude
LAST_METRES = 4.0  # vehicle lengths that the close view holds
SHORT = {
    "lift_off_time": "lift-off", "separation_time": "stage free", "apogee_time": "apogee",
    "landing_light_time": "light", "contact_time": "contact",
}  # fmt: skip
_MAGNIFIED = (1, 2, 5, 10, 20, 50)  # of the leaning seen from above


def ticks(line: dict[str, Floats], every: float = TICK_EVERY, start: float = 0.0) -> Places:
    """Samples at which the attitude is drawn: so many seconds apart."""
    time = line["time"]
    return np.searchsorted(time, np.arange(start, time[-1], every)).clip(0, len(time) - 1)


def _size(sheet: Sheet) -> float:
    return sheet.body.length if sheet.body else 1.0


def _end(sheet: Sheet) -> float:
    """When the flight through the air ends [s]."""
    return sheet.times.get("contact_time", float(sheet.line["time"][-1]))


# ---- from the side -------------------------------------------------------------------------------


def draw_side(axes: Axes, sheet: Sheet) -> None:
    """Draw the whole way, width and height each in its own scale, the nose in true angle."""
    line = sheet.line
    x, z = sheet.along(line["east"], line["north"]), line["up"]
    flown = line["time"] <= _end(sheet) + 1e-9
    axes.plot(x[flown], z[flown], color=style.NAVY)
    _stage(axes, sheet)
    draw_grounds(axes, sheet)
    nose = axes_of(line)[0]
    low = LAST_METRES * _size(sheet) if can_outline(sheet) else 0.0
    at = ticks(line)
    coming = line["time"][at] > sheet.times.get("apogee_time", math.inf)
    at = at[flown[at] & ~(coming & (z[at] < low))]  # the last ones are in the view to scale
    # angles as on the screen, so that a tilt is seen as it is although the path is stretched
    axes.quiver(
        x[at], z[at], sheet.along(nose[at, 0], nose[at, 1]), nose[at, 2], angles="uv",
        pivot="middle", scale=22.0, width=0.006, headwidth=2.6, headlength=3.0,
        headaxislength=3.0, color=style.RUST, zorder=3,
    )  # fmt: skip
    _mark(axes, sheet, x, z)
    ends = [float(x.min()), float(x.max()), 0.0]
    if sheet.pad:
        middle = sheet.along(sheet.pad.east, sheet.pad.north)
        ends += [middle - sheet.pad.radius, middle + sheet.pad.radius]
    wide, high = max(max(ends) - min(ends), 4.0), float(z.max())
    axes.set_xlim(min(ends) - 0.25 * wide, max(ends) + 0.25 * wide)
    axes.set_ylim(-0.05 * high, 1.2 * high)
    axes.set_xlabel("from the launch point towards the landing pad [m] (stretched)")
    axes.set_ylabel("height of the cg above launch ground [m]")
    axes.set_title("From the side")
    axes.legend(loc="upper left", fontsize=7.5)


def draw_grounds(axes: Axes, sheet: Sheet) -> None:
    """Draw the ground, the launch pad, the landing pad and its mark."""
    axes.axhline(0.0, color=style.FAINT, lw=0.8)
    axes.plot(0.0, 0.0, marker="s", ms=6, color=style.INK, ls="none", zorder=4, label="launch pad")
    if sheet.pad:
        middle, height = sheet.along(sheet.pad.east, sheet.pad.north), sheet.pad.height
        ends = [middle - sheet.pad.radius, middle + sheet.pad.radius]
        axes.plot(ends, [height, height], color=style.INK, lw=3.0, solid_capstyle="butt",
                  label="landing pad")  # fmt: skip
        axes.plot(middle, height, marker="|", ms=16, mew=1.8, color=style.INK, ls="none",
                  label="its mark")  # fmt: skip


def _stage(axes: Axes, sheet: Sheet) -> None:
    line = sheet.line
    if "stage_up" not in line:
        return
    apart = np.hypot(line["stage_east"] - line["east"], line["stage_north"] - line["north"])
    free = (np.hypot(apart, line["stage_up"] - line["up"]) > 0.5) & (line["stage_up"] > 0.0)
    free &= line["time"] >= sheet.times.get("separation_time", 0.0)
    if free.any():
        x = sheet.along(line["stage_east"], line["stage_north"])
        axes.plot(x[free], line["stage_up"][free], color=style.AMBER, ls="--", lw=1.1,
                  label="dropped stage")  # fmt: skip


def _mark(axes: Axes, sheet: Sheet, x: Floats, y: Floats, *, plan: bool = False) -> None:
    """Dots and names of events on a path."""
    taken: list[Floats] = []
    for name, time in sheet.times.items():
        if name not in SHORT:
            continue
        east, up = (float(np.interp(time, sheet.line["time"], values)) for values in (x, y))
        axes.plot(east, up, marker="o", ms=4, color=style.INK, zorder=4)
        if plan:
            away, side = _free_side(axes, (east, up), taken)
        else:
            side = "right" if name in ("lift_off_time", "separation_time") else "left"
            low = name in ("lift_off_time", "contact_time")
            away = (-10.0 if side == "right" else 10.0, 9.0 if low else 0.0)
        axes.annotate(
            SHORT[name], (east, up), xytext=away, textcoords="offset points", va="center",
            ha=side, fontsize=7.5 if plan else 8, color=style.INK, zorder=5,
        )  # fmt: skip


_Side = Literal["left", "center", "right"]
_SIDES: tuple[tuple[float, float, _Side], ...] = (
    (0.0, 10.0, "center"), (0.0, -11.0, "center"), (9.0, 0.0, "left"), (-9.0, 0.0, "right"),
    (9.0, 11.0, "left"), (-9.0, 11.0, "right"), (9.0, -12.0, "left"), (-9.0, -12.0, "right"),
    (30.0, 18.0, "left"), (30.0, -18.0, "left"),
)  # fmt: skip


def _free_side(
    axes: Axes, here: tuple[float, float], taken: list[Floats]
) -> tuple[tuple[float, float], _Side]:
    """Find where a name stands farthest from those that stand already; adds it to `taken`."""
    figure: Any = axes.figure
    dot = axes.transData.transform(here) * 72.0 / figure.dpi  # points
    shift = {"left": 18.0, "right": -18.0, "center": 0.0}  # to the middle of a short name
    middles = [np.add(dot, (x + shift[side], y)) for x, y, side in _SIDES]
    # a name is some four times as wide as high
    apart = [min((float(np.hypot(*((m - t) / (4.0, 1.0)))) for t in taken), default=math.inf)
             for m in middles]  # fmt: skip
    place = next((i for i, a in enumerate(apart) if a > 12.0), int(np.argmax(apart)))
    taken += [middles[place], dot]
    x, y, side = _SIDES[place]
    return (x, y), side


# ---- the last metres -----------------------------------------------------------------------------


def draw_last_metres(axes: Axes, sheet: Sheet) -> None:
    """Draw the vehicle itself, to scale, in its last metres."""
    line, size = sheet.line, _size(sheet)
    x, z = sheet.along(line["east"], line["north"]), line["up"]
    ground = sheet.ground
    last = line["time"] >= sheet.times.get("apogee_time", 0.0)
    last &= z - ground < LAST_METRES * size
    draw_grounds(axes, sheet)
    axes.plot(x[last], z[last], color=style.NAVY, zorder=2.5)
    if last.any() and can_outline(sheet):
        shape = outline(sheet)
        *before, final = _shown(sheet, np.flatnonzero(last))
        for sample in before:
            Drawing(axes, shape, weight=0.6, colour=style.FAINT).move(sample)
        Drawing(axes, shape).move(final)
    middle = float(x[last][-1]) if last.any() else float(x[-1])
    wide = float(np.ptp(x[last])) if last.any() else 0.0
    half = max(0.5 * wide + 0.6 * size, 1.6 * LAST_METRES * size)
    middle = 0.5 * float(x[last].min() + x[last].max()) if last.any() else middle
    axes.set_ylim(ground - 0.25 * size, ground + LAST_METRES * size)
    axes.set_xlim(middle - half, middle + half)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel("towards the landing pad [m]")
    axes.set_ylabel("height [m]")
    axes.set_title("The last metres, to scale")


def _shown(sheet: Sheet, last: Places) -> list[int]:
    """Samples whose vehicle is drawn: `TICK_EVERY` apart back from contact, and the one at rest."""
    time = sheet.line["time"]
    end = _end(sheet)
    wanted = np.arange(end, float(time[last[0]]), -TICK_EVERY)[::-1]
    at = np.searchsorted(time, wanted).clip(last[0], last[-1])
    return [int(sample) for sample in np.unique([*at, last[-1]])]


# ---- from above ----------------------------------------------------------------------------------


def draw_plan(axes: Axes, sheet: Sheet) -> int:
    """Draw the path from above, and where the nose leans; returns how much that is magnified."""
    line, pad = sheet.line, sheet.pad
    flown = line["time"] <= _end(sheet) + 1e-9
    axes.plot(line["east"][flown], line["north"][flown], color=style.NAVY)
    axes.plot(0.0, 0.0, marker="s", ms=6, color=style.INK, ls="none", label="launch pad")
    if pad is not None:
        axes.add_patch(Circle((pad.east, pad.north), pad.radius, facecolor=style.GROUND,
                              edgecolor=style.INK, zorder=0.5, label="landing pad"))  # fmt: skip
        axes.plot(pad.east, pad.north, marker="+", ms=10, mew=1.6, color=style.INK, ls="none",
                  label="its mark")  # fmt: skip
    nose, size = axes_of(line)[0], _size(sheet)
    at = ticks(line)
    at = at[flown[at]]
    lean = size * np.hypot(nose[at, 0], nose[at, 1])
    reach = max(float(np.ptp(line["east"])), float(np.ptp(line["north"])), pad.radius if pad else 1)
    room = 0.22 * reach / max(float(lean.max(initial=0.0)), 1e-6)
    times = max((m for m in _MAGNIFIED if m <= room), default=1)
    axes.quiver(
        line["east"][at], line["north"][at], times * size * nose[at, 0], times * size * nose[at, 1],
        angles="xy", scale_units="xy", scale=1.0, width=0.005, headwidth=2.6, headlength=3.0,
        headaxislength=3.0, minlength=0.3, color=style.RUST, zorder=3,
    )  # fmt: skip
    axes.set_aspect("equal", adjustable="datalim")
    axes.margins(0.12)
    axes.apply_aspect()
    _mark(axes, sheet, line["east"], line["north"], plan=True)
    axes.set_xlabel("east [m]")
    axes.set_ylabel("north [m]")
    axes.set_title("From above")
    return times


def frame_of_last_metres(axes: Axes, close: Axes) -> None:
    """Show in the view from the side what the view to scale holds."""
    (left, right), (low, high) = close.get_xlim(), close.get_ylim()
    axes.add_patch(Rectangle((left, low), right - left, high - low, fill=False, lw=0.8, ls=":",
                             edgecolor=style.SOFT, zorder=1.0))  # fmt: skip
