"""Plan of all impacts by kind, the radii that hold them, and the distances of codes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patches import Circle
from numpy.typing import NDArray

from sim.report import style
from sim.report.decision_words import share
from sim.report.hazard_answer import rounded_up
from sim.report.hazard_codes import distances

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

Points = NDArray[np.float64]
KINDS = (
    ("vehicle, sound", style.SKY, ".", 3.0), ("vehicle, one fault", style.RUST, "x", 4.0),
    ("vehicle, two faults or more", style.INK, "+", 5.0), ("dropped stage", style.AMBER, "^", 2.5),
)  # fmt: skip
_DASHES = ("-", "--", "-.")


def draw_hazard(path: Path, found: Dataset, points: Sequence[Points]) -> None:
    """Draw all impacts, near and in the scale of the codes.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.ensemble.hazard.solve_hazard`.
    points : sequence of ndarray (n, 2) [m]
        East and north of the launch point, of each of `KINDS`; infinite ones are not drawn.
    """
    level = share(float(found.attrs["confidence"]))
    with style.picture(path, 11.0, 7.6) as figure:
        (near, far), keys = figure.subplots(2, 2, height_ratios=(4.6, 1.0))
        shown = _near(near, found, points)
        _far(far, found, points)
        for axes, key, columns in ((near, keys[0], 2), (far, keys[1], 1)):
            key.axis("off")
            key.legend(*axes.get_legend_handles_labels(), loc="upper center", ncols=columns,
                       fontsize=7.5)  # fmt: skip
        title = f"{found.attrs['vehicle']}: where everything comes down"
        figure.suptitle(title, x=0.01, ha="left", fontweight="bold", fontsize=11)
        style.caption(figure, (
            f"{int(found.attrs['flights']):,} flights, faults over-represented in the points and "
            f"weighted in the circles; circles are upper bounds, {level} confidence.\n{shown}"
            "The range safety officer and the local law decide."
        ))  # fmt: skip


def _near(axes: Axes, found: Dataset, points: Sequence[Points]) -> str:
    for (label, colour, marker, size), each in zip(KINDS, points, strict=True):
        known = each[np.isfinite(each).all(axis=1)]
        if len(known):
            axes.plot(known[:, 0], known[:, 1], marker, ms=size, color=colour, ls="none",
                      alpha=0.6, rasterized=True, zorder=1.5 if marker == "^" else 2.0,
                      label=f"{label} ({len(known):,})")  # fmt: skip
    mark = (float(found.attrs["mark_east"]), float(found.attrs["mark_north"]))
    axes.plot(0.0, 0.0, "s", mfc="white", mec=style.INK, ms=7, mew=1.4, label="launch point")
    axes.plot(*mark, "P", mfc="white", mec=style.INK, ms=8, mew=1.2, label="landing mark")
    reach = _circles(axes, found, mark)
    everything = np.concatenate([p for p in points if len(p)])
    away = np.hypot(*everything[np.isfinite(everything).all(axis=1)].T)
    reach = max(reach, float(np.quantile(away, 0.995))) * 1.12
    axes.set_xlim(-reach, reach)
    axes.set_ylim(-reach, reach)
    beyond = int((away > reach).sum())
    _plan(axes, "Impacts of first touch")
    return f"{beyond} farther points are outside the left frame. " if beyond else ""


def _circles(axes: Axes, found: Dataset, mark: tuple[float, float]) -> float:
    """Draw the radii that are shown; the farthest reach of any."""
    farthest = 0.0
    for place, wanted in enumerate(found["share"].to_numpy()):
        for centre, colour, at in (
            ("launch_point", style.NAVY, (0.0, 0.0)), ("mark", style.TEAL, mark),
        ):  # fmt: skip
            radius = float(found["radius"].sel(
                centre=centre, piece="both", share=wanted, bound="upper"
            ))  # fmt: skip
            if not math.isfinite(radius):
                continue
            words = centre.replace("_", " ")
            axes.add_patch(Circle(
                at, radius, fill=False, ec=colour, lw=1.8, ls=_DASHES[place % len(_DASHES)],
                label=f"{share(float(wanted))} about the {words}: {rounded_up(radius)} m",
            ))  # fmt: skip
            farthest = max(farthest, radius + math.hypot(*at))
    return farthest


def _far(axes: Axes, found: Dataset, points: Sequence[Points]) -> None:
    for (_, colour, marker, size), each in zip(KINDS, points, strict=True):
        known = each[np.isfinite(each).all(axis=1)]
        axes.plot(known[:, 0], known[:, 1], marker, ms=0.6 * size, color=colour, ls="none",
                  alpha=0.5, rasterized=True)  # fmt: skip
    rows = distances(found.attrs, float(found.attrs["apogee_height_99"]))
    colours = (style.PLUM, style.AMBER, style.RUST, style.INK)
    last = 0.0
    for place, row in enumerate(rows):
        if row.metres <= last * 1.001:  # the same ring in another code
            continue
        last = row.metres
        axes.add_patch(Circle(
            (0.0, 0.0), row.metres, fill=False, ec=colours[place % len(colours)], lw=1.4,
            ls=("-", "--", "-.", ":")[place % 4], label=f"{row.metres:.0f} m: {row.who}",
        ))  # fmt: skip
    shares = found["share"].to_numpy()
    bounds = [
        float(found["radius"].sel(centre="launch_point", piece="both", share=s, bound="upper"))
        for s in shares
    ]
    shown = [(s, r) for s, r in zip(shares, bounds, strict=True) if math.isfinite(r)]
    if shown:
        wanted, radius = shown[-1]
        label = f"{share(float(wanted))} bound: {rounded_up(radius)} m"
        axes.add_patch(Circle((0.0, 0.0), radius, fill=False, ec=style.NAVY, lw=1.8, label=label))
        last = max(last, radius)
    axes.set_xlim(-1.1 * last or -1.0, 1.1 * last or 1.0)
    axes.set_ylim(-1.1 * last or -1.0, 1.1 * last or 1.0)
    _plan(axes, "Beside distances of published codes")


def _plan(axes: Axes, title: str) -> None:
    axes.set_aspect("equal")
    axes.set_xlabel("east of the launch point [m]")
    axes.set_ylabel("north of the launch point [m]")
    axes.set_title(title)
    axes.annotate(
        "N", xy=(0.95, 0.97), xytext=(0.95, 0.86), xycoords="axes fraction", ha="center",
        va="center", fontweight="bold", arrowprops={"arrowstyle": "-|>", "color": style.INK},
    )  # fmt: skip
