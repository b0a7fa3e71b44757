"""Picture of faults: how likely, what they cost, what noticing them is worth."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.report import style
from sim.report.decision_words import share
from sim.report.faults_answer import words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

LEAST = 1e-5  # chances below this are drawn at the edge


def draw_faults(path: Path, found: Dataset) -> None:
    """Draw chance, loss where it happens, and share of all losses, a line a fault.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.ensemble.faults.solve_faults`.
    """
    order = found["share_of_losses"].fillna(0.0).argsort().to_numpy()
    rows = found.isel(fault=order)
    level = share(float(found.attrs["confidence"]))
    with style.picture(path, 11.0, 1.9 + 0.32 * rows.sizes["fault"]) as figure:
        chance, loss, part = figure.subplots(1, 3, sharey=True)
        places = np.arange(rows.sizes["fault"])
        _chances(chance, rows, places)
        _losses(loss, rows, places)
        part.barh(places, 100.0 * rows["share_of_losses"].fillna(0.0), color=style.NAVY, height=0.6)
        part.set_xlabel("share of all vehicles lost [%]")
        part.set_title("What it costs in all")
        chance.set_yticks(places, [words(str(n)) for n in rows["fault"].to_numpy()])
        for axes in (chance, loss, part):
            axes.set_ylim(-0.6, len(places) - 0.4)
        title = f"{found.attrs['vehicle']}: faults"
        figure.suptitle(title, x=0.01, ha="left", fontweight="bold", fontsize=11)
        each = int(found["flown"].isel(fault=-1))
        style.caption(figure, (
            f"{each:,} flights of each fault, {int(found['flown'].sel(fault='none')):,} without, "
            f"on the same draws; bars are {level} bounds. Lost: faster than "
            f"{float(found.attrs['lost_above']):g} m/s at the first touch."
        ))  # fmt: skip


def _chances(axes: Axes, rows: Dataset, places: np.ndarray) -> None:
    low, middle, high = (np.maximum(100.0 * rows["chance"].sel(bound=b).to_numpy(), 100.0 * LEAST)
                         for b in ("lower", "estimate", "upper"))  # fmt: skip
    axes.errorbar(middle, places, xerr=[middle - low, high - middle], fmt="o", ms=5,
                  color=style.INK, capsize=3, lw=1.2)  # fmt: skip
    axes.set_xscale("log")
    axes.set_xlabel("chance a flight [%]")
    axes.set_title("How likely")


def _losses(axes: Axes, rows: Dataset, places: np.ndarray) -> None:
    low, middle, high = (100.0 * rows["lost"].sel(bound=b).to_numpy()
                         for b in ("lower", "estimate", "upper"))  # fmt: skip
    axes.errorbar(middle, places, xerr=[middle - low, high - middle], fmt="o", ms=5,
                  color=style.RUST, capsize=3, lw=1.2, label="checks as given")  # fmt: skip
    if "lost_with" in rows:
        axes.plot(100.0 * rows["lost_with"], places, "D", mfc="none", mec=style.TEAL, ms=7,
                  ls="none", label="all checks on")  # fmt: skip
        axes.legend(loc="lower right")
    axes.set_xlim(-3.0, 103.0)
    axes.set_xlabel("lost where it happens [%]")
    axes.set_title("What it does")
