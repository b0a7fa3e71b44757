"""What became of the flights, each outcome with its confidence."""

from __future__ import annotations

from typing import Any

import numpy as np

from sim.report import style, tables
from sim.report.display import percent, words
from sim.report.page.blocks import Figure, Figures, Section, Sign
from sim.report.page.drawing import draw
from sim.report.page.facts import Facts
from sim.report.page.from_screen import from_screen


def section(facts: Facts) -> Section:
    """Bars and a table of outcomes."""
    assert facts.contact is not None
    table = from_screen(tables.outcomes_table(facts.contact), "outcome")
    return Section("outcomes", "What became of the flights", [Figures([_bars(facts), table])])


def _bars(facts: Facts) -> Figure:
    assert facts.contact is not None
    counts = facts.contact["outcome_count"].to_numpy()
    order = [int(i) for i in np.argsort(-counts, kind="stable") if counts[i]]
    names = [words(str(facts.contact["outcome"].to_numpy()[i])) for i in order]
    rows = 100.0 * facts.contact["outcome_probability"].to_numpy()[order]
    y = np.arange(len(order))[::-1]

    def paint(figure: Any) -> None:
        axes = figure.subplots()
        reach = np.abs(rows[:, [0, 2]].T - rows[:, 1])
        axes.barh(
            y,
            rows[:, 1],
            0.42,
            color=style.SKY,
            edgecolor=style.NAVY,
            linewidth=0.6,
            xerr=reach,
            error_kw={"ecolor": style.INK, "elinewidth": 1.2, "capsize": 3},
        )
        for place, name, share in zip(y, names, rows[:, 1], strict=True):
            label = axes.text(0.6, place + 0.3, f"{name}, {share:.1f} %", va="bottom")
            label.set_in_layout(False)
        axes.set_yticks([])
        axes.set_ylim(-0.5, len(order) - 0.2)
        axes.set_xlim(0.0, 100.0)
        axes.grid(visible=False, axis="y")
        axes.set_xlabel("share of flights [%]")

    told = "; ".join(f"{n} {s:.1f} %" for n, s in zip(names, rows[:, 1], strict=True))
    return Figure(
        "outcome-bars", "Outcomes", draw("outcome-bars", 70.0 + 46.0 * len(order), paint),
        alt=f"Bars, one for each outcome: {told}.",
        caption=f"{facts.flights:,} flights; the thin lines are bounds with "
                f"{percent(facts.confidence, 0)} confidence, each by itself.",
        key=[Sign("share of flights", style.SKY, fill=True),
             Sign("from lower to upper bound", style.INK, "|", (), line=True)],
    )  # fmt: skip
