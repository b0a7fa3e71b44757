"""Radius that holds a share of all impacts, over strata of faults, with an upper bound.

The bound is the least radius of which the probability that something comes down beyond it is
shown to be small enough: the stratified upper bound of `sim.analysis.strata`, turned round. With
one stratum it is the order statistic of S. S. Wilks, Ann. Math. Statistics 12 (1941) 91.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.analysis.order_statistics import check_share
from sim.analysis.strata import Strata

Floats = NDArray[np.float64]

MOST_TIMES = 4_096  # as many flights as were flown: beyond it nobody will fly on


@dataclass(frozen=True)
class Radius:
    """Radius for a share of flights.

    Parameters
    ----------
    estimate : float [m]
        What the flights show, those that were not flown left out.
    bound : float [m]
        Upper bound; infinite where these flights cannot show one.
    flights_needed : int
        Least flights, shared out as they were, of which any could; 0 where no number does.
    """

    estimate: float
    bound: float
    flights_needed: int


def radius_within(
    strata: Strata,
    reaches: Sequence[Floats],
    share: float,
    confidence: float,
    needed: int | None = None,
) -> Radius:
    """Radius within which a share of all flights comes down.

    Parameters
    ----------
    strata : Strata
    reaches : sequence of ndarray (flights of the stratum,) [m]
        Distance of the farthest piece of each flight; infinite where it is not known.
    share : float [1]
    confidence : float [1]
        One-sided. Flights that were not flown count as beyond any radius.
    needed : int, optional
        From `flights_needed`, where it is known already.

    Returns
    -------
    Radius
    """
    check_share("share", share)
    if needed is None:
        needed = flights_needed(strata, share, confidence)
    estimate = weighted_quantile(strata.weights, reaches, share)
    levels = np.unique(np.concatenate(list(reaches)))
    if needed == 0 or needed > strata.flights.sum():
        return Radius(estimate, np.inf, needed)

    def enough(radius: float) -> bool:
        beyond = [reach > radius for reach in reaches]
        counts = np.array([int(flags.sum()) for flags in beyond])
        common = strata.shared_variance(beyond)
        return strata.upper(counts, confidence, common) <= 1.0 - share

    low, high = 0, len(levels) - 1
    while low < high:
        middle = (low + high) // 2
        if enough(float(levels[middle])):
            high = middle
        else:
            low = middle + 1
    return Radius(estimate, float(levels[low]), needed)


def weighted_quantile(weights: Floats, reaches: Sequence[Floats], share: float) -> float:
    """Least value that at least a share of the weight does not exceed.

    Parameters
    ----------
    weights : ndarray (strata,) [1]
    reaches : sequence of ndarray (n,)
    share : float [1]
    """
    values = np.concatenate(list(reaches))
    each = np.concatenate([
        np.full(len(reach), weight / len(reach))
        for weight, reach in zip(weights, reaches, strict=True)
    ])  # fmt: skip
    order = np.argsort(values, kind="stable")
    below = np.cumsum(each[order]) / each.sum()
    return float(values[order][np.searchsorted(below, share * (1.0 - 1e-12))])


def flights_needed(strata: Strata, share: float, confidence: float) -> int:
    """Least flights, shared out as these were, that could show anything for so large a share.

    Returns
    -------
    int
        0 if no number of flights can: chances that are too little known, or too many faults at
        once that are not flown.
    """
    check_share("share", share)
    if float(np.quantile(strata.rests, confidence)) > 1.0 - share:
        return 0

    def enough(times: float) -> bool:
        flights = np.maximum(1, np.ceil(times * strata.flights)).astype(np.int64)
        more = Strata(strata.weights, strata.samples, flights)
        return more.upper(np.zeros(len(flights), dtype=np.int64), confidence) <= 1.0 - share

    high = 1.0 / 64.0
    while not enough(high):
        high *= 2.0
        if high > MOST_TIMES:
            return 0
    low = high / 2.0
    for _ in range(10):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if enough(middle) else (middle, high)
    return int(np.maximum(1, np.ceil(high * strata.flights)).sum())
