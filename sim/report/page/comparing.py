"""The contents of a page about two ensembles, flight by flight."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.compare import compare
from sim.analysis.flights import successes
from sim.errors import UserMistake
from sim.report import compare_answer, style, tables
from sim.report.display import percent, words
from sim.report.page import cautions, contents, inputs, landing, method, summary, touchdown
from sim.report.page.blocks import (
    Block,
    Figure,
    Figures,
    Page,
    Section,
    Sign,
    Table,
    Tiles,
    Words,
)
from sim.report.page.drawing import draw
from sim.report.page.facts import Facts
from sim.report.page.from_screen import from_screen
from sim.report.tables import SHOWN

if TYPE_CHECKING:
    from xarray import Dataset

SEEN = 0.99  # share of values that a frame holds


def page(a: Facts, b: Facts) -> Page:
    """Page about two ensembles of the same draws.

    Raises
    ------
    UserMistake
        They have no pairs of flights; the message says why.
    """
    from sim.ensemble.comparing import check_pair

    for facts in (a, b):
        if facts.swept:
            raise UserMistake(
                f"{facts.path} is swept over {', '.join(facts.swept)}; two ensembles that "
                "disperse wrote can be compared, a sweep has a report of its own"
            )
    check_pair(a.ds, b.ds)
    found = compare(a.ds, b.ds, confidence=a.confidence)
    found.attrs |= {
        f"success_{side}": float(successes(facts.ds).mean())
        for side, facts in zip("ab", (a, b), strict=True)
    }
    told = [
        f"{side}: {line}" for side, facts in (("A", a), ("B", b))
        for line in contents.warnings(facts)
    ]  # fmt: skip
    title = f"{a.vehicle}: A against B" if a.vehicle == b.vehicle else f"{a.vehicle}, {b.vehicle}"
    line = (
        f"A is {a.path.name}, B is {b.path.name}; {int(found['pairs']):,} pairs of simulated "
        f"flights with the same draws and the same noise. Bounds with {percent(a.confidence, 0)} "
        "confidence."
    )
    return Page(title, line, told, sections(a, b, found))


def sections(a: Facts, b: Facts, found: Dataset) -> list[Section]:
    """What is said of two ensembles, in the order of reading.

    Parameters
    ----------
    a, b : Facts
    found : Dataset
        From `sim.analysis.compare`, with the attributes success_a and success_b.
    """
    return [
        _answer(a, b, found),
        _changed(a, b),
        _differences(a, b, found),
        _landing(a, b),
        _touchdown(a, b),
        *(_named(inputs.section(facts), side) for side, facts in (("A", a), ("B", b))),
        *(_named(method.section(facts), side) for side, facts in (("A", a), ("B", b))),
        cautions.section(a, b),
    ]


def _named(section: Section, side: str) -> Section:
    return Section(f"{section.name}-{side.lower()}", f"{side}: {section.title}", section.blocks)


def _answer(a: Facts, b: Facts, found: Dataset) -> Section:
    return Section("answer", "The answer", [
        Words(compare_answer.answer(found), "lead"),
        Words(f"A: {a.path.name}"), Tiles(summary.tiles(a)),
        Words(f"B: {b.path.name}"), Tiles(summary.tiles(b)),
    ])  # fmt: skip


def _changed(a: Facts, b: Facts) -> Section:
    from sim.ensemble.comparing import Design

    title = "What differs between the two"
    if a.scenario is None or b.scenario is None:
        return Section("changed", title, [
            Words("Not known: a scenario stored with the ensembles cannot be read.", "warning")
        ])  # fmt: skip
    changed = compare_answer.differences(
        Design("A", scenario=a.scenario), Design("B", scenario=b.scenario)
    )
    if not changed:
        return Section("changed", title, [
            Words("The two scenarios do not differ in anything that a flight uses.")
        ])  # fmt: skip
    return Section("changed", title, [
        Table("Inputs that are not the same", ["input", "A", "B"], changed, left=-1)
    ])  # fmt: skip


def _differences(a: Facts, b: Facts, found: Dataset) -> Section:
    blocks: list[Block] = [
        Figures([_curves(a.ds, b.ds, found, name) for name in compare_answer.quantities(found)]),
        from_screen(compare_answer._success_table(found), "success"),
        from_screen(
            compare_answer._table(found), "B minus A", left=2,
            note="Success: McNemar, exact. Others: sign test for the median, Student for the mean, "
                 "half the risk each. “noise? perhaps”: cannot be told from it.",
        ),
    ]  # fmt: skip
    return Section("differences", "Flight by flight", blocks)


def _curves(a: Dataset, b: Dataset, found: Dataset, name: str) -> Figure:
    unit, scale, _ = SHOWN.get(name, ("m", 1.0, 2))
    shares = np.linspace(0.0, 1.0, 401)
    columns = [scale * ds[name].to_numpy() for ds in (a, b)]
    known = np.concatenate([v[np.isfinite(v)] for v in columns])
    reach = 1.05 * float(np.quantile(known, SEEN)) if known.size else 1.0
    looks = (("A", style.NAVY, "-"), ("B", style.RUST, "--"))
    told = "more than noise" if bool(found[f"{name}_told_apart"]) else "perhaps noise"

    def paint(figure: Any) -> None:
        axes = figure.subplots()
        for values, (_, colour, dashes) in zip(columns, looks, strict=True):
            ordered = np.sort(np.where(np.isfinite(values), values, np.inf))
            at = ordered[np.round(shares * (ordered.size - 1)).astype(int)]
            seen = np.isfinite(at)
            axes.plot(at[seen], 100.0 * shares[seen], color=colour, ls=dashes)
        axes.set_xlim(0.0, reach)
        axes.set_ylim(0.0, 101.0)
        axes.set_xlabel(f"{words(name)} [{unit}]")
        axes.set_ylabel("flights up to this [%]")

    said = words(name)
    return Figure(
        f"both-{name.replace('_', '-')}", f"{said[0].upper()}{said[1:]}",
        draw(f"both-{name}", 280.0, paint),
        alt=f"Rising curves of A and of B: the share of flights up to each {said}. The difference "
            f"is {told}.",
        caption=f"{a.sizes['run']:,} and {b.sizes['run']:,} flights; the difference is {told}. "
                f"The frame holds {percent(SEEN, 0)} of the flights.",
        key=[Sign("A", style.NAVY, "", (), line=True),
             Sign("B", style.RUST, "", (6, 3), line=True)],
    )  # fmt: skip


def _landing(a: Facts, b: Facts) -> Section:
    figures, found = [], []
    for side, facts in (("A", a), ("B", b)):
        assert facts.box is not None
        figures.append(landing.plan(facts, facts.ds, facts.box, f"plan-{side.lower()}",
                                    f"{side}: where it touches the ground"))  # fmt: skip
        table = from_screen(tables.landing_box_table(facts.box), "share of flights")
        found.append(Table(f"{side}: {table.caption}", table.heads, table.rows))
    return Section("landing", "Where each comes down", [Figures(figures), *found])


def _touchdown(a: Facts, b: Facts) -> Section:
    blocks: list[Block] = []
    for side, facts in (("A", a), ("B", b)):
        assert facts.contact is not None
        shown = [
            (tables.touchdown_table(facts.contact), "at first contact", 2),
            (tables.outcomes_table(facts.contact), "outcome", 1),
        ]
        for group, first, left in shown:
            table = from_screen(group, first, left=left)
            blocks.append(Table(f"{side}: {table.caption}", table.heads, table.rows, left=left))
        rest = touchdown.rest_table(facts.ds, facts.confidence)
        if rest is not None:
            blocks.append(Table(f"{side}: {rest.caption}", rest.heads, rest.rows, left=2))
    return Section("touchdown", "How hard, how tilted, and what became of it", blocks)
