"""Flights with each set of faults forced, on the same draws: strata of an ensemble with faults.

A stratum is a set of faults: none, each by itself, each pair. Three or more at once are one
stratum, whose sets are drawn by their chances, or are not flown; how likely they are is known then,
and whoever uses the strata counts them as lost.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.batches import Batch, Campaign, Outcomes, Progress, first_runs
from sim.ensemble.fault_odds import Odds, draw_several
from sim.ensemble.protocols import Floats, Fly

if TYPE_CHECKING:
    from sim.scenario import Scenario

LEAST_WEIGHT = 1e-7  # of a pair that is flown at all
SEVERAL = ("three or more",)
"""In place of the names of faults: the stratum of all sets that have none of their own."""


@dataclass(frozen=True)
class Stratum:
    """Flights of one set of faults: run numbers 0 to `flights` - 1.

    Parameters
    ----------
    faults : tuple of str
        Empty for sound vehicles.
    weight : float [1]
        Probability that a flight has exactly these faults, at the mean chances.
    weights : ndarray (samples,) [1]
        Same for each sample of the chances.
    outcomes : dict of str to ndarray (flights,)
    """

    faults: tuple[str, ...]
    weight: float
    weights: Floats
    outcomes: Outcomes

    @property
    def flights(self) -> int:
        """How many were flown."""
        return len(self.outcomes["outcome"])

    @property
    def name(self) -> str:
        """Names of the faults, or none."""
        return " and ".join(self.faults) or "none"


@dataclass(frozen=True)
class Flown:
    """Strata and what is left.

    Parameters
    ----------
    strata : list of Stratum
    rest : float [1]
        Probability of the sets that were not flown, at the mean chances.
    rests : ndarray (samples,) [1]
    """

    strata: list[Stratum]
    rest: float
    rests: Floats

    def of(self, *faults: str) -> Stratum:
        """Stratum of exactly these faults."""
        return next(s for s in self.strata if set(s.faults) == set(faults))


Plan = Mapping[tuple[str, ...], int]
"""Flights of each set of faults."""


def plan_each(odds: Odds, each: int, *, sound: int, pair: int) -> dict[tuple[str, ...], int]:
    """As many flights of each fault, so that each is known as well, whatever its chance."""
    by_size = {0: sound, 1: each, 2: pair}
    sets = [()] + [(name,) for name in odds.names] + [s for s in odds.sets(2) if len(s) == 2]
    worth = [s for s in sets if len(s) < 2 or odds.probability(s) > LEAST_WEIGHT]
    return {faults: by_size[len(faults)] for faults in worth}


def plan_weighted(odds: Odds, flights: int, least: int = 20) -> dict[tuple[str, ...], int]:
    """Flights in proportion to the root of the weight, where the rarest events are looked for.

    Notes
    -----
    Of an event never seen, n flights leave about 1/n open, and a stratum adds weight / n to the
    total: the sum is least for n in proportion to the root of the weight (as Neyman's allocation,
    Cochran, Sampling Techniques, 3rd ed. (1977), section 5.5, with the variance of such an event).
    """
    sets = [s for s in odds.sets(2) if len(s) < 2 or odds.probability(s) > LEAST_WEIGHT]
    roots = np.sqrt([max(odds.probability(s), LEAST_WEIGHT) for s in sets])
    several = 1.0 - sum(odds.probability(s) for s in sets)
    if several > LEAST_WEIGHT:
        sets, roots = [*sets, SEVERAL], np.append(roots, np.sqrt(several))
    share = roots / roots.sum()
    return {s: max(least, round(flights * part)) for s, part in zip(sets, share, strict=True)}


def fly_strata(
    scenario: Scenario,
    odds: Odds,
    plan: Plan,
    *,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
    campaign: Campaign | None = None,
) -> Flown:
    """Fly every stratum on the same draws and the same noise.

    Parameters
    ----------
    scenario : Scenario
    odds : Odds
    plan : mapping of tuple of str to int
        Flights of each set of faults; of `SEVERAL`, whose sets are drawn by their chances.
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.
    campaign : Campaign, optional
        Counts these flights too.

    Returns
    -------
    Flown

    Notes
    -----
    Flight i of every stratum has the draws and the noise of flight i of the ensemble without
    faults, and the same outcome, to the bit, as with that fault forced.
    """
    campaign = campaign or Campaign(seed, fly=fly, workers=workers, progress=progress)
    able = scenario.with_faults(list(odds.names)).with_faults([], mixed=True)
    plan = dict(plan)
    sets: list[frozenset[str]] = []  # of each flight
    for faults, count in list(plan.items()):
        these = draw_several(odds, count) if faults == SEVERAL else [frozenset(faults)] * count
        plan[faults] = len(these)
        sets += these
    plan = {faults: count for faults, count in plan.items() if count}
    runs = np.concatenate([first_runs(count) for count in plan.values()])
    happening = {n: np.array([n in s for s in sets], dtype=np.float64) for n in odds.names}
    found = campaign.fly_one(Batch(able, runs, _forced(able, happening)))
    strata: list[Stratum] = []
    start = 0
    named = [faults for faults in plan if faults != SEVERAL]
    others = np.clip(1.0 - np.sum([odds.samples(s) for s in named], axis=0), 0.0, 1.0)
    for faults, count in plan.items():
        part = slice(start, start + count)
        start += count
        several = faults == SEVERAL
        weight = 1.0 - sum(map(odds.probability, named)) if several else odds.probability(faults)
        strata.append(Stratum(
            faults, weight,
            others if several else odds.samples(faults),
            {name: column[part] for name, column in found.items()},
        ))  # fmt: skip
    rest = 1.0 - sum(s.weight for s in strata)
    rests = 1.0 - np.sum([s.weights for s in strata], axis=0)
    # what rounding leaves is nothing
    return Flown(strata, rest if rest > 1e-12 else 0.0, np.where(rests > 1e-12, rests, 0.0))


def _forced(able: Scenario, happening: Mapping[str, Floats]) -> dict[str, Floats]:
    """Draws by which exactly these faults happen: alone, after another, or by their margin."""
    values: dict[str, Floats] = {}
    for name, flag in happening.items():
        values[f"faults.{name}.happens"] = values[f"faults.{name}.happens_after"] = flag
        if able.chances[name].margin:
            values[f"faults.{name}.strength"] = 1.0 - flag
            values[f"faults.{name}.load"] = flag
    return values


Flags = NDArray[np.bool_]
Judge = Callable[[Mapping[str, Floats]], Flags]


def events(flown: Flown, judge: Judge) -> list[Flags]:
    """Whether something happened, flight by flight, of each stratum."""
    return [np.asarray(judge(s.outcomes), dtype=bool) for s in flown.strata]


def weights(flown: Flown) -> tuple[Floats, Floats]:
    """Weights of the strata: (strata,) at the mean chances and (strata, samples)."""
    mean = np.array([s.weight for s in flown.strata])
    return mean, np.array([s.weights for s in flown.strata])
