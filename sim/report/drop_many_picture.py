"""Picture of many drops: how they touched, and what they loaded."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.ensemble.drop_summary import made_for, stands
from sim.report import drop_words, style
from sim.report.drop_many_answer import answer

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

    from sim.scenario import Scenario

SHOWN = ("peak_strut_force", "peak_stroke", "peak_deceleration")
MOST_DOTS = 2000


def draw_drops(path: Path, ds: Dataset, summary: Dataset, scenario: Scenario) -> None:
    """Draw many drops.

    Parameters
    ----------
    path : Path
        PNG to write.
    ds : Dataset
        From `sim.ensemble.drop.drop_many`.
    summary : Dataset
        From `sim.ensemble.drop_summary.drop_summary`.
    scenario : Scenario
    """
    with style.picture(path, 9.5, 7.2) as figure:
        panels = figure.subplots(2, 2)
        _touches(panels[0, 0], ds)
        for axes, name in zip(panels.flat[1:], SHOWN, strict=True):
            _load(axes, ds, summary, scenario, name)
        figure.suptitle(
            f"{scenario.title}: {drop_words.ground_words(scenario)}\n{answer(summary)}",
            x=0.01, ha="left", fontweight="bold", fontsize=10,
        )  # fmt: skip
        dots = f" (dots: the first {MOST_DOTS:,})" if ds.sizes["run"] > MOST_DOTS else ""
        style.caption(figure, (
            f"{ds.sizes['run']:,} simulated drops{dots}, seed {ds.attrs['seed']}. Bars: drops by "
            "load; line: 95th percentile, its bounds shaded; dotted: what it is made for."
        ))  # fmt: skip


def _touches(axes: Axes, ds: Dataset) -> None:
    part = slice(0, MOST_DOTS)
    good = stands(ds)[part]
    sideways = ds["lateral_speed"].to_numpy()[part]
    tilt = np.degrees(ds["tilt"].to_numpy()[part])
    axes.plot(sideways[good], tilt[good], ls="none", marker="o", ms=3.0, mfc="none", mew=0.7,
              color=style.SKY, label=f"stands ({int(good.sum()):,})")  # fmt: skip
    axes.plot(sideways[~good], tilt[~good], ls="none", marker="x", ms=5.0, mew=1.4,
              color=style.RUST, label=f"does not ({int((~good).sum()):,})")  # fmt: skip
    axes.set_xlabel("lateral speed at first contact [m/s]")
    axes.set_ylabel("tilt at first contact [deg]")
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    axes.set_title("How it touched")
    axes.legend(loc="best")


def _load(axes: Axes, ds: Dataset, summary: Dataset, scenario: Scenario, name: str) -> None:
    label, unit, scale, _ = drop_words.LOADS[name]
    values = ds[name].to_numpy().astype(np.float64) * scale
    values = values[np.isfinite(values)]
    if not values.size:
        style.note(axes, "no drop has a value")
        return
    bins = np.linspace(0.0, max(float(values.max()) * 1.02, 1e-9), 31)
    axes.hist(values, bins=list(bins), color=style.SKY, edgecolor="white", lw=0.4)
    low, middle, high = (scale * float(x) for x in summary[name].sel(statistic="p95"))
    right = high if np.isfinite(high) else bins[-1]
    axes.axvspan(low, right, color=style.AMBER, alpha=0.35, lw=0.0)
    if np.isfinite(middle):
        axes.axvline(middle, color=style.INK, lw=1.2)
    limit = scale * made_for(scenario)[name]
    if limit < 3.0 * bins[-1]:
        axes.axvline(limit, color=style.RUST, lw=1.4, ls=":")
        axes.annotate(
            f" {drop_words.MADE_FOR[name]} ", (limit, 0.93), xycoords=("data", "axes fraction"),
            fontsize=7.5, color=style.RUST, annotation_clip=False,
            ha="left" if limit < 0.9 * bins[-1] else "right",
            bbox={"facecolor": "white", "alpha": 0.7, "edgecolor": "none", "pad": 1.0},
        )  # fmt: skip
    else:
        told = f"{drop_words.MADE_FOR[name]}: {drop_words.shown(name, limit / scale)}"
        axes.text(0.99, 0.98, told, transform=axes.transAxes, ha="right", va="top", fontsize=7.5,
                  color=style.RUST)  # fmt: skip
    axes.set_xlim(left=0.0)
    axes.set_xlabel(f"{label} [{unit}]")
    axes.set_ylabel("drops")
