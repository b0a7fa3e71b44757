"""How likely each set of faults is, from the chances that a scenario gives, and how sure that is.

Faults are independent of one another but for two things: of those that exclude one another a flight
has one at most, each with the chance that was written, and one with a cause in common with another
follows it. The rules are those by
which a flight draws its own faults (`sim.ensemble.fault_fields.which_faults`), so that figures put
together from forced flights are those of flights with mixed faults.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.draws import draw_numbers
from sim.ensemble.protocols import Floats
from sim.scenario.fault_chances import left_over
from sim.scenario.faults import FAULTS

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from sim.scenario.fault_chances import Chance

SAMPLES = 4_000  # of the chances that come from tests
MARGIN_DRAWS = 100_000  # of strength and load
TRIES = 200_000  # flights among which those with several faults are looked for
_STREAM = 977  # of the samples of the chances: the same for every scenario and seed


@dataclass(frozen=True)
class FaultOdds:
    """A fault's chance by itself, and beside the fault that it follows.

    Parameters
    ----------
    name : str
    chance : float [1]
        By itself: as given, the mean of what tests leave open, or that of its margin.
    samples : ndarray (SAMPLES,) [1]
        Chances that the tests leave open, equally likely; all the same where none were made.
    basis : str
        "given", "tests", "margin", "forced" or "assumed".
    failures, tests : int or None
        What was seen, where the chance is from tests.
    after : str
        Fault that it follows, or "none".
    chance_after : float [1]
        Chance where that one happens.
    """

    name: str
    chance: float
    samples: Floats
    basis: str
    failures: int | None = None
    tests: int | None = None
    after: str = "none"
    chance_after: float = 0.0

    @property
    def shares_out(self) -> bool:
        """Whether it is a chance of its own, that exclusive ones before it can be taken off."""
        return self.basis in ("given", "tests", "assumed") and self.after == "none"


@dataclass(frozen=True)
class Odds:
    """Chances of sets of faults; `faults` in the order in which a flight draws them."""

    faults: tuple[FaultOdds, ...]

    def drawn_with(self) -> Iterator[tuple[FaultOdds, float, Floats]]:
        """Each fault with the chance by which it is drawn, where none that excludes it has been.

        Yields
        ------
        fault, chance, samples : FaultOdds, float [1], ndarray (SAMPLES,) [1]
            Divided by what those before it leave, so that each has its own chance in the end.
        """
        before: dict[str, tuple[float, Floats]] = {}
        for fault in self.faults:
            group = FAULTS[fault.name].excludes
            if not group or not fault.shares_out:
                yield fault, fault.chance, fault.samples
                continue
            taken, sampled = before.get(group, (0.0, np.zeros(SAMPLES)))
            before[group] = taken + fault.chance, sampled + fault.samples
            left = np.maximum(1.0 - sampled, 1e-12)
            shared = np.minimum(fault.samples / left, np.where(sampled < 1.0, 1.0, 0.0))
            yield fault, left_over(fault.chance, taken), shared

    @property
    def names(self) -> tuple[str, ...]:
        """Faults in the order in which they are drawn."""
        return tuple(fault.name for fault in self.faults)

    def probability(self, happening: Iterable[str]) -> float:
        """Probability that exactly these faults happen in a flight, at the mean chances."""
        return float(self._chain(frozenset(happening), None)[0])

    def samples(self, happening: Iterable[str]) -> Floats:
        """Same, for each sample of the chances; ndarray (SAMPLES,)."""
        return self._chain(frozenset(happening), SAMPLES)

    def marginal(self, name: str) -> float:
        """Probability that a fault happens, alone or not, its common cause counted."""
        fault = next(f for f in self.faults if f.name == name)
        if fault.after not in self.names:
            return fault.chance
        cause = self.marginal(fault.after)
        return cause * fault.chance_after + (1.0 - cause) * fault.chance

    def sets(self, most: int = 2) -> list[tuple[str, ...]]:
        """All sets of up to `most` faults that can happen, the empty one first."""
        found: list[tuple[str, ...]] = []
        for size in range(most + 1):
            found += [
                each for each in combinations(self.names, size) if self.probability(each) > 0.0
            ]
        return found

    def _chain(self, happening: frozenset[str], samples: int | None) -> Floats:
        """Probability of a set: of each fault in turn, given those before it."""
        found = np.ones(1 if samples is None else samples)
        taken: set[str] = set()
        done: set[str] = set()
        for fault, chance, sampled in self.drawn_with():
            alone = np.array([chance]) if samples is None else sampled
            if fault.after in done:
                alone = np.full_like(alone, 1.0 if fault.basis == "forced" else fault.chance_after)
            group = FAULTS[fault.name].excludes
            if group and group in taken and fault.basis != "forced":
                alone = np.zeros_like(alone)
            happens = fault.name in happening
            found = found * (alone if happens else 1.0 - alone)
            if happens:
                done.add(fault.name)
                taken.add(group)
        return found


def draw_several(odds: Odds, count: int, least: int = 3) -> list[frozenset[str]]:
    """Sets of `least` faults or more, as flights with mixed faults would have them.

    Parameters
    ----------
    odds : Odds
    count : int
        How many sets are wanted.
    least : int

    Returns
    -------
    list of frozenset of str
        Fewer, if so few came up in `TRIES` flights; the chances are drawn too, from what tests
        leave open.
    """
    random = np.random.default_rng(_STREAM + 1)
    which = random.integers(SAMPLES, size=TRIES)
    has: dict[str, NDArray[np.bool_]] = {}
    taken: dict[str, NDArray[np.bool_]] = {}
    for fault, _, sampled in odds.drawn_with():
        chance = sampled[which]
        if fault.after in has and fault.basis != "forced":
            chance = np.where(has[fault.after], fault.chance_after, chance)
        group = FAULTS[fault.name].excludes
        if group and fault.basis != "forced":
            chance = np.where(taken.get(group, False), 0.0, chance)
        has[fault.name] = random.random(TRIES) < chance
        if group:
            taken[group] = taken.get(group, np.zeros(TRIES, dtype=bool)) | has[fault.name]
    if not has:
        return []
    flags = np.array(list(has.values()))
    columns = np.flatnonzero(flags.sum(axis=0) >= least)[:count]
    return [
        frozenset(name for name, row in zip(has, flags, strict=True) if row[column])
        for column in columns
    ]


def possible_faults(scenario: Scenario) -> list[str]:
    """Faults that a vehicle with these parts can have, in the order in which they are shown."""
    return [
        name for name, model in FAULTS.items()
        if not model.needs or any(scenario.has(part) for part in model.needs)
    ]  # fmt: skip


def find_odds(scenario: Scenario, assumed: float | None = None) -> Odds:
    """Chances of a scenario's faults.

    Parameters
    ----------
    scenario : Scenario
    assumed : float [1], optional
        In a scenario that has no faults, give each that the vehicle can have this chance.

    Returns
    -------
    Odds

    Notes
    -----
    k of n tests failed: the chance follows Beta(k + 1, n - k + 1), what is left of a flat prior
    (Bayes; e.g. A. Gelman and others, Bayesian Data Analysis, 3rd ed. (2013), section 2.1). A
    margin of two normal laws has the closed form Phi((l - s) / sqrt(ss^2 + sl^2)) (stress and
    strength, common practice); others are drawn 100,000 times.
    """
    random = np.random.default_rng(_STREAM)
    chances: Mapping[str, Chance] = scenario.chances
    if not chances and assumed is not None:
        return Odds(tuple(
            FaultOdds(name, assumed, np.full(SAMPLES, assumed), "assumed")
            for name in possible_faults(scenario)
        ))  # fmt: skip
    mixed = scenario.with_faults([], mixed=True) if chances else scenario
    names = [name for name in FAULTS if name in chances]
    # a fault that follows another is drawn after it
    ordered = sorted(names, key=lambda name: chances[name].after != "none")
    return Odds(tuple(_fault(name, scenario, mixed, random) for name in ordered))


def _fault(
    name: str, scenario: Scenario, mixed: Scenario, random: np.random.Generator
) -> FaultOdds:
    chance = scenario.chances[name]
    after = {"after": chance.after, "chance_after": chance.value_after}
    if scenario.choices[f"faults.{name}.forced"] is True:
        return FaultOdds(name, 1.0, np.ones(SAMPLES), "forced")
    if chance.margin:
        value = margin_chance(mixed, name)
        return FaultOdds(name, value, np.full(SAMPLES, value), "margin", **after)  # type: ignore[arg-type]
    if chance.tests is not None and chance.failures is not None:
        k, n = chance.failures, chance.tests
        samples = random.beta(k + 1, n - k + 1, SAMPLES)
        return FaultOdds(name, chance.value, samples, "tests", k, n, **after)  # type: ignore[arg-type]
    samples = np.full(SAMPLES, chance.value)
    return FaultOdds(name, chance.value, samples, "given", **after)  # type: ignore[arg-type]


def margin_chance(mixed: Scenario, name: str) -> float:
    """Probability that a mechanism's strength is less than its load.

    Parameters
    ----------
    mixed : Scenario
        With mixed faults, so that both numbers have the laws that were written.
    name : str
    """
    keys = [f"faults.{name}.strength", f"faults.{name}.load"]
    strength, load = (mixed.numbers[key].law for key in keys)
    tied = {other for group in mixed.correlated for other in group.names}
    kinds = {strength.kind, load.kind}
    if kinds <= {"normal", "fixed"} and "normal" in kinds and not tied & set(keys):
        from scipy.special import ndtr

        spreads = [law.parameters[1] for law in (strength, load) if law.kind == "normal"]
        gap = load.parameters[0] - strength.parameters[0]
        return float(ndtr(gap / np.hypot.reduce(spreads)))
    return drawn_margin(mixed, name)


def drawn_margin(mixed: Scenario, name: str, draws: int = MARGIN_DRAWS) -> float:
    """Same by drawing strength and load, as a flight does, whatever their laws."""
    keys = [f"faults.{name}.strength", f"faults.{name}.load"]
    numbers = {key: mixed.numbers[key] for key in mixed.numbers if key in keys}
    small = SimpleNamespace(
        numbers=numbers,
        correlated=[g for g in mixed.correlated if set(g.names) <= set(keys)],
    )
    drawn = draw_numbers(small, _STREAM, np.arange(draws, dtype=np.int64))
    strength, load = (drawn.get(key, np.asarray(numbers[key].value)) for key in keys)
    return float(np.mean(np.broadcast_to(strength < load, (draws,))))
