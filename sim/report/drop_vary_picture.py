"""Picture of drops over the levels of one number: standing, strut force, hops, slide."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.report import drop_words, style
from sim.report.decision_words import share
from sim.report.display import in_unit, unit_for
from sim.report.drop_vary_answer import STATISTIC, about, all_alike, answer

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

PANELS = ("peak_strut_force", "peak_stroke", "slide_distance")


def draw_vary(path: Path, found: Dataset) -> None:
    """Draw standing, hops and loads over the levels, each with its bounds.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.ensemble.drop_vary.fly_vary`.
    """
    key, unit = str(found.attrs["scenario_key"]), str(found["level"].attrs["units"])
    values = found["level"].to_numpy()
    shown = unit_for(key, unit, float(np.max(np.abs(values))))
    x = np.array([in_unit(float(v), unit, shown, difference=shown != unit) for v in values])
    with style.picture(path, 9.5, 7.0) as figure:
        panels = figure.subplots(2, 2, sharex=True)
        _bars(panels[0, 0], x, 100.0 * found["standing"].to_numpy())
        panels[0, 0].set_ylabel("drops that end standing [%]")
        panels[0, 0].set_ylim(top=101.0)
        for axes, name in zip(panels.flat[1:], PANELS, strict=True):
            label, of, scale, _ = drop_words.LOADS[name]
            _bars(axes, x, scale * found[name].sel(statistic=STATISTIC[name]).to_numpy())
            which = "median" if STATISTIC[name] == "median" else "95th percentile"
            axes.set_ylabel(f"{label},\n{which} [{of}]")
            axes.set_ylim(0.0, max(1.08 * axes.get_ylim()[1], 1e-9))
        hops = panels[0, 0].twinx()
        hops.plot(x, found["mean_hops"].to_numpy(), color=style.RUST, ls=":", marker="s", ms=3.5)
        hops.set_ylabel("mean hops of a drop (dotted)", color=style.RUST)
        hops.set_ylim(0.0, max(1.08 * hops.get_ylim()[1], 1.0))
        hops.grid(visible=False)
        hops.spines["right"].set_visible(True)
        for axes in panels.flat:
            if not all_alike(found):
                axes.axvline(x[int(found.attrs["best"])], color=style.FAINT, lw=1.0, ls="--")
        for axes in panels[1]:
            axes.set_xlabel(f"{key} [{shown}]" if shown not in ("", "1") else key)
        title = drop_words.wrapped(answer(found), 120)
        figure.suptitle(title, x=0.01, ha="left", fontweight="bold", fontsize=9)
        level = share(float(found.attrs["confidence"]))
        told = f"{about(found)}. Bars: {level} bounds of each point; vertical line: the best level."
        style.caption(figure, drop_words.wrapped(told, 150))


def _bars(axes: Axes, x: Any, rows: Any) -> None:
    """Estimates with their bounds; a bound that is not known is not drawn."""
    middle = np.where(np.isfinite(rows[:, 1]), rows[:, 1], np.nan)
    reach = np.abs(np.where(np.isfinite(rows[:, [0, 2]].T), rows[:, [0, 2]].T - middle, 0.0))
    axes.errorbar(x, middle, np.nan_to_num(reach), color=style.NAVY, marker="o", ms=4,
                  elinewidth=0.9, capsize=2.5)  # fmt: skip
