"""Proportions: exact bounds, how many runs a claim needs, and paired comparison.

Sources: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404; E. B. Wilson, J. American
Statistical Association 22 (1927) 209; Q. McNemar, Psychometrika 12 (1947) 153; J. M. Hanson and
B. B. Beard, NASA/TP-2010-216447 (consumer's risk).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy import special

from sim.analysis.order_statistics import binomial_at_most, check_share, flights_for_bound


class Proportion(NamedTuple):
    """Observed share [1] between its two bounds."""

    lower: float
    estimate: float
    upper: float


class Paired(NamedTuple):
    """Two proportions on the same flights: difference b - a [1], its bounds, McNemar's p-value."""

    lower: float
    estimate: float
    upper: float
    p_value: float


def lower_bound(count: int, trials: int, confidence: float) -> float:
    """One-sided Clopper-Pearson lower bound of a probability [1]."""
    _check_count(count, trials)
    check_share("confidence", confidence)
    if count == 0:
        return 0.0
    return float(special.betaincinv(count, trials - count + 1, 1.0 - confidence))


def upper_bound(count: int, trials: int, confidence: float) -> float:
    """One-sided Clopper-Pearson upper bound of a probability [1]."""
    return 1.0 - lower_bound(trials - count, trials, confidence)


def clopper_pearson(count: int, trials: int, confidence: float = 0.95) -> Proportion:
    """Share with two-sided exact bounds.

    Parameters
    ----------
    count, trials : int
        Events out of trials; no trials gives NaN between 0 and 1.
    confidence : float [1]
        Two-sided, at least this for every true probability.

    Returns
    -------
    Proportion

    Notes
    -----
    Clopper and Pearson (1934): beta quantiles of (k, n - k + 1) and (k + 1, n - k).
    """
    check_share("confidence", confidence)
    if trials == 0:
        return Proportion(0.0, np.nan, 1.0)
    tail = 0.5 * (1.0 + confidence)
    low, high = lower_bound(count, trials, tail), upper_bound(count, trials, tail)
    return Proportion(low, count / trials, high)


def wilson(count: int, trials: int, confidence: float = 0.95) -> Proportion:
    """Share with Wilson's score bounds: narrower than exact, right on average only.

    Notes
    -----
    Wilson (1927). For drawing; claims use `clopper_pearson`.
    """
    _check_count(count, trials)
    z = float(special.ndtri(0.5 * (1.0 + confidence)))
    share = count / trials
    middle = (share + z * z / (2 * trials)) / (1.0 + z * z / trials)
    spread = np.sqrt(share * (1.0 - share) / trials + (z / (2 * trials)) ** 2)
    half = z * float(spread) / (1.0 + z * z / trials)
    # at 0 and 1 the bound is the share itself, which rounding must not push out of range
    low = 0.0 if count == 0 else middle - half
    return Proportion(low, share, 1.0 if count == trials else middle + half)


def runs_needed(success: float, confidence: float, failures: int = 0) -> int:
    """Least number of runs that shows a success probability with `failures` failures among them.

    Notes
    -----
    Least N with P(binomial(N, 1 - success) <= failures) <= 1 - confidence: Hanson and Beard (2010).
    """
    if failures < 0:
        raise ValueError(f"failures is {failures}; it must not be negative")
    return flights_for_bound(success, confidence, failures + 1)


def failures_allowed(runs: int, success: float, confidence: float) -> int:
    """Most failures among `runs` that still show the success probability; -1 if none do."""
    check_share("success", success)
    check_share("confidence", confidence)
    if success**runs > 1.0 - confidence:
        return -1
    low, high = 0, runs
    while high - low > 1:
        middle = (low + high) // 2
        if binomial_at_most(middle, runs, 1.0 - success) <= 1.0 - confidence:
            low = middle
        else:
            high = middle
    return low


def claim_confidence(failures: int, runs: int, success: float) -> float:
    """Confidence [1] with which `failures` in `runs` show at least this success probability."""
    _check_count(failures, runs)
    return 1.0 - binomial_at_most(failures, runs, 1.0 - success)


def mcnemar_exact(only_a: int, only_b: int) -> float:
    """Two-sided exact p-value [1] that two proportions on the same flights are equal.

    Parameters
    ----------
    only_a, only_b : int
        Flights on which one succeeded and the other did not.

    Notes
    -----
    Binomial sign test on the pairs that disagree. McNemar (1947), exact form.
    """
    return min(1.0, 2.0 * binomial_at_most(min(only_a, only_b), only_a + only_b, 0.5))


def paired_difference(only_a: int, only_b: int, pairs: int, confidence: float = 0.95) -> Paired:
    """Difference of two success probabilities on the same flights, b minus a.

    Parameters
    ----------
    only_a, only_b : int
        Flights on which only a, or only b, succeeded.
    pairs : int
        All flights.
    confidence : float [1]

    Returns
    -------
    Paired

    Notes
    -----
    The difference is d (2 h - 1) with d the probability of disagreement and h the share of b among
    the disagreements. Each gets an exact bound at 1 - (1 - confidence) / 2 (Bonferroni), so the
    coverage is at least nominal; the interval is wider than an approximate one would be.
    """
    _check_count(only_a + only_b, pairs)
    if pairs == 0:
        return Paired(-1.0, np.nan, 1.0, 1.0)
    split = 0.5 * (1.0 + confidence)
    disagree = clopper_pearson(only_a + only_b, pairs, split)
    lean = clopper_pearson(only_b, only_a + only_b, split)
    low, high = 2.0 * lean.lower - 1.0, 2.0 * lean.upper - 1.0
    return Paired(
        min(disagree.lower * low, disagree.upper * low),
        (only_b - only_a) / pairs,
        max(disagree.lower * high, disagree.upper * high),
        mcnemar_exact(only_a, only_b),
    )


def _check_count(count: int, trials: int) -> None:
    if not 0 <= count <= trials:
        raise ValueError(f"{count} events in {trials} trials cannot be")
