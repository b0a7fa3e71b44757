"""What `setdown drop -n N` shows: how likely it stands, outcomes, loads."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.ensemble.drop_summary import made_for
from sim.report import drop_words
from sim.report.as_json import dataset_object
from sim.report.decision_words import share
from sim.report.display import bounds, fixed, percent
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from rich.console import Group
    from xarray import Dataset

    from sim.scenario import Scenario


def parts(ds: Dataset, summary: Dataset, scenario: Scenario, file: str) -> Iterator[Any]:
    """Answer and tables, in the order of printing."""
    yield Text(answer(summary), style="bold")
    yield unharmed_sentence(summary)
    yield Text(
        f"{scenario.title}: {int(summary['flights']):,} drops, "
        f"{drop_words.ground_words(scenario)}, landing motor {ds.attrs['landing_motor']}, "
        f"seed {summary.attrs['seed']}", style="dim",
    )  # fmt: skip
    yield ""
    yield _outcomes(summary)
    yield ""
    yield _loads(summary, scenario)
    yield ""
    yield "Next:"
    yield steps([
        (f'setdown drop {file} --height "0.2 m" --run 0', "one of such drops, moment by moment"),
        (f'setdown drop {file} --sink-rate "1.5 m/s" --vary "legs.damping=20..120 N s/m/6"',
         "which legs stand better"),
    ])  # fmt: skip
    yield ""
    yield drop_words.CAUTION


def answer(summary: Dataset) -> str:
    """How many drops end standing, and between which bounds the chance lies."""
    lower, middle, upper = (float(x) for x in summary["standing"])
    return (
        f"{percent(middle)} of drops end standing ({int(summary['standing_count']):,} of "
        f"{int(summary['flights']):,}); with {share(float(summary.attrs['confidence']))} "
        f"confidence the chance lies between {percent(lower)} and {percent(upper)}."
    )


def unharmed_sentence(summary: Dataset) -> str:
    """How many drops also stay within what the vehicle is made for."""
    lower, middle, upper = (float(x) for x in summary["unharmed"])
    return (
        f"Standing, and within what legs and frame are made for: {percent(middle)} "
        f"({percent(lower)} to {percent(upper)})."
    )


def _outcomes(summary: Dataset) -> Group:
    level = share(float(summary.attrs["confidence"]))
    table = new_table(["outcome", "drops", "share", "lower to upper"])
    for name in summary["outcome"].to_numpy():
        row = summary.sel(outcome=name)
        low, middle, high = (float(x) for x in row["outcome_probability"])
        table.add_row(
            drop_words.outcome_words(str(name)), f"{int(row['outcome_count']):,}", percent(middle),
            f"{100.0 * low:.1f} to {100.0 * high:.1f} %",
        )  # fmt: skip
    return titled(f"What became of the drops, the gravest outcome of each, {level} bounds", table)


def _loads(summary: Dataset, scenario: Scenario) -> Group:
    level = share(float(summary.attrs["confidence"]))
    limits = made_for(scenario)
    table = new_table(["load", "unit", "median", "95 %", "lower to upper", "made for"], left=2)
    for name, (label, unit, scale, digits) in drop_words.LOADS.items():
        low, middle, high = (float(x) for x in summary[name].sel(statistic="p95"))
        median = float(summary[name].sel(statistic="median", bound="estimate"))
        limit = limits.get(name)
        table.add_row(
            label, unit, fixed(median, digits, scale), fixed(middle, digits, scale),
            bounds(low, high, digits, scale), fixed(limit, digits, scale) if limit else "",
        )  # fmt: skip
    return titled(f"Loads: percentiles over all drops, {level} bounds of the 95th", table)


def as_object(summary: Dataset, table: Path, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(summary), "unharmed": unharmed_sentence(summary), "drops": str(table),
        "picture": str(picture), "summary": dataset_object(summary),
    }  # fmt: skip
