"""How a vehicle is let go on the drop rig: height or sink rate, lean, side speed, turning."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.ensemble.protocols import Floats, Runs
from sim.ensemble.uniforms import uniform_source
from sim.errors import UserMistake
from sim.scenario.amounts import Amount, AmountProblem, read_amount
from sim.scenario.dimensions import DIMENSIONS
from sim.scenario.laws import Law

if TYPE_CHECKING:
    from sim.scenario import Scenario

PREFIX = "drop."
"""Before the name of a number of the release, where it travels among those of the scenario."""

# name -> dimension, sign; the names are those of the options, with underscores
NUMBERS = {
    "height": ("length", "non_negative"),
    "sink_rate": ("speed", "non_negative"),
    "tilt": ("angle", "any"),
    "tilt_direction": ("angle", "any"),
    "side_speed": ("speed", "any"),
    "side_direction": ("angle", "any"),
    "turn_rate": ("angular rate", "any"),
}
DIRECTIONS = ("leg", "between", "any")
MOST_TILT = np.deg2rad(60.0)
MOST_HEIGHT, MOST_SINK = 20.0, 20.0  # m, m/s: beyond that it is no drop rig
MOST_SIDE = 20.0  # m/s
_ANY = Law("uniform", (0.0, 2.0 * np.pi))
_RARE = 0.9999  # share of draws that must lie within what is allowed


@dataclass(frozen=True)
class Release:
    """Laws of what a drop begins with, SI, by the names of NUMBERS; height or sink rate, not both.

    Attributes
    ----------
    laws : mapping of str to Law
    """

    laws: Mapping[str, Law]

    def nominal(self, count: int = 1) -> dict[str, Floats]:
        """Nominal values (count,), by name with PREFIX."""
        return {PREFIX + n: np.full(count, law.nominal()) for n, law in self.laws.items()}

    def drawn(self, seed: int, runs: Runs) -> dict[str, Floats]:
        """Values drawn for runs (n,), by name with PREFIX; each depends on seed, name and run."""
        source = uniform_source("random", seed, runs, None, {})
        return {
            PREFIX + name: np.asarray(law.quantile(source(PREFIX + name)), dtype=np.float64)
            for name, law in self.laws.items()
        }


def read_release(given: Mapping[str, str | None], scenario: Scenario, *, drawn: bool) -> Release:
    """Read what was given on the command line.

    Parameters
    ----------
    given : mapping of str to str or None
        By the names of NUMBERS, as a person writes an amount of a scenario; a direction also as
        "leg" (along the first leg), "between" (midway between two legs) or "any" (drawn).
    scenario : Scenario
        With legs.
    drawn : bool
        Many drops: directions that were not given are drawn; else they are between two legs, where
        a vehicle tips most easily.

    Returns
    -------
    Release

    Raises
    ------
    UserMistake
        With all mistakes at once.
    """
    wrong: list[str] = []
    if given.get("height") is not None and given.get("sink_rate") is not None:
        wrong.append("--height and --sink-rate: the one follows from the other; give one of them")
    if given.get("height") is None and given.get("sink_rate") is None:
        wrong.append('how it comes down is missing: give --height "0.4 m" or --sink-rate "2 m/s"')
    laws: dict[str, Law] = {}
    for name in NUMBERS:
        try:
            found = _law(name, given.get(name), scenario, drawn=drawn)
        except AmountProblem as problem:
            wrong.append(f"{option(name)}: {problem}")
            continue
        if found is not None:
            laws[name] = found
            wrong += _outside(name, found)
    if wrong:
        raise UserMistake("\n".join(wrong))
    return Release(laws)


def option(name: str) -> str:
    """Name of the option that gives a number."""
    return "--" + name.replace("_", "-")


def foot_direction(scenario: Scenario, *, between: bool) -> float:
    """Direction [rad, east of north] of the first leg, or midway from it to the next.

    Body y points east and the belly north on the drop rig; azimuths of feet go from y to z.
    """
    first = float(scenario.numbers["legs.first_azimuth"].value)
    half = np.pi / int(scenario.choices["legs.count"])
    return float(np.mod(0.5 * np.pi - first - (half if between else 0.0), 2.0 * np.pi))


def read_direction(text: str | None, scenario: Scenario, *, drawn: bool) -> Law:
    """Law of a direction [rad, east of north] from a word or an angle.

    Raises
    ------
    AmountProblem
    """
    text = text or ("any" if drawn else "between")
    if text == "any":
        return _ANY
    if text in DIRECTIONS:
        return Law("fixed", (foot_direction(scenario, between=text == "between"),))
    try:
        return read_amount(text, DIMENSIONS["angle"]).law
    except AmountProblem as problem:
        raise AmountProblem(
            problem.found, f'write an angle east of north ("30 deg"), or {", ".join(DIRECTIONS)}'
        ) from None


def read_one(name: str, text: str) -> Amount:
    """Read an amount, or a law written as in a scenario ("{ half_normal = ... }").

    Raises
    ------
    AmountProblem
    """
    dimension, sign = NUMBERS[name]
    raw: object = text
    if text.lstrip().startswith("{"):
        try:
            raw = tomllib.loads(f"law = {text}")["law"]
        except tomllib.TOMLDecodeError:
            raise AmountProblem(f"{text} is no law", 'write { half_normal = "2 deg" }') from None
    return read_amount(raw, DIMENSIONS[dimension], sign)


def _law(name: str, text: str | None, scenario: Scenario, *, drawn: bool) -> Law | None:
    if name.endswith("direction"):
        return read_direction(text, scenario, drawn=drawn)
    if text is None:
        return None if name in ("height", "sink_rate") else Law("fixed", (0.0,))
    return read_one(name, text).law


def _outside(name: str, law: Law) -> list[str]:
    """Say what is beyond what a drop rig does."""
    most = {"height": MOST_HEIGHT, "sink_rate": MOST_SINK, "tilt": MOST_TILT,
            "side_speed": MOST_SIDE}.get(name)  # fmt: skip
    if most is None:
        return []
    low, high = law.interval(_RARE) if law.varies else (law.nominal(),) * 2
    if max(-low, high) <= most * (1.0 + 1e-9):
        return []
    words = {"height": "20 m", "sink_rate": "20 m/s", "tilt": "60 deg", "side_speed": "20 m/s"}
    why = {
        "tilt": "beyond that a vehicle counts as tipped before it is let go",
    }.get(name, "that is no drop rig any more; fly it with setdown fly")
    return [f"{option(name)}: it may be {words[name]} at most; {why}"]
