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
GOOD_LOW = GOOD_HIGH.reversed("speed")


def draw_sweep(path: Path, summary: Dataset) -> None:
    """Draw a sweep.

    Parameters
    ----------
    path : Path
        PNG to write.
    summary : Dataset
        From `sim.analysis.sweep.sweep_summary`.
    """
    two = len(axes_of(summary)) == 2
    with style.picture(path, 11.0 if two else 8.0, 5.2 if two else 6.4) as figure:
        if two:
            _maps(figure, summary)
        else:
            _curves(figure, summary)
        level = percent(float(summary.attrs["confidence"]), 0)
        bands = "" if two else f"; bands are bounds with {level} confidence, each by itself"
        style.caption(figure, (
            f"{int(summary['flights']):,} flights at each level, the same draws at every one"
            f"{bands}. Flights that do not come down count as failures."
        ))  # fmt: skip


def _axis(summary: Dataset, dim: str) -> tuple[Any, str]:
    """Levels in the unit shown, and the label with that unit."""
    key, _, shown = levels_of(summary[dim])
    unit = str(summary[dim].attrs.get("units", "1"))
    values = np.array([in_unit(float(v), unit, shown) for v in summary[dim].to_numpy()])
    return values, key if shown == "1" else f"{key} [{shown}]"


def _curves(figure: Figure, summary: Dataset) -> None:
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
    lower.set_ylim(bottom=0.0)
    lower.set_ylabel("touchdown speed [m/s]")
    lower.set_title("Touchdown speed: median and 95th percentile over all flights")
    lower.set_xlabel(label)
    lower.legend(loc="best")


def _band(
    axes: Axes, x: Any, rows: Any, colour: str, dashes: str, marker: str, name: str
) -> None:
    """Estimate with its bounds; what is infinite is left out."""
    finite = np.where(np.isfinite(rows), rows, np.nan)
    axes.fill_between(x, finite[:, 0], finite[:, 2], color=colour, alpha=0.18, linewidth=0)
    axes.plot(x, finite[:, 1], color=colour, linestyle=dashes, marker=marker, ms=4, label=name)


def _maps(figure: Figure, summary: Dataset) -> None:
    first, second = axes_of(summary)
    (x, x_label), (y, y_label) = _axis(summary, first), _axis(summary, second)
    left, right = figure.subplots(1, 2, sharey=True)
    share = 100.0 * summary["success"].sel(bound="estimate").transpose(second, first).to_numpy()
    speed = (
        summary["touchdown_speed"].sel(statistic="p95", bound="estimate")
        .transpose(second, first).to_numpy()
    )  # fmt: skip
    _map(figure, left, x, y, share, GOOD_HIGH, "success [%]", (0.0, 100.0))
    _map(figure, right, x, y, speed, GOOD_LOW, "95th percentile of touchdown speed [m/s]", None)
    left.set_title("Chance of success")
    right.set_title("Touchdown speed, 95th percentile")
    left.set_ylabel(y_label)
    for axes in (left, right):
        axes.set_xlabel(x_label)


def _map(
    figure: Figure, axes: Axes, x: Any, y: Any, values: Any, colours: Any, label: str,
    ends: tuple[float, float] | None,
) -> None:  # fmt: skip
    known = np.ma.masked_invalid(values)
    low, high = ends if ends else (float(known.min()), float(known.max()))
    drawn = axes.pcolormesh(x, y, known, cmap=colours, vmin=low, vmax=high, shading="nearest")
    axes.grid(visible=False)
    axes.set_facecolor("#c9ced4")  # where there is no number
    if values.size <= 150:
        for (j, i), value in np.ndenumerate(values):
            dark = np.isfinite(value) and sum(drawn.to_rgba(value)[:3]) < 1.5
            text = f"{value:.0f}" if ends else f"{value:.1f}"
            axes.text(x[i], y[j], text if np.isfinite(value) else "-", ha="center", va="center",
                      fontsize=7.5, color="white" if dark else style.INK)  # fmt: skip
    figure.colorbar(drawn, ax=axes, label=label)
