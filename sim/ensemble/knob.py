"""Setting one input of a scenario to a level, its direction still drawn.

What a level means depends on the law that the input has in the scenario:

* an error about zero (a bias): this size, its sign drawn per flight; a half-normal one (a tilt,
  whose direction is a number of its own): this size;
* a number about another value (a mass, a thrust factor): off by so much, its sign drawn;
* a number that is certain (a setting), or that is a size by itself (the wind, a delay): this value.

A number that is uncertain keeps what the vehicle believes of it; a setting is known on board.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.ensemble.batches import Batch
from sim.ensemble.protocols import Floats, Runs, ScenarioLike
from sim.ensemble.uniforms import uniform_source
from sim.ensemble.vary import SPREAD, touched
from sim.errors import UserMistake

MEANINGS = ("magnitude", "deviation", "value", "spread")
_SIZES = ("wind.speed", "wind.gust_speed")  # their law's centre is not where no harm is done


@dataclass(frozen=True)
class Knob:
    """One input and what its levels mean.

    Attributes
    ----------
    scenario : Scenario
    key : str
        Dotted name of a number, or of one with axes.
    meaning : str
        One of MEANINGS.
    names : tuple of str
        The numbers that it sets.
    unit : str
        SI.
    """

    scenario: Any
    key: str
    meaning: str
    names: tuple[str, ...]
    unit: str

    @property
    def one_sided(self) -> bool:
        """Whether the sign is not drawn."""
        kinds = {self.scenario.numbers[name].law.kind for name in self.names}
        return self.meaning in ("value", "spread") or kinds == {"half_normal"}

    def batch(self, level: float, seed: int, runs: Runs) -> Batch:
        """Runs with the input at a level.

        Parameters
        ----------
        level : float [SI]
        seed : int
        runs : ndarray of int64 (n,)

        Returns
        -------
        Batch
        """
        if self._by_scenario:
            return Batch(self.at(level), runs)
        return Batch(self.scenario, runs, self._values(level, seed, runs))

    def at(self, level: float) -> Any:
        """Scenario with the input set, for settings and spreads.

        Raises
        ------
        UserMistake
            The level is not allowed.
        """
        ending = SPREAD if self.meaning == "spread" else ""
        return _set(self.scenario, {self.key + ending: level})

    def check(self, level: float) -> None:
        """Raise UserMistake if the scenario does not allow this level."""
        if self._by_scenario:
            self.at(level)
            return
        for name in self.names:
            centre = self._centre(name)
            for sign in (1.0,) if self.one_sided else (-1.0, 1.0):
                _set(self.scenario, {name: centre + sign * level})

    def usual_end(self) -> float:
        """Level [SI] that is rarely passed as the scenario stands; 0 if it does not say."""
        found = 0.0
        for name in self.names:
            number = self.scenario.numbers[name]
            low, high = number.law.interval(0.998) if number.law.varies else (number.value,) * 2
            if self.meaning == "spread":
                found = max(found, 3.0 * number.law.spread())
            elif self.meaning == "value":
                found = max(found, abs(high), 2.0 * abs(number.value))
            else:
                centre = self._centre(name)
                found = max(found, abs(high - centre), abs(low - centre))
        return found

    @property
    def _by_scenario(self) -> bool:
        certain = all(self.scenario.numbers[n].law.kind == "fixed" for n in self.names)
        return certain or self.meaning == "spread"

    def _centre(self, name: str) -> float:
        return float(self.scenario.numbers[name].value) if self.meaning == "deviation" else 0.0

    def _values(self, level: float, seed: int, runs: Runs) -> dict[str, Floats]:
        source = uniform_source("random", seed, runs, None, {})
        found = {}
        for name in self.names:
            # the sign of the number's own draw, as the law of either sign would have it
            sign = 1.0 if self.one_sided else np.where(source(name) < 0.5, -1.0, 1.0)
            found[name] = np.broadcast_to(self._centre(name) + sign * level, runs.shape).copy()
        return found


def make_knob(scenario: ScenarioLike, key: str, of: str | None = None) -> Knob:
    """Find out what the levels of an input mean.

    Parameters
    ----------
    scenario : Scenario
    key : str
        Dotted name.
    of : {"magnitude", "value", "spread"}, optional
        What is asked for; by the input's law if not given.

    Returns
    -------
    Knob

    Raises
    ------
    UserMistake
        The scenario has no such number (the nearest is named), or it has no spread to set.
    """
    names = touched(scenario, key)
    if key.endswith(SPREAD):
        raise UserMistake(f"give {key.removesuffix(SPREAD)} with --of spread, not {key}")
    if not names:
        _set(scenario, {key: 0.0})  # names the nearest
        raise UserMistake(f"{key} is a choice, not a number; it has no level to solve for")
    number = scenario.numbers[names[0]]
    law = number.law
    if of == "spread":
        meaning = "spread"
        _set(scenario, {key + SPREAD: law.spread()})
    elif of == "value" or (of is None and (_is_size(names[0], law))):
        meaning = "value"
    else:
        meaning = "magnitude" if float(number.value) == 0.0 else "deviation"
    return Knob(scenario, key, meaning, tuple(names), str(number.unit))


def _is_size(name: str, law: Any) -> bool:
    return name in _SIZES or law.kind in ("fixed", "lognormal", "chance", "choice")


def _set(scenario: Any, values: Mapping[str, Any]) -> Any:
    return scenario.with_values(values)
