"""The cheapest single change that saves a flight: searched, and each one flown.

Two kinds of change are compared. An uncertain number may lie nearer to its middle: its price is how
many standard deviations. A setting may be another: its price is how many tenths of itself. Which of
the two a builder finds easier is for the builder to say, so the answer names the best of each.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from sim.ensemble.batches import Batch, Campaign, first_runs
from sim.ensemble.protocols import Floats
from sim.errors import UserMistake

SETTINGS = ("flight_computer.", "throttle.authority", "launch_pad.heading")
"""Beginnings of the keys that a builder sets rather than measures."""
LANDING_PAD = "landing_pad.radius"  # a setting too, where it is the landing pad that is missed
BEYOND = 1.1  # changes are tried a little beyond the point, where most flights fail
FARTHEST = 0.3  # of a setting
SCREEN = 100  # flights at a change, to see whether it helps at all
CHECK = 400  # flights that say how many it saves
HALVINGS = 4
SAVED = 0.5  # of the flights that failed: what a change has to save
MOST = 3  # settings whose least change is searched
PAIRS = 2_000  # flights that say what a setting does to all others


class Gain(NamedTuple):
    """Success of all flights without a change and with it [1], and bounds of the difference."""

    before: float
    after: float
    lower: float
    upper: float


@dataclass(frozen=True)
class Change:
    """A change that saves.

    Attributes
    ----------
    key : str
    kind : {"number", "setting"}
    amount : float
        Share of the deviation that is gone; or of the setting, with its sign.
    price : float
        Standard deviations; or tenths of the setting.
    fails : float
        Share of the flights a little beyond the point that still fail.
    success : Gain or None
        Of a setting: what it does to all flights.
    """

    key: str
    kind: str
    amount: float
    price: float
    fails: float
    success: Gain | None = None


def find_changes(
    scenario: Any, point: Floats, names: list[str], parts: list[str], free: Any, *, mode: str,
    failing: Callable[..., float],
) -> tuple[float, list[Change]]:
    """Search the least change of each kind that saves half of the flights.

    Parameters
    ----------
    scenario : Scenario
    point : ndarray (d,)
        Where it fails, in standard deviations.
    names : list of str
        Of its numbers.
    parts : list of str
        Those that make the story.
    free : ndarray (d,) of bool
        Directions, which cost nothing.
    mode : str
        The line of the success predicate that fails there.
    failing : callable (point, scenario, flights) -> share
        Flies, other noise each time.

    Returns
    -------
    before : float
        Share that fails a little beyond the point, nothing changed.
    changes : list of Change
        The cheapest first; empty if none saves half.
    """
    beyond = np.where(free, point, BEYOND * point)
    before = failing(beyond, scenario, CHECK)
    wanted = (1.0 - SAVED) * before
    found: list[Change] = []

    def add(
        key: str, kind: str, full: float, unit: float, fails: Callable[[float, int], float]
    ) -> None:
        least = _least(full, wanted, fails)
        found.append(Change(key, kind, least, abs(least) * unit, fails(least, CHECK)))

    for name in parts:
        place = names.index(name)

        def nearer(amount: float, flights: int, place: int = place) -> float:
            there = beyond.copy()
            there[place] *= 1.0 - amount
            return failing(there, scenario, flights)

        if nearer(1.0, SCREEN) <= wanted:
            add(name, "number", 1.0, abs(float(beyond[place])), nearer)
    helpful = sorted(
        (failing(beyond, other, SCREEN), key, amount)
        for key, amount, other in _screened(scenario, mode)
    )  # fmt: skip
    for share, key, amount in helpful[:MOST]:
        if share <= wanted:

            def other(amount: float, flights: int, key: str = key) -> float:
                changed = _with(scenario, key, amount)
                return 1.0 if changed is None else failing(beyond, changed, flights)

            add(key, "setting", amount, 10.0, other)
    return before, sorted((one for one in found if one.fails < before), key=lambda c: c.price)


def _least(full: float, wanted: float, fails: Callable[[float, int], float]) -> float:
    """Least amount at which it saves enough, by halving."""
    low, high = 0.0, full
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if fails(middle, SCREEN) <= wanted else (middle, high)
    return high


def _screened(scenario: Any, mode: str) -> Iterator[tuple[str, float, Any]]:
    """Every setting, far less and far more of it."""
    for key, number in scenario.numbers.items():
        pad = key == LANDING_PAD and "landing_pad" in mode
        if not (key.startswith(SETTINGS) or pad) or number.law.kind != "fixed":
            continue
        if not scenario.has(key.partition(".")[0]) or float(number.value) == 0.0:
            continue
        for amount in (FARTHEST, -FARTHEST):
            changed = _with(scenario, key, amount)
            if changed is not None:
                yield key, amount, changed


def _with(scenario: Any, key: str, amount: float) -> Any:
    """Return the scenario with a setting changed by a share; None where it cannot be so."""
    try:
        return scenario.with_values({key: float(scenario.numbers[key].value) * (1.0 + amount)})
    except UserMistake:
        return None


def success_with(scenario: Any, change: Change, campaign: Campaign) -> Gain:
    """All flights' success without and with a setting changed, on the same draws; 95 % bounds."""
    from sim.analysis.proportions import paired_difference

    runs = first_runs(PAIRS)
    changed = _with(scenario, change.key, change.amount)
    flown = campaign.fly([Batch(scenario, runs), Batch(changed, runs)])
    before, after = (np.asarray(out["success"]) > 0.5 for out in flown)
    lost, won = int(np.sum(before & ~after)), int(np.sum(after & ~before))
    found = paired_difference(lost, won, PAIRS)
    return Gain(float(before.mean()), float(after.mean()), found.lower, found.upper)
