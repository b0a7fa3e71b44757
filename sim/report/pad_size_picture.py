"""Picture of the smallest landing pads: over the landing points, and growing with the share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patches import Circle, Polygon

from sim.analysis.flights import on_feet
from sim.report import style
from sim.report.decision_words import share
from sim.report.pad_size_answer import state_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

MOST_POINTS = 8_000
SEEN = 0.998  # share of the landing points that the frame must hold


def draw_pad_size(path: Path, sizes: Dataset, flown: Dataset) -> None:
    """Draw landing pads.

    Parameters
    ----------
    path : Path
        PNG to write.
    sizes, flown : Dataset
        From `sim.ensemble.pad_size.solve_pad_size`.
    """
    wanted = float(sizes.attrs["wanted_probability"])
    row = sizes.sel(probability=wanted)
    with style.picture(path, 11.0, 5.6) as figure:
        plan, growth = figure.subplots(1, 2, width_ratios=(1.1, 1.0))
        _plan(plan, row, flown)
        _growth(growth, sizes, wanted)
        title = f"{sizes.attrs['vehicle']}: landing pad for {share(wanted)} of flights"
        figure.suptitle(title, x=0.01, ha="left", fontweight="bold", fontsize=11)
        style.caption(figure, (
            f"{int(sizes['flights']):,} flights, {share(float(sizes.attrs['confidence']))} "
            "confidence, looks allowed for. Shapes hold all feet, not only the point between "
            "them."
        ))  # fmt: skip


def _plan(axes: Axes, row: Dataset, flown: Dataset) -> None:
    up = on_feet(flown)
    east, north = (flown[f"miss_{axis}"].to_numpy() for axis in ("east", "north"))
    for mask, colour, marker, label in (
        (up, style.SKY, ".", "on its feet"), (~up, style.INK, "x", "not on its feet"),
    ):  # fmt: skip
        at = np.flatnonzero(mask & np.isfinite(east))[:MOST_POINTS]
        if at.size:
            axes.plot(east[at], north[at], marker, ms=2.5 if marker == "." else 5, color=colour,
                      alpha=0.5, ls="none", rasterized=True, label=label)  # fmt: skip
    axes.plot(0.0, 0.0, "+", color=style.INK, ms=10, mew=1.6, label="present mark")
    if state_of(row) == "attained":
        axes.add_patch(Circle(
            (float(row["circle_east"]), float(row["circle_north"])), float(row["circle_radius"]),
            fill=False, ec=style.NAVY, lw=1.8, label="circle",
        ))  # fmt: skip
        axes.add_patch(Polygon(_corners(row), fill=False, ec=style.RUST, lw=1.8, ls="--",
                               label="rectangle"))  # fmt: skip
    known = np.isfinite(east)
    if known.any():
        reach = float(np.quantile(np.maximum(np.abs(east[known]), np.abs(north[known])), SEEN))
        reach = max(reach, *(_reach(row) if state_of(row) == "attained" else (0.0,)))
        axes.set_xlim(-1.08 * reach, 1.08 * reach)
        axes.set_ylim(-1.08 * reach, 1.08 * reach)
    axes.set_aspect("equal")
    axes.set_xlabel("east of the mark [m]")
    axes.set_ylabel("north of the mark [m]")
    axes.set_title("Landing points and smallest landing pads")
    axes.legend(loc="upper right")


def _reach(row: Dataset) -> tuple[float, float]:
    circle = max(abs(float(row["circle_east"])), abs(float(row["circle_north"])))
    return circle + float(row["circle_radius"]), float(np.abs(_corners(row)).max())


def _corners(row: Dataset) -> Any:
    azimuth = float(row["rectangle_azimuth"])
    along = np.array([np.sin(azimuth), np.cos(azimuth)]) * 0.5 * float(row["rectangle_length"])
    across = np.array([np.cos(azimuth), -np.sin(azimuth)]) * 0.5 * float(row["rectangle_width"])
    centre = np.array([float(row["rectangle_east"]), float(row["rectangle_north"])])
    return [centre + s * along + t * across for s, t in ((1, 1), (1, -1), (-1, -1), (-1, 1))]


def _growth(axes: Axes, sizes: Dataset, wanted: float) -> None:
    x = 100.0 * sizes["probability"].to_numpy()
    lines = (
        ("circle: radius", sizes["circle_radius"], style.NAVY, "-", "o"),
        ("rectangle: half its length", 0.5 * sizes["rectangle_length"], style.RUST, "--", "s"),
        ("rectangle: half its width", 0.5 * sizes["rectangle_width"], style.TEAL, "-.", "^"),
    )  # fmt: skip
    for name, values, colour, dashes, marker in lines:
        size = values.to_numpy()
        known = np.isfinite(size)
        axes.plot(x[known], size[known], color=colour, ls=dashes, marker=marker, ms=5, label=name)
    axes.axvline(100.0 * wanted, color=style.FAINT, lw=1.0)
    axes.set_ylim(bottom=0.0)
    axes.set_xlabel("share of flights that it takes [%]")
    axes.set_ylabel("size [m]")
    axes.set_title("How it grows")
    axes.legend(loc="upper left")
