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

from sim.ensemble.judge import holds
from sim.ensemble.registry import OUTCOMES
from sim.report.display import fixed, signed, words
from sim.report.sentences import limit_words
from sim.report.tables import DEGREES, mark, new_table, titled

if TYPE_CHECKING:
    from sim.ensemble.fly_one import Event, Flight
    from sim.scenario import Limit

_IN_DEGREES = ("tilt", "tilt_rate", "roll_rate", "apogee_tilt", "maximum_tilt_climb",
               "maximum_tilt_burn")  # fmt: skip


def outcome_name(flight: Flight) -> str:
    """Meaning of the flight's outcome flag."""
    return OUTCOMES["outcome"].flags[int(flight.outcomes["outcome"])]


def failed(flight: Flight) -> bool:
    """Whether the flight ceased to be numbers."""
    return outcome_name(flight) == "numerical_failure"


def parts(flight: Flight, limits: Sequence[Limit], events: Sequence[Event]) -> Iterator[Any]:
    """Answer, limits and events, in the order of printing."""
    yield Text(_answer(flight), style="bold")
    yield Text(f"{flight.about['title']}, seed {flight.about['seed']}", style="dim")
    if limits:
        yield ""
        yield _limits_table(flight, limits)
    yield ""
    yield _events_table(events)


def _answer(flight: Flight) -> str:
    name, found = outcome_name(flight), flight.outcomes
    if failed(flight):
        return (
            f"The flight failed numerically at {fixed(found['failed_time'])} s: its numbers "
            "ceased to be numbers. Look for extreme values in the scenario; an ensemble counts "
            "such a flight as a failure."
        )
    verdict = "Success" if found["success"] == 1.0 else "No success"
    if not math.isfinite(found["contact_time"]):
        return f"{verdict}: {words(name)}."
    return (
        f"{verdict}: {words(name)}, {fixed(found['miss_distance'])} m from the mark at "
        f"{fixed(found['touchdown_speed'])} m/s, tilted {fixed(found['tilt'] * DEGREES, 1)} deg."
    )


def _limits_table(flight: Flight, limits: Sequence[Limit]) -> Group:
    table = new_table(["limit of success", "found", ""])
    table.columns[2].justify = "left"
    arrays = {name: np.array([value]) for name, value in flight.outcomes.items()}
    for limit in limits:
        good = bool(holds(limit, arrays)[0]) and not failed(flight)
        table.add_row(limit_words(limit.variable, limit.text), _found(flight, limit), mark(good))
    return Group(table)


def _found(flight: Flight, limit: Limit) -> str:
    name = {"first_contact": "contact_point"}.get(limit.variable, limit.variable)
    row, value = OUTCOMES[name], flight.outcomes[name]
    if row.flags:
        return row.flags[int(value)].replace("_", " ")
    if name in _IN_DEGREES:
        return f"{fixed(value * DEGREES, 1)} deg{'/s' if name.endswith('rate') else ''}"
    unit = row.units.replace(" s-1", "/s").replace(" s-2", "/s2")
    return fixed(value) if unit == "1" else f"{fixed(value)} {unit}"


def _events_table(events: Sequence[Event]) -> Group:
    heads = ["event", "time [s]", "feet [m]", "speed [m/s]", "up [m/s]", "tilt [deg]", "away [m]"]
    table = new_table(heads)
    for event in events:
        table.add_row(
            event.label, fixed(event.time), fixed(event.height_feet), fixed(event.speed),
            signed(event.velocity_up), fixed(event.tilt * DEGREES, 1), fixed(event.distance),
        )  # fmt: skip
    return titled(
        "Events: height of the feet above the landing pad, speed of the cg, distance from launch",
        table,
    )


def as_object(
    flight: Flight, events: Sequence[Event], trace: Path, picture: Path | None
) -> dict[str, Any]:
    """Everything `fly` shows, in SI units; null for what is not there."""
    return {
        "title": flight.about["title"], "seed": flight.about["seed"],
        "scenario_digest": flight.about["scenario_digest"],
        "trace": str(trace), "picture": str(picture) if picture else None,
        "outcomes": {name: _outcome(name, value) for name, value in flight.outcomes.items()},
        "events": [
            {key: _finite(value) for key, value in asdict(event).items()} for event in events
        ],
    }  # fmt: skip


def _outcome(name: str, value: float) -> dict[str, Any]:
    row = OUTCOMES[name]
    if row.flags:
        return {"value": row.flags[int(value)]}
    return {"value": _finite(value), "units": row.units}


def _finite(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value
