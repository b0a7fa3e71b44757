"""Picture of a sweep: success and touchdown speed along one input, or over two as maps."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.colors import LinearSegmentedColormap

from sim.report import style
from sim.report.display import in_unit, percent
from sim.report.sweep_answer import axes_of, levels_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from xarray import Dataset

# dark is bad in both maps, light is good; lightness alone carries it, so that grey print does too
GOOD_HIGH = LinearSegmentedColormap.from_list(
    "share", ["#2b1b3d", "#1d4f7a", "#2f8f8a", "#9ccf8f", "#f6f3c8"]
)
MOST_WRITTEN = 49  # cells that have room for words
BEYOND = 1e6  # m/s, out of every frame
GOOD_LOW = GOOD_HIGH.reversed("speed")


def draw_sweep(path: Path, summary: Dataset, title: str = "") -> None:
    """Draw a sweep.

    Parameters
    ----------
    path : Path
        PNG to write.
    title : str
        Name of the vehicle.
    summary : Dataset
        From `sim.analysis.sweep.sweep_summary`.
    """
    two = len(axes_of(summary)) == 2
    with style.picture(path, 11.0 if two else 8.0, 5.4 if two else 6.8) as figure:
        keys = " and ".join(levels_of(summary[dim])[0] for dim in axes_of(summary))
        heading = f"{title}: sweep over {keys}".removeprefix(": ")
        figure.suptitle(heading, x=0.01, ha="left", fontweight="bold", fontsize=11)
        if two:
            draw_maps(figure, summary)
        else:
            draw_curves(figure, summary)
        level = percent(float(summary.attrs["confidence"]), 0)
        what = "numbers in brackets" if two else "bands"
        style.caption(figure, (
            f"{int(summary['flights']):,} flights at each level, the same draws at every one; "
            f"{what} are bounds with {level} confidence,\neach by itself; where there is no upper "
            "bound the flights are too few. Flights that do not come down count as failures."
        ))  # fmt: skip


def _axis(summary: Dataset, dim: str) -> tuple[Any, str]:
    """Levels in the unit shown, and the label with that unit."""
    key, _, shown = levels_of(summary[dim])
    unit = str(summary[dim].attrs.get("units", "1"))
    values = np.array([in_unit(float(v), unit, shown) for v in summary[dim].to_numpy()])
    return values, key if shown == "1" else f"{key} [{shown}]"


def draw_curves(figure: Figure, summary: Dataset) -> None:
    x, label = _axis(summary, axes_of(summary)[0])
    upper, lower = figure.subplots(2, 1, sharex=True)
    share = 100.0 * summary["success"].to_numpy()
    _band(upper, x, share, style.TEAL, "-", "o", "success")
    upper.set_ylim(0.0, 100.0)
    upper.set_ylabel("success [%]")
    upper.set_title("Chance of success")
    looks = (("median", "median", style.NAVY, "--", "s"), ("p95", "95 %", style.RUST, "-", "o"))
    for statistic, name, colour, dashes, marker in looks:
        rows = summary["touchdown_speed"].sel(statistic=statistic).to_numpy()
        _band(lower, x, rows, colour, dashes, marker, name)
    speeds = summary["touchdown_speed"].to_numpy()
    finite = speeds[np.isfinite(speeds)]
    lower.set_ylim(0.0, 1.25 * float(finite.max()) if finite.size else 1.0)
    lower.set_ylabel("touchdown speed [m/s]")
    lower.set_title("Touchdown speed: median and 95th percentile over all flights")
    lower.set_xlabel(label)
    lower.legend(loc="best")


def _band(
    axes: Axes, x: Any, rows: Any, colour: str, dashes: str, marker: str, name: str
) -> None:
    """Estimate with its bounds; a band without an upper bound goes out of the frame."""
    known = np.where(np.isfinite(rows[:, 1]), rows[:, 1], np.nan)
    upper = np.where(np.isfinite(rows[:, 2]), rows[:, 2], BEYOND)
    axes.fill_between(x, rows[:, 0], upper, color=colour, alpha=0.18, linewidth=0)
    axes.plot(x, known, color=colour, linestyle=dashes, marker=marker, ms=4, label=name)


def draw_maps(figure: Figure, summary: Dataset) -> None:
    first, second = axes_of(summary)
    (x, x_label), (y, y_label) = _axis(summary, first), _axis(summary, second)
    left, right = figure.subplots(1, 2, sharey=True)
    share = 100.0 * summary["success"].transpose("bound", second, first).to_numpy()
    speed = summary["touchdown_speed"].sel(statistic="p95")
    _map(figure, left, x, y, share, GOOD_HIGH, "success [%]", (0.0, 100.0))
    _map(figure, right, x, y, speed.transpose("bound", second, first).to_numpy(), GOOD_LOW,
         "95th percentile of touchdown speed [m/s]", None)  # fmt: skip
    left.set_title("Chance of success")
    right.set_title("Touchdown speed, 95th percentile")
    left.set_ylabel(y_label)
    for axes in (left, right):
        axes.set_xlabel(x_label)
        axes.set_xticks(x)
        axes.set_yticks(y)


def _map(
    figure: Figure, axes: Axes, x: Any, y: Any, rows: Any, colours: Any, label: str,
    ends: tuple[float, float] | None,
) -> None:  # fmt: skip
    """One map; rows are lower bound, estimate and upper bound, each (y, x)."""
    known = np.ma.masked_invalid(rows[1])
    low, high = ends if ends else _ends(rows[1])
    drawn = axes.pcolormesh(x, y, known, cmap=colours, vmin=low, vmax=high, shading="nearest")
    axes.grid(visible=False)
    axes.set_facecolor(style.BLANK)  # where there is no number
    digits = 0 if ends else 1
    if known.size <= MOST_WRITTEN:
        for (j, i), value in np.ndenumerate(rows[1]):
            dark = np.isfinite(value) and sum(drawn.to_rgba(value)[:3]) < 1.5
            axes.text(x[i], y[j], _cell(rows[:, j, i], digits), ha="center", va="center",
                      fontsize=7.0, color="white" if dark else style.INK)  # fmt: skip
    figure.colorbar(drawn, ax=axes, label=label)


def _ends(values: Any) -> tuple[float, float]:
    """Least and greatest known value, or any two if there is none."""
    known = values[np.isfinite(values)]
    return (float(known.min()), float(known.max())) if known.size else (0.0, 1.0)


def _cell(bounds: Any, digits: int) -> str:
    lower, value, upper = (f"{v:.{digits}f}" if np.isfinite(v) else "-" for v in bounds)
    return f"{value}\n({lower} to {upper})"
