"""Picture of how success, landing box and touchdown speed settle with the number of flights."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.settling import STATISTICS
from sim.report import style
from sim.report.display import percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

_PANELS = {
    "success": ("success [%]", "Success", 100.0),
    "radius_95": ("distance from the mark [m]", "R95: 95 % come down within", 1.0),
    "circular_error_probable": ("distance from the mark [m]", "CEP: half come down within", 1.0),
    "touchdown_speed_95": ("touchdown speed [m/s]", "Touchdown speed, 95 % below", 1.0),
}
MOST = len(style.SERIES)
"""Levels of a sweep that can be told apart in one picture."""


def draw_settling(path: Path, found: Dataset | Sequence[Dataset]) -> None:
    """Draw each statistic over the number of flights, with its bounds.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset, or up to MOST of them
        From `sim.analysis.settling.settling`; several are levels of a sweep, named by their
        attribute `level`, and are drawn with the bounds of any time alone.
    """
    several = [found] if hasattr(found, "data_vars") else list(found)
    first: Any = several[0]
    with style.picture(path, 9.5, 6.8) as figure:
        panels = figure.subplots(2, 2, sharex=True)
        for axes, name in zip(panels.flat, STATISTICS, strict=True):
            for place, one in enumerate(several):
                _draw(axes, one, name, place, alone=len(several) == 1)
            unit, title, _ = _PANELS[name]
            axes.set_xscale("log")
            axes.set_ylabel(unit)
            axes.set_title(title)
            axes.yaxis.set_major_locator(_few())
        for axes in panels[1]:
            axes.set_xlabel("flights counted")
            axes.xaxis.set_major_formatter(lambda x, _: f"{x:,.0f}")
        panels[0, 0].legend(loc="best")
        figure.suptitle(_headline(first), x=0.01, ha="left", fontweight="bold", fontsize=11)
        style.caption(figure, _caption(first, len(several)))


def _few() -> Any:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=6)


def _draw(axes: Axes, found: Any, name: str, place: int, *, alone: bool) -> None:
    colour, dashes = style.SERIES[place]
    scale = _PANELS[name][2]
    flights = found["flights"].to_numpy()

    def row(rule: str, bound: str) -> Any:
        values = scale * found[name].sel(rule=rule, bound=bound).to_numpy()
        return np.where(np.isfinite(values), values, np.nan)

    middle = row("any_time", "estimate")
    low, high = row("any_time", "lower"), row("any_time", "upper")
    label = "so far" if alone else str(found.attrs.get("level", place))
    axes.plot(flights, middle, color=colour, linestyle=dashes, linewidth=1.8, label=label, zorder=3)
    axes.fill_between(
        flights, low, high, color=style.SKY if alone else colour, alpha=0.3 if alone else 0.15,
        linewidth=0.0, label="bounds if you keep looking" if alone else None,
    )  # fmt: skip
    if alone:
        axes.plot(flights, row("fixed_size", "lower"), color=style.RUST, linestyle="--",
                  linewidth=1.0, label="bounds if you look once")  # fmt: skip
        axes.plot(flights, row("fixed_size", "upper"), color=style.RUST, linestyle="--",
                  linewidth=1.0)  # fmt: skip
    _frame(axes, middle, low, high, place)


def _frame(axes: Axes, middle: Any, low: Any, high: Any, place: int) -> None:
    """Show the later half in full; the first few flights say little and reach far."""
    late = slice(len(middle) // 4, None)
    known = np.concatenate([part[late] for part in (low, middle, high)])
    known = known[np.isfinite(known)]
    if known.size == 0:
        axes.text(0.5, 0.5, "no bound, or more than this share\nnever came down", ha="center",
                  va="center", transform=axes.transAxes, color=style.FAINT)  # fmt: skip
        return
    least, most = float(known.min()), float(known.max())
    if place:
        before = axes.get_ylim()
        least, most = min(least, before[0]), max(most, before[1])
    else:
        margin = 0.06 * (most - least) or 0.5
        least, most = least - margin, most + margin
    axes.set_ylim(least, most)


def _headline(found: Any) -> str:
    lower, share, upper = (float(x) for x in found["success"].isel(flights=-1, rule=1))
    name = str(found.attrs.get("vehicle", ""))
    if "level" in found.attrs:
        return f"{name}: how the levels settle"
    return f"{name}: {percent(share)} succeed so far ({percent(lower)} to {percent(upper)})"


def _caption(found: Any, series: int) -> str:
    level = percent(float(found.attrs["confidence"]), 0)
    each = " at each level" if series > 1 else ""
    told = f"{int(found['flights'][-1]):,} flights{each}, seed {found.attrs.get('seed', '?')}"
    unfinished = f"; UNFINISHED: {found.attrs['unfinished']}" if "unfinished" in found.attrs else ""
    text = (
        f"{told}{unfinished}; {level} bounds, each panel by itself. Shaded: hold at every number "
        "of flights together (confidence sequences)"
    )
    text += "." if series > 1 else ";\ndashed: hold at one number of flights fixed beforehand."
    if not int(found.attrs.get("independent", 1)):
        text += " The draws are not independent: no bound is proven."
    return f"{text}\nA flight that never came down is infinitely far and fast."
