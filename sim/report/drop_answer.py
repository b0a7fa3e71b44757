"""What `setdown drop` shows of one drop: whether it stands, loads, limits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from rich.text import Text

from sim.ensemble.drop_summary import made_for
from sim.ensemble.judge import holds
from sim.ensemble.registry import OUTCOMES
from sim.report import drop_words
from sim.report.as_json import scalar
from sim.report.display import fixed, percent
from sim.report.sentences import limit_words
from sim.report.tables import DEGREES, mark, new_table, steps, titled

if TYPE_CHECKING:
    from rich.console import Group

    from sim.ensemble.fly_one import Flight
    from sim.scenario import Limit, Scenario


def outcome_name(flight: Flight) -> str:
    """Meaning of the drop's outcome flag."""
    return OUTCOMES["outcome"].flags[int(flight.outcomes["outcome"])]


def failed(flight: Flight) -> bool:
    """Whether the drop ceased to be numbers."""
    return outcome_name(flight) == "numerical_failure"


def parts(flight: Flight, scenario: Scenario) -> Iterator[Any]:
    """Answer, loads and limits, in the order of printing."""
    yield Text(answer(flight), style="bold")
    beyond = [text for text in overloads(flight, scenario) if text]
    if beyond:
        yield Text("Beyond what it is made for: " + "; ".join(beyond) + ".", style="bold")
    ground = "" if flight.run >= 0 else ", even ground, every number at its nominal value"
    yield Text(
        f"{flight.about['title']}, {drop_words.ground_words(scenario)}{ground}; landing "
        f"motor {flight.about['landing_motor']}, seed {flight.about['seed']}",
        style="dim",
    )
    yield ""
    yield _loads(flight, scenario)
    yield ""
    yield _contact(flight, scenario)


def answer(flight: Flight) -> str:
    """Say first what became of it."""
    found, name = flight.outcomes, outcome_name(flight)
    if failed(flight):
        return (
            f"The drop failed numerically at {fixed(found['failed_time'])} s. Look for extreme "
            "values in the scenario."
        )
    if not math.isfinite(found["contact_time"]):
        return "It did not reach the ground in time."
    if found["standing"] == 1.0:
        after = found["rest_time"] - found["contact_time"]
        return (
            f"It stands: at rest {fixed(after)} s after first contact, tilted "
            f"{drop_words.shown('rest_tilt', found['rest_tilt'])}."
        )
    if math.isfinite(found["rest_time"]):
        return (
            "It does not stand on its legs: it comes to rest on its airframe, tilted "
            f"{drop_words.shown('rest_tilt', found['rest_tilt'])}."
        )
    if name == "unsettled":
        return (
            "It is not at rest in the time allowed, though it has not tipped "
            f"(tilt {drop_words.shown('rest_tilt', found['rest_tilt'])}); --settle-longest follows "
            "it longer."
        )
    if name == "tipped" or found["rest_tilt"] > np.deg2rad(59.0):
        return "It tips over."
    return f"It does not stand: {drop_words.outcome_words(name)}."


def overloads(flight: Flight, scenario: Scenario) -> Iterator[str]:
    """Say what was asked beyond what the vehicle is made for."""
    limits = made_for(scenario)
    for name, limit in limits.items():
        value = flight.outcomes[name]
        if value > limit and name != "peak_stroke":
            label = drop_words.LOADS[name][0]
            yield (
                f"{label} {drop_words.shown(name, value)}, {drop_words.MADE_FOR[name]} "
                f"{drop_words.shown(name, limit)}"
            )
    if flight.outcomes["peak_stroke"] >= limits["peak_stroke"] and _strokes(scenario):
        yield "a strut ran into its stop"
    if flight.outcomes["frame_struck"] == 1.0 and outcome_name(flight) != "tipped":
        yield "the airframe struck the ground"


def _strokes(scenario: Scenario) -> bool:
    return str(scenario.choices["legs.strut"]) != "rigid"


def _loads(flight: Flight, scenario: Scenario) -> Group:
    table = new_table(["load", "found", "made for", "share"])
    limits = made_for(scenario)
    for name, (label, _, _, _) in drop_words.LOADS.items():
        if name == "peak_stroke" and not _strokes(scenario):
            continue
        value, limit = flight.outcomes[name], limits.get(name)
        table.add_row(
            label, drop_words.shown(name, value),
            f"{drop_words.shown(name, limit)} ({drop_words.MADE_FOR[name]})" if limit else "",
            percent(value / limit, 0) if limit and math.isfinite(value) else "",
        )  # fmt: skip
    return titled("Loads of this drop", table)


def _contact(flight: Flight, scenario: Scenario) -> Group:
    table = new_table(["at first contact", "found", "limit of success", ""])
    arrays = {name: np.array([value]) for name, value in flight.outcomes.items()}
    limits = drop_words.contact_limits(scenario.success)
    for name in drop_words.AT_CONTACT:
        value = flight.outcomes[name]
        angle = OUTCOMES[name].units.startswith("rad")
        unit = ("deg" if angle else "m") + ("" if name == "tilt" else "/s")
        text = f"{fixed(value * (DEGREES if angle else 1.0), 1 if angle else 2)} {unit}"
        own: list[Limit | None] = [limit for limit in limits if limit.variable == name]
        for limit in own or [None]:
            table.add_row(
                name.replace("_", " "), text,
                limit_words("", limit.text).strip() if limit else "",
                mark(bool(holds(limit, arrays)[0])) if limit else "",
            )  # fmt: skip
    table.add_row("time since letting go", f"{fixed(flight.outcomes['contact_time'], 3)} s", "", "")
    return titled("How it touched down", table)


def next_steps(file: str) -> Iterator[Any]:
    """Commands worth giving next, and the caution."""
    yield "Next:"
    yield steps([
        (f'setdown drop {file} --sink-rate "1 m/s +/- 0.3 m/s" -n 1000', "how likely it stands"),
        (f"setdown drop {file} --map", "where it stands and where it tips"),
    ])  # fmt: skip
    yield ""
    yield drop_words.CAUTION


def as_object(flight: Flight, scenario: Scenario, trace: Path, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units; null for what is not there."""
    return {
        "answer": answer(flight), "beyond": list(overloads(flight, scenario)),
        "title": flight.about["title"], "seed": flight.about["seed"],
        "scenario_digest": flight.about["scenario_digest"],
        "landing_motor": flight.about["landing_motor"],
        "trace": str(trace), "picture": str(picture), "made_for": made_for(scenario),
        "outcomes": {name: _outcome(name, value) for name, value in flight.outcomes.items()},
    }  # fmt: skip


def _outcome(name: str, value: float) -> dict[str, Any]:
    row = OUTCOMES[name]
    if row.flags:
        return {"value": row.flags[int(value)]}
    return {"value": scalar(value), "units": row.units}
