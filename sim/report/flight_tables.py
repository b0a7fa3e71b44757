"""What `setdown fly` shows of one flight: outcome, limits, events."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from rich.console import Group
from rich.text import Text

from sim.analysis.flights import meanings, successes
from sim.analysis.limits import holds, read_limits
from sim.report.as_json import dataset_object, scalar
from sim.report.display import fixed, words
from sim.report.sentences import limit_words
from sim.report.tables import DEGREES, mark, new_table, titled

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.ensemble.fly_one import Event
    from sim.scenario import Limit

_IN_DEGREES = ("tilt", "tilt_rate", "roll_rate", "apogee_tilt", "maximum_tilt_climb",
               "maximum_tilt_burn")  # fmt: skip


def outcome_name(outcomes: Dataset) -> str:
    """Meaning of the flight's outcome flag."""
    value = int(outcomes["outcome"].to_numpy()[0])
    named = {number: name for name, number in meanings(outcomes["outcome"]).items()}
    return named.get(value, str(value))


def failed(outcomes: Dataset) -> bool:
    """Whether the flight ceased to be numbers."""
    return outcome_name(outcomes) == "numerical_failure"


def parts(outcomes: Dataset, events: Sequence[Event]) -> Iterator[Any]:
    """Answer, limits and events, in the order of printing."""
    yield Text(_answer(outcomes), style="bold")
    yield Text(f"{outcomes.attrs['title']}, seed {outcomes.attrs['seed']}", style="dim")
    limits = read_limits(outcomes)
    if limits:
        yield ""
        yield _limits_table(outcomes, limits)
    yield ""
    yield _events_table(events)


def _value(outcomes: Dataset, name: str) -> float:
    return float(outcomes[name].to_numpy()[0])


def _answer(outcomes: Dataset) -> str:
    name = outcome_name(outcomes)
    if name == "numerical_failure":
        return (
            f"The flight failed numerically at {fixed(_value(outcomes, 'failed_time'))} s: its "
            "numbers ceased to be numbers. Look for extreme values in the scenario; an ensemble "
            "counts such a flight as a failure."
        )
    good = bool(successes(outcomes)[0])
    verdict = "Success" if good else "No success"
    if not math.isfinite(_value(outcomes, "contact_time")):
        return f"{verdict}: {words(name)}."
    return (
        f"{verdict}: {words(name)}, {fixed(_value(outcomes, 'miss_distance'))} m from the mark at "
        f"{fixed(_value(outcomes, 'touchdown_speed'))} m/s, tilted "
        f"{fixed(_value(outcomes, 'tilt') * DEGREES, 1)} deg."
    )


def _limits_table(outcomes: Dataset, limits: Sequence[Limit]) -> Group:
    table = new_table(["limit of success", "found", ""])
    table.columns[2].justify = "left"
    for limit in limits:
        good = holds(limit, outcomes)
        passed = None if good is None else bool(np.asarray(good).ravel()[0])
        table.add_row(
            limit_words(limit.variable, limit.text), _found(outcomes, limit), mark(passed)
        )
    return Group(table)


def _found(outcomes: Dataset, limit: Limit) -> str:
    name = {"first_contact": "contact_point"}.get(limit.variable, limit.variable)
    if name not in outcomes:
        return "-"
    array = outcomes[name]
    value = float(array.to_numpy()[0])
    if "flag_meanings" in array.attrs:
        named = {number: word for word, number in meanings(array).items()}
        return named.get(int(value), str(int(value))).replace("_", " ")
    if name in _IN_DEGREES:
        return f"{fixed(value * DEGREES, 1)} deg{'/s' if name.endswith('rate') else ''}"
    unit = str(array.attrs.get("units", "1")).replace(" s-1", "/s").replace(" s-2", "/s2")
    return fixed(value) if unit == "1" else f"{fixed(value)} {unit}"


def _events_table(events: Sequence[Event]) -> Group:
    heads = ["event", "time [s]", "feet [m]", "speed [m/s]", "up [m/s]", "tilt [deg]", "away [m]"]
    table = new_table(heads)
    for event in events:
        table.add_row(
            event.label, fixed(event.time), fixed(event.height_feet), fixed(event.speed),
            f"{event.velocity_up:+.2f}", fixed(event.tilt * DEGREES, 1), fixed(event.distance),
        )  # fmt: skip
    return titled(
        "Events: height of the feet above the landing pad, speed of the cg, distance from launch",
        table,
    )


def as_object(
    outcomes: Dataset, events: Sequence[Event], trace: Path, picture: Path
) -> dict[str, Any]:
    """Everything `fly` shows, in SI units."""
    one = outcomes.isel(run=0, drop=True)
    return {
        "title": outcomes.attrs["title"], "seed": scalar(outcomes.attrs["seed"]),
        "scenario_digest": outcomes.attrs["scenario_digest"],
        "trace": str(trace), "picture": str(picture),
        "outcomes": dataset_object(one)["variables"],
        "events": [
            {key: scalar(value) for key, value in asdict(event).items()} for event in events
        ],
    }  # fmt: skip
