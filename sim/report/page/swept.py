"""Success and touchdown speed along a swept input, or over two as maps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sim.analysis.sweep import sweep_summary
from sim.report import sweep_answer, sweep_picture, tables
from sim.report.display import percent
from sim.report.page.blocks import Block, Figure, Figures, Section, Sign, Words
from sim.report.page.drawing import draw, key_of
from sim.report.page.facts import Facts
from sim.report.page.from_screen import from_screen

if TYPE_CHECKING:
    from xarray import Dataset


def section(facts: Facts) -> Section:
    """Answer, curves or maps, and tables of a sweep."""
    summary = sweep_summary(facts.ds, confidence=facts.confidence)
    named = [sweep_answer.levels_of(summary[dim]) for dim in sweep_answer.axes_of(summary)]
    heads = [f"{key} [{unit}]" if unit != "1" else key for key, _, unit in named]
    levels = [numbers for _, numbers, _ in named]
    blocks: list[Block] = [Words(sweep_answer._answer(summary), "lead")]
    blocks.append(Figures(_curves(facts, summary) if len(heads) == 1 else _maps(facts, summary)))
    if len(heads) == 1:
        blocks.append(from_screen(tables.sweep_table(summary, heads[0], levels[0]), heads[0]))
    else:
        for variable in ("success", "touchdown_speed"):
            shown = tables.sweep_matrix(summary, variable, heads, levels)
            blocks.append(from_screen(shown, f"{heads[0]} (down), {heads[1]} (across)"))
    keys = " and ".join(key for key, _, _ in named)
    return Section("answer", f"The answer, along {keys}", blocks)


def _caption(facts: Facts, summary: Dataset) -> str:
    return (
        f"{int(summary['flights']):,} flights at each level, the same draws at every one; bounds "
        f"with {percent(facts.confidence, 0)} confidence, each by itself. Flights that do not come "
        "down count as failures."
    )


def _curves(facts: Facts, summary: Dataset) -> list[Figure]:
    figures = []
    for name, title in (("sweep-success", "Chance of success"),
                        ("sweep-speed", "Touchdown speed")):  # fmt: skip
        key: list[Sign] = []
        wanted = 0 if name == "sweep-success" else 1

        def paint(figure: Any, wanted: int = wanted, key: list[Sign] = key) -> None:
            sweep_picture.draw_curves(figure, summary)
            panels = list(figure.axes)
            kept, other = panels[wanted], panels[1 - wanted]
            label = panels[1].get_xlabel()
            other.remove()
            kept.set_title("")
            kept.set_xlabel(label)
            kept.tick_params(labelbottom=True)
            kept.set_subplotspec(figure.add_gridspec(1, 1)[0])
            key.extend(key_of(kept))

        svg = draw(name, 320.0, paint)
        figures.append(Figure(
            name, title, svg,
            alt=f"{title} at each level of the swept input, with bounds as a band; "
                f"{sweep_answer._answer(summary)} The table below has every level.",
            caption=_caption(facts, summary), key=key,
        ))  # fmt: skip
    return figures


def _maps(facts: Facts, summary: Dataset) -> list[Figure]:
    def paint(figure: Any) -> None:
        sweep_picture.draw_maps(figure, summary)

    svg = draw("sweep-maps", 420.0, paint, width=820.0)
    return [Figure(
        "sweep-maps", "Success and touchdown speed over both inputs", svg,
        alt="Two maps over the swept inputs: chance of success, and 95th percentile of touchdown "
            f"speed; light is good. {sweep_answer._answer(summary)} The tables below have every "
            "level.",
        caption=_caption(facts, summary), wide=True,
    )]  # fmt: skip
