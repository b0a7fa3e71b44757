"""How far an input may go: success against its level, and the bracket around the crossing.

Each level is judged by a test that stays true however often one looks (see
`sim.analysis.sequential`), at a risk shared out over all levels that a search may try (Bonferroni,
true under any dependence, so that the levels may share their flights). Where success falls with the
level, the last level shown to be good and the first shown to be bad then enclose the crossing, each
with the confidence asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from scipy import optimize

from sim.analysis.flights import BOUND, Floats
from sim.analysis.proportions import mcnemar_exact
from sim.analysis.sequential import log_evidence, sequential_proportion

if TYPE_CHECKING:
    from xarray import Dataset

STATES = ("open", "above", "below")
MOST_LEVELS = 24
"""Levels that the risk is shared out over; a search tries no more."""


class Bracket(NamedTuple):
    """Crossing of the wanted success: last level shown good, estimate, first level shown bad.

    NaN where there is none.
    """

    good: float
    estimate: float
    bad: float


def judge_level(
    count: int, flights: int, success: float, confidence: float, levels: int = MOST_LEVELS
) -> str:
    """Whether success at one level is shown to lie above or below what is wanted.

    Parameters
    ----------
    count, flights : int
    success : float [1]
        Wanted.
    confidence : float [1]
        Of all levels together, each side by itself.
    levels : int
        That the risk is shared out over.

    Returns
    -------
    str
        One of STATES.
    """
    needed = float(np.log(levels) - np.log1p(-confidence))
    if count > success * flights and log_evidence(count, flights, success) >= needed:
        return "above"
    failures = flights - count
    if count < success * flights and log_evidence(failures, flights, 1.0 - success) >= needed:
        return "below"
    return "open"


def find_bracket(
    levels: Sequence[float],
    counts: Sequence[int],
    flights: Sequence[int],
    states: Sequence[str],
    success: float,
) -> Bracket:
    """Bracket of the crossing from what is known of every level.

    Parameters
    ----------
    levels : sequence of float (n,)
        Ascending.
    counts, flights : sequence of int (n,)
    states : sequence of str (n,)
        From `judge_level`.
    success : float [1]

    Returns
    -------
    Bracket

    Notes
    -----
    The good end is the highest level shown above of those below every level shown below and above
    the best level. The estimate is where the isotonic fit (decreasing, weighted by flights) from
    the best level on crosses, by straight lines.
    """
    x = np.asarray(levels, dtype=np.float64)
    shares = np.asarray(counts) / np.asarray(flights)
    start = _start(shares, states)
    bad_places = [i for i in range(start, len(x)) if states[i] == "below"]
    last = bad_places[0] if bad_places else len(x)
    good_places = [i for i in range(start, last) if states[i] == "above"]
    fit = decreasing(shares[start:], np.asarray(flights, dtype=np.float64)[start:])
    return Bracket(
        float(x[good_places[-1]]) if good_places else np.nan,
        _crossing(x[start:], fit, success),
        float(x[last]) if bad_places else np.nan,
    )


def decreasing(shares: Floats, weights: Floats) -> Floats:
    """Nearest shares that never rise with the level (isotonic regression)."""
    fitted = optimize.isotonic_regression(shares, weights=weights, increasing=False)
    return np.asarray(fitted.x, dtype=np.float64)


def rises(good: Sequence[Floats], confidence: float) -> tuple[int, int] | None:
    """Two levels between which success is shown to rise, or None.

    Parameters
    ----------
    good : sequence of ndarray of bool
        Success of each flight at each level, the same flights in the same order.
    confidence : float [1]
        Of all pairs together.

    Returns
    -------
    (int, int) or None
        Places of the lower and the higher level.
    """
    size = len(good)
    pairs = max(1, size * (size - 1) // 2)
    found: tuple[int, int] | None = None
    least = (1.0 - confidence) / pairs
    for low in range(size):
        for high in range(low + 1, size):
            both = min(len(good[low]), len(good[high]))
            one, two = good[low][:both] > 0.5, good[high][:both] > 0.5
            lost, gained = int(np.sum(one & ~two)), int(np.sum(two & ~one))
            p = mcnemar_exact(lost, gained)
            if gained > lost and p < least:
                found, least = (low, high), p
    return found


def tolerance(
    levels: Sequence[float],
    good: Sequence[Floats],
    *,
    success: float,
    confidence: float,
    unit: str = "1",
) -> Dataset:
    """Success against the level of an input, and the bracket of the crossing.

    Parameters
    ----------
    levels : sequence of float (n,)
        Ascending.
    good : sequence of ndarray
        1 for each flight that succeeded at that level, 0 for the others; flights in the same order
        at every level, of which the first ones are the same.
    success : float [1]
        Wanted.
    confidence : float [1]
    unit : str
        Of the levels.

    Returns
    -------
    Dataset
        Per level: success(bound), flights, state; good_end, crossing and bad_end in the unit of the
        level; rises_from and rises_to, NaN unless success is shown to rise with the level.
    """
    import xarray as xr

    counts = [int(np.sum(column > 0.5)) for column in good]
    flights = [len(column) for column in good]
    states = [
        judge_level(k, n, success, confidence) for k, n in zip(counts, flights, strict=True)
    ]
    rows = [sequential_proportion(k, n, confidence) for k, n in zip(counts, flights, strict=True)]
    bracket = find_bracket(levels, counts, flights, states, success)
    rise = rises(good, confidence)
    where = ("level",)
    own = {"units": unit}
    anytime = {"units": "1", "method": "confidence sequence (Beta mixture), each level by itself"}
    entries: dict[str, Any] = {
        "success": (("level", "bound"), np.array(rows), anytime),
        "flights": (where, flights, {"units": "1"}),
        "state": (
            where,
            np.array([STATES.index(state) for state in states], dtype=np.int8),
            {
                "flag_values": np.arange(len(STATES), dtype=np.int8),
                "flag_meanings": " ".join(STATES),
            },
        ),
        "good_end": ((), bracket.good, own | {"long_name": "last level shown good enough"}),
        "crossing": ((), bracket.estimate, own | {"long_name": "estimated level of the crossing"}),
        "bad_end": ((), bracket.bad, own | {"long_name": "first level shown not good enough"}),
        "rises_from": ((), levels[rise[0]] if rise else np.nan, own),
        "rises_to": ((), levels[rise[1]] if rise else np.nan, own),
    }
    coords = {"level": (where, np.asarray(levels, dtype=np.float64), own), "bound": list(BOUND)}
    attrs = {"title": "tolerance", "wanted_success": success, "confidence": confidence}
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def _start(shares: Floats, states: Sequence[str]) -> int:
    """Where the fall begins: the first level unless it is shown bad, else the best one."""
    return int(np.argmax(shares)) if states[0] == "below" else 0


def _crossing(x: Floats, fit: Floats, success: float) -> float:
    above = np.flatnonzero(fit >= success)
    if not len(above) or above[-1] == len(x) - 1:
        return np.nan
    i = int(above[-1])
    return float(x[i] + (x[i + 1] - x[i]) * (fit[i] - success) / (fit[i] - fit[i + 1]))
