"""How sure the numbers are and why, and how to get them again."""

from __future__ import annotations

import math

from sim.report.display import percent
from sim.report.page.blocks import Block, Commands, Points, Section, Table
from sim.report.page.facts import Facts

_ABOUT = (
    ("seed", "seed"), ("flights", "flights asked for"), ("sampling_method", "draws"),
    ("command", "command"), ("setdown_version", "version of setdown"), ("kernel", "flight code"),
    ("scenario_digest", "digest of the scenario"), ("processor", "processor"),
    ("libraries", "libraries"), ("unfinished", "unfinished"),
)  # fmt: skip


def section(facts: Facts) -> Section:
    """Methods by name, what more flights would bring, and where the file comes from."""
    level = percent(facts.confidence, 0)
    points = [
        ("Bounds", (f"hold with {level} confidence, each by itself: of twenty bounds at 95 %, one "
                   "may well be missed.")),
        ("Shares", ("(success, outcomes, limits): exact binomial bounds after Clopper and Pearson "
                   "(1934). They assume nothing but flights drawn independently.")),
        ("Percentiles", ("(miss, speeds, angles, forces): order statistics (Wilks 1941), free of "
                        "any assumed law. Where there is “no bound” the flights are too few.")),
        ("Means", "Student's interval, over the flights that came down."),
        ("Landing pad", ("the distance of the outermost foot, by the same order statistics, one "
                        "sided.")),
        ("Every flight counts.", ("One that never came down or failed numerically counts as "
                                 "infinitely far and infinitely hard, and fails every limit.")),
        ("Scatter is not truth.", ("These bounds say how far so many flights pin down what the "
                                  "scenario implies. They know nothing of a wrong scenario, and "
                                  "nothing of what is not modelled.")),
    ]  # fmt: skip
    method = str(facts.ds.attrs.get("sampling_method", "random"))
    if method != "random":
        points.append(
            (
                "Draws",
                (
                    f"here are {method.replace('_', ' ')} draws, spread more evenly "
                    "than chance: the bounds are as a rule wider than need be."
                ),
            )
        )
    blocks: list[Block] = [Points(points)]
    if facts.contact is not None:
        blocks.append(_more(facts))
    blocks += [_origin(facts), Commands(_again(facts))]
    return Section("method", "How sure, and why", blocks)


def _more(facts: Facts) -> Table:
    """Half widths now, and with more flights, for the chance of success."""
    assert facts.contact is not None
    low, middle, high = (float(x) for x in facts.contact["success"])
    rows = []
    for factor in (1, 4, 25):
        half = 0.5 * (high - low) / math.sqrt(factor)
        rows.append([f"{factor * facts.flights:,}", f"+/- {100.0 * half:.1f} points"])
    return Table(
        "What more flights would bring: bounds of the chance of success", ["flights", "about"],
        rows, note=f"Success is {percent(middle)} here; bounds narrow with the square root of the "
                   "number of flights.",
    )  # fmt: skip


def _origin(facts: Facts) -> Table:
    rows = [["file", facts.path.name]]
    rows += [
        [label, str(facts.ds.attrs[name]).replace("_", " " if name == "sampling_method" else "_")]
        for name, label in _ABOUT if name in facts.ds.attrs
    ]  # fmt: skip
    return Table("Where this comes from", ["what", "as the file says"], rows, left=-1)


def _again(facts: Facts) -> list[tuple[str, str]]:
    if facts.swept:
        return [(f"setdown report {facts.path} --replace", "this page again")]
    return [
        (f"setdown landing-box {facts.path} --confidence 0.99", "the same figures, more cautious"),
        (f"setdown report {facts.path} --replace", "this page again"),
    ]
