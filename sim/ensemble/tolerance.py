"""Solving for the level of an input at which success falls below what is wanted.

The same flights are flown at every level. Coarse levels come first, with few flights each; then
new levels between the last one shown good, the estimated crossing and the first one shown bad, each
flown until it is decided or has had its most.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from sim.analysis.tolerance import MOST_LEVELS, Bracket, find_bracket, judge_level, tolerance
from sim.ensemble.batches import Campaign, Progress, first_runs
from sim.ensemble.knob import Knob, make_knob
from sim.ensemble.protocols import Floats, Fly, ScenarioLike
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

FIRST = 256  # flights at a coarse level
COARSE = 6  # steps of the coarse levels
MOST_SHARE = 4  # at one level no more than the flights in all over this
TRIES = 2  # levels that may stay undecided on each side
DOUBLINGS = 4  # of a far end that was not given
Good = Callable[[float, int, int], Floats]
"""`good(level, first run, flights)`: 1 for each flight that succeeded, else 0."""


def solve_tolerance(
    scenario: ScenarioLike,
    key: str,
    *,
    success: float = 0.90,
    confidence: float = 0.95,
    of: str | None = None,
    low: float | None = None,
    high: float | None = None,
    within: float | None = None,
    flights: int = 60_000,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> Dataset:
    """Find the largest level of an input at which success stays above what is wanted.

    Parameters
    ----------
    scenario : Scenario
    key : str
        Dotted name of a number, or of one with axes.
    success, confidence : float [1]
    of : {"magnitude", "value", "spread"}, optional
        See `sim.ensemble.knob`.
    low, high : float, optional [SI]
        Where to look; from 0 to somewhat more than the scenario's law reaches, doubled as needed.
    within : float, optional [SI]
        Width of the bracket to stop at; 2 % of where one looks.
    flights : int
        Most flights in all.
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Dataset
        As `sim.analysis.tolerance.tolerance`; attributes say what the levels mean.

    Raises
    ------
    UserMistake
        Unknown input (the nearest is named), impossible options.
    """
    knob = make_knob(scenario, key, of)
    first, last = _ends(knob, low, high)
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    campaign.plan(flights)

    def good(level: float, start: int, count: int) -> Floats:
        return campaign.fly_one(knob.batch(level, seed, first_runs(count, start)))["success"]

    search = Search(good, success, confidence, flights)
    search.coarse(first, last)
    if high is None:
        search.reach_out(knob, last)
    span = max(search.known) - min(search.known)
    search.close_in(within if within is not None else 0.02 * span)
    found = search.result(knob.unit)
    found.attrs |= {
        "scenario_key": key, "meaning": knob.meaning, "sign_drawn": int(not knob.one_sided),
        "alignment": str(scenario_choice(scenario, "alignment.attitude")),
        "zeroing": str(scenario_choice(scenario, "alignment.zeroing")),
        "flights": campaign.flown, "most_flights": flights, "seed": seed,
        "vehicle": scenario.title, "scenario_digest": scenario.digest,
    }  # fmt: skip
    return found


def scenario_choice(scenario: ScenarioLike, name: str) -> str:
    """Choice of a scenario, by name."""
    return str(getattr(scenario, "choices", {}).get(name, "none"))


class Search:
    """Levels tried so far, and where to try next.

    Parameters
    ----------
    good : callable
        Flies runs at a level.
    success, confidence : float [1]
    flights : int
        Most in all.
    """

    def __init__(self, good: Good, success: float, confidence: float, flights: int) -> None:
        if flights < FIRST * (COARSE + 1):
            raise UserMistake(
                f"{flights} flights are too few to find a crossing; give at least "
                f"{FIRST * (COARSE + 1)}"
            )
        self.known: dict[float, Floats] = {}
        self._good, self._success, self._confidence = good, success, confidence
        self._left = flights
        self._most = max(FIRST, flights // MOST_SHARE)

    def coarse(self, low: float, high: float) -> None:
        """Fly the first flights at evenly spread levels."""
        for level in np.linspace(low, high, COARSE + 1):
            self._more(float(level), FIRST)

    def reach_out(self, knob: Knob, high: float) -> None:
        """Double the far end while success is not below what is wanted there."""
        for _ in range(DOUBLINGS):
            if self._share(high) < self._success or len(self.known) >= MOST_LEVELS // 2:
                return
            try:
                knob.check(2.0 * high)
            except UserMistake:
                return  # the scenario allows no more
            high *= 2.0
            self._more(high, FIRST)

    def close_in(self, within: float) -> None:
        """Narrow the bracket until it is as wide as asked, or no more can be decided."""
        for level in (min(self.known), max(self.known)):
            self._decide(level)
        failed = {"good": 0, "bad": 0}  # levels on each side that could not be decided
        while self._left >= FIRST and len(self.known) < MOST_LEVELS:
            now = self.bracket()
            if not np.isfinite(now.estimate) or now.bad - now.good <= within:
                return
            if min(failed.values()) >= TRIES:
                return
            level, side = self._next(now, failed)
            near = any(abs(level - old) < 0.05 * within for old in self.known)
            if near or self._decide(level) == "open":
                failed[side] += 1

    def bracket(self) -> Bracket:
        """Return the bracket as it stands."""
        levels = sorted(self.known)
        counts = [int(self.known[x].sum()) for x in levels]
        flights = [len(self.known[x]) for x in levels]
        states = [self._state(x) for x in levels]
        return find_bracket(levels, counts, flights, states, self._success)

    def result(self, unit: str) -> Dataset:
        """Return everything found."""
        levels = sorted(self.known)
        return tolerance(
            levels, [self.known[x] for x in levels], success=self._success,
            confidence=self._confidence, unit=unit,
        )  # fmt: skip

    def _next(self, now: Bracket, failed: dict[str, int]) -> tuple[float, str]:
        """Between the estimate and the end that is farther from it, nearer to the end each time."""
        low = now.good if np.isfinite(now.good) else min(self.known)
        high = now.bad if np.isfinite(now.bad) else max(self.known)
        side = "good" if now.estimate - low >= high - now.estimate else "bad"
        if failed[side] >= TRIES:
            side = "bad" if side == "good" else "good"
        end = low if side == "good" else high
        return end + (now.estimate - end) * 0.5 ** (1 + failed[side]), side

    def _decide(self, level: float) -> str:
        """Fly on at a level until it is decided or has had its most."""
        most = min(self._most, len(self.known.get(level, ())) + max(FIRST, self._left // 4))
        while True:
            flown = len(self.known.get(level, ()))
            if flown and self._state(level) != "open":
                return self._state(level)
            more = min(max(flown, FIRST), most - flown, self._left)
            if more <= 0:
                return "open"
            self._more(level, more)

    def _more(self, level: float, count: int) -> None:
        before = self.known.get(level, np.empty(0))
        count = min(count, self._left)
        self.known[level] = np.concatenate([before, self._good(level, len(before), count)])
        self._left -= count

    def _state(self, level: float) -> str:
        good = self.known[level]
        return judge_level(int(good.sum()), len(good), self._success, self._confidence)

    def _share(self, level: float) -> float:
        return float(self.known[level].mean())


def _ends(knob: Knob, low: float | None, high: float | None) -> tuple[float, float]:
    first = 0.0 if low is None else low
    if low is None and knob.meaning == "value":
        first = _least_allowed(knob)
    last = knob.usual_end() if high is None else high
    if last <= first and high is None:
        raise UserMistake(
            f"the scenario does not say how far {knob.key} may reach; give the end with --to"
        )
    if last <= first:
        raise UserMistake(f"the bracket goes from {first:g} to {last:g}; give --to above --from")
    for level in (first, last):
        knob.check(level)
    return first, last


def _least_allowed(knob: Knob) -> float:
    """Zero where the scenario allows it, else a tenth of the value that it has."""
    try:
        knob.check(0.0)
    except UserMistake:
        return 0.1 * abs(float(knob.scenario.numbers[knob.names[0]].value))
    return 0.0
