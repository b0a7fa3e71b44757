"""The contents of a page about one ensemble: its sections in order.

To add a section, write a function from `Facts` to `Section` and put it in its place here.
"""

from __future__ import annotations

from sim.report.display import percent
from sim.report.page import (
    cautions,
    flights,
    inputs,
    landing,
    living,
    method,
    outcomes,
    sources,
    summary,
    swept,
    touchdown,
)
from sim.report.page.blocks import Page, Section
from sim.report.page.facts import Facts


def sections(facts: Facts) -> list[Section]:
    """What is said of an ensemble, in the order of reading.

    Parameters
    ----------
    facts : Facts
        From `sim.report.page.facts.gather`.

    Returns
    -------
    list of Section
    """
    if facts.swept:
        found = [swept.section(facts)]
    else:
        found = [
            summary.section(facts),
            landing.section(facts),
            touchdown.section(facts),
            outcomes.section(facts),
            flights.section(facts),
            sources.section(facts),
            living.section(facts),
        ]
    return [*found, inputs.section(facts), method.section(facts), cautions.section(facts)]


def page(facts: Facts) -> Page:
    """Page about one ensemble."""
    return Page(facts.vehicle, about(facts), warnings(facts), sections(facts))


def about(facts: Facts) -> str:
    """What was flown, in a line."""
    draws = str(facts.ds.attrs.get("sampling_method", "random")).replace("_", " ")
    each = " at each level" if facts.swept else ""
    return (
        f"{facts.flights:,} simulated flights{each}, seed {facts.ds.attrs.get('seed', 'unknown')}, "
        f"{draws} draws. Bounds with {percent(facts.confidence, 0)} confidence."
    )


def warnings(facts: Facts) -> list[str]:
    """What a reader must know before reading on."""
    found = []
    if "unfinished" in facts.ds.attrs:
        found.append(
            f"UNFINISHED ensemble: {facts.ds.attrs['unfinished']}. The numbers are of these alone; "
            "give the command that began the run again to finish it, then write the report again."
        )
    return found
