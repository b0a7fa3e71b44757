"""Bounds on percentiles from the ranks of a sample, true whatever the law behind it.

With X(1) <= ... <= X(n) and X(0) = -infinity, X(n+1) = +infinity, the number of sample values at or
below the true p-quantile is binomial(n, p) if the law is continuous; for laws with ties, and for
values of infinity, the bounds below hold with at least their confidence.

Sources: S. S. Wilks, Ann. Math. Statistics 12 (1941) 91; W. T. Nutt and G. B. Wallis, Reliability
Engineering and System Safety 83 (2004) 57; H. A. David and H. N. Nagaraja, Order Statistics,
3rd ed. (2003), section 7.1.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Bounds:
    """An estimate between its two bounds; `confidence` is what the ranks really attain."""

    lower: float
    estimate: float
    upper: float
    confidence: float


def binomial_at_most(count: int, trials: int, chance: float) -> float:
    """Probability of at most `count` events in `trials` independent trials.

    Parameters
    ----------
    count, trials : int
        Any `count`; below zero gives 0, from `trials` on gives 1.
    chance : float [1]
        Of the event in one trial.

    Returns
    -------
    float [1]
    """
    if count < 0:
        return 0.0
    if count >= trials:
        return 1.0
    return float(special.betaincc(count + 1, trials - count, chance))


def check_share(name: str, value: float) -> None:
    """Raise ValueError unless 0 < value < 1."""
    if not 0.0 < value < 1.0:
        raise ValueError(f"{name} is {value!r}; it must lie between 0 and 1, both excluded")


def upper_rank(size: int, share: float, confidence: float) -> int:
    """Rank of the least order statistic that bounds a quantile from above.

    Parameters
    ----------
    size : int
        Of the sample.
    share : float [1]
        The quantile asked for.
    confidence : float [1]
        One-sided.

    Returns
    -------
    int
        1 to `size`; `size` + 1 if the sample is too small for this claim.

    Notes
    -----
    Least u with P(binomial(n, share) >= u) <= 1 - confidence. Wilks (1941).
    """
    check_share("share", share)
    check_share("confidence", confidence)
    return _first(size + 1, lambda u: _at_least(u, size, share) <= 1.0 - confidence)


def lower_rank(size: int, share: float, confidence: float) -> int:
    """Rank of the greatest order statistic that bounds a quantile from below; 0 if there is none.

    Least and greatest exchanged, this is `upper_rank` of the mirrored sample.
    """
    return size + 1 - upper_rank(size, 1.0 - share, confidence)


def quantile_ranks(size: int, share: float, confidence: float) -> tuple[int, int]:
    """Ranks of the central (equal-tailed) two-sided bounds of a quantile.

    Returns
    -------
    tuple of int
        0 and `size` + 1 stand for bounds that so small a sample does not give.
    """
    check_share("confidence", confidence)
    tail = 0.5 * (1.0 + confidence)
    return lower_rank(size, share, tail), upper_rank(size, share, tail)


def attained_confidence(size: int, share: float, lower: int, upper: int) -> float:
    """Probability that the `share` quantile lies between the given ranks.

    Notes
    -----
    P(lower <= binomial(n, share) <= upper - 1), continuous law; more if there are ties.
    """
    return binomial_at_most(upper - 1, size, share) - binomial_at_most(lower - 1, size, share)


def flights_for_bound(share: float, confidence: float, order: int = 1) -> int:
    """Least sample of which the `order`-th largest value bounds the `share` quantile from above.

    Parameters
    ----------
    share, confidence : float [1]
    order : int
        1 for the largest value, 2 for the second largest, ...

    Returns
    -------
    int

    Notes
    -----
    1 - sum_{j<r} C(n,j) (1-g)^j g^(n-j) >= B. Wilks (1941); Nutt and Wallis (2004). The same number
    is the least count of runs with `order` - 1 failures that shows a success of `share`.
    """
    check_share("share", share)
    check_share("confidence", confidence)
    if order < 1:
        raise ValueError(f"order is {order}; it must be at least 1")

    def enough(size: int) -> bool:
        return binomial_at_most(order - 1, size, 1.0 - share) <= 1.0 - confidence

    high = 2 * order
    while not enough(high):
        high *= 2
    return _first(high, enough)


def flights_for_interval(share: float, confidence: float, order: int = 1) -> int:
    """Least sample whose `order`-th smallest and largest enclose at least `share` of the law.

    Notes
    -----
    Equal to the one-sided size of twice the order. Wilks (1941).
    """
    return flights_for_bound(share, confidence, 2 * order)


def quantile_of_sorted(ordered: Floats, share: float) -> float:
    """Sample quantile, linear between neighbours; infinity as soon as it takes part."""
    position = share * (len(ordered) - 1)
    below = int(position)
    weight = position - below
    low = float(ordered[below])
    if weight == 0.0 or low == ordered[below + 1]:
        return low
    return low + weight * (float(ordered[below + 1]) - low)


def at_rank(ordered: Floats, rank: int, lowest: float = -np.inf) -> float:
    """Order statistic of `rank` (1 is the least); `lowest` for rank 0, infinity beyond the last."""
    if rank < 1:
        return lowest
    return np.inf if rank > len(ordered) else float(ordered[rank - 1])


def quantile_bounds(
    ordered: Floats, share: float, confidence: float, *, lowest: float = -np.inf
) -> Bounds:
    """Quantile of a sorted sample with distribution-free two-sided bounds.

    Parameters
    ----------
    ordered : ndarray (n,)
        Ascending; infinities are allowed, NaN is not.
    share : float [1]
    confidence : float [1]
    lowest : float
        What is known beforehand to lie below every value (0 for a distance).

    Returns
    -------
    Bounds
        NaN throughout for an empty sample.

    Raises
    ------
    ValueError
        If the sample holds a NaN.
    """
    size = len(ordered)
    if size == 0:
        return Bounds(np.nan, np.nan, np.nan, 0.0)
    if np.isnan(ordered[-1]):
        raise ValueError("the sample holds NaN; say first what a failed flight counts as")
    low, high = quantile_ranks(size, share, confidence)
    return Bounds(
        at_rank(ordered, low, lowest),
        quantile_of_sorted(ordered, share),
        at_rank(ordered, high),
        attained_confidence(size, share, low, high),
    )


def quantile_table(
    values: Floats, shares: Sequence[float], confidence: float, *, lowest: float = -np.inf
) -> Floats:
    """Lower bound, estimate and upper bound of several quantiles.

    Parameters
    ----------
    values : ndarray (n,)
        In any order; copied once to be sorted.
    shares : sequence of float [1]
    confidence : float [1]
        Of each quantile by itself.
    lowest : float

    Returns
    -------
    ndarray (len(shares), 3)
    """
    ordered = np.sort(values)
    rows = (quantile_bounds(ordered, share, confidence, lowest=lowest) for share in shares)
    return np.array([(row.lower, row.estimate, row.upper) for row in rows])


def _at_least(count: int, trials: int, chance: float) -> float:
    """Probability of at least `count` events, without the loss of 1 - (nearly 1)."""
    return binomial_at_most(trials - count, trials, 1.0 - chance)


def _first(last: int, holds: Callable[[int], bool]) -> int:
    """Least whole number from 1 to `last` that holds, `last` if none before it does."""
    low, high = 1, last
    while low < high:
        middle = (low + high) // 2
        if holds(middle):
            high = middle
        else:
            low = middle + 1
    return low
