"""Picture of an error budget: shares of the variance of each outcome, source by source."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.report import style
from sim.report.budget_answer import NAMES, ON_SCREEN, ranked
from sim.report.decision_words import share

if TYPE_CHECKING:
    from xarray import Dataset

MOST = 10


def draw_budget(path: Path, shares: Dataset) -> None:
    """Draw an error budget.

    Parameters
    ----------
    path : Path
        PNG to write.
    shares : Dataset
        From `sim.ensemble.error_budget.fly_budget`.
    """
    quantities = [str(name) for name in shares["quantity"].to_numpy()]
    with style.picture(path, 9.0, 0.6 + 3.0 * len(quantities)) as figure:
        rows = figure.subplots(len(quantities), 1, squeeze=False)
        for axes, quantity in zip(rows[:, 0], quantities, strict=True):
            names = ranked(shares, quantity)[:MOST]
            y = np.arange(len(names))[::-1]
            for kind, colour, offset, label in (
                ("total", style.NAVY, 0.18, "total, with interactions"),
                ("first", style.AMBER, -0.18, "first order, by itself"),
            ):  # fmt: skip
                bars = 100.0 * np.array([
                    shares[kind].sel(quantity=quantity, source=name).to_numpy() for name in names
                ])  # fmt: skip
                middle = np.clip(bars[:, 1], 0.0, None)
                reach = np.abs(np.clip(bars[:, [0, 2]], 0.0, None).T - middle)
                axes.barh(y + offset, middle, 0.34, color=colour, label=label, xerr=reach,
                          error_kw={"ecolor": style.INK, "elinewidth": 0.9, "capsize": 2})
            axes.set_yticks(y, names)
            axes.grid(visible=False, axis="y")
            axes.set_xlim(left=0.0)
            axes.set_xlabel("share of the variance [%]")
            spread = float(shares["spread"].sel(quantity=quantity))
            unit = ON_SCREEN.get(quantity, str(shares["unit"].sel(quantity=quantity).item()))
            axes.set_title(
                f"{shares.attrs['vehicle']}, {NAMES.get(quantity, quantity)}: standard deviation "
                f"{spread:.3g} {unit}"
            )
        rows[0, 0].legend(loc="lower right")
        style.caption(figure, (
            f"{int(shares.attrs['flights']):,} flights; bars with "
            f"{share(float(shares.attrs['confidence']))} bounds of each by itself. Shares of first "
            "order add up to 100 % at most; those with interactions count these several times."
        ))  # fmt: skip
