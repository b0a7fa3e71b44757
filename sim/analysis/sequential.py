"""Bounds that stay true however often one looks and whenever one stops.

A fixed-sample bound fails if one flies on until it pleases. These hold at all sample sizes at once:
with confidence c, no bound of the whole sequence is ever wrong.

The test of "the probability is p0" is the likelihood ratio of a Beta mixture of alternatives
against p0, a martingale under p0; by Ville's inequality it passes 1/alpha with probability alpha at
most. Sources (from memory): J. Ville (1939); H. Robbins, Ann. Math. Statistics 41 (1970) 1397;
S. R. Howard, A. Ramdas, J. McAuliffe, J. Sekhon, Ann. Statistics 49 (2021) 1055; for quantiles
S. R. Howard and A. Ramdas, Bernoulli 28 (2022) 1704.
"""

from __future__ import annotations

import numpy as np
from scipy import special

from sim.analysis.order_statistics import check_share
from sim.analysis.proportions import Proportion

# Weights of the Beta mixture; (1/2, 1/2) is near the best over a wide range of sample sizes.
PRIOR = (0.5, 0.5)


def log_evidence(
    count: int, trials: int, chance: float, prior: tuple[float, float] = PRIOR
) -> float:
    """Logarithm of the one-sided mixture martingale against "the probability is at most `chance`".

    Parameters
    ----------
    count, trials : int
    chance : float [1]
        Strictly between 0 and 1.
    prior : tuple of float
        Beta weights of the alternatives, of which those above `chance` count; fixed beforehand.

    Returns
    -------
    float [1]
        Exceeds ln(1/alpha) at any time with probability alpha at most, if the claim is true.

    Notes
    -----
    Alternatives t > p0 only: each likelihood ratio has a mean of one at p0 and less below it, so
    the mixture is a supermartingale under every probability up to p0.
    """
    a, b = prior
    a_now, b_now = a + count, b + trials - count
    now = special.betaln(a_now, b_now) + _log_above(a_now, b_now, chance)
    before = special.betaln(a, b) + _log_above(a, b, chance)
    likelihood = count * np.log(chance) + (trials - count) * np.log1p(-chance)
    return float(now - before - likelihood)


def sequential_lower_bound(
    count: int, trials: int, confidence: float, prior: tuple[float, float] = PRIOR
) -> float:
    """One-sided lower bound of a probability [1], valid under any stopping rule.

    Parameters
    ----------
    count, trials : int
    confidence : float [1]
        That the bound holds at all sample sizes together.
    prior : tuple of float
        See `log_evidence`.

    Returns
    -------
    float [1]
        The largest probability such that all smaller ones are refuted; 0 if none is.
    """
    check_share("confidence", confidence)
    if not 0 <= count <= trials:
        raise ValueError(f"{count} events in {trials} trials cannot be")
    needed = -np.log1p(-confidence)
    low, high = 0.0, count / trials if trials else 0.0
    if count == trials and trials:
        high = 1.0 - 1e-12
        if log_evidence(count, trials, high, prior) >= needed:
            return high
    for _ in range(60):
        middle = 0.5 * (low + high)
        if middle <= 0.0:
            break
        if log_evidence(count, trials, middle, prior) >= needed:
            low = middle
        else:
            high = middle
    return low


def sequential_proportion(count: int, trials: int, confidence: float = 0.95) -> Proportion:
    """Share with two-sided bounds valid under any stopping rule (half the risk on each side)."""
    check_share("confidence", confidence)
    tail = 0.5 * (1.0 + confidence)
    low = sequential_lower_bound(count, trials, tail)
    high = 1.0 - sequential_lower_bound(trials - count, trials, tail)
    return Proportion(low, count / trials if trials else np.nan, high)


def sequential_upper_rank(size: int, share: float, confidence: float) -> int:
    """Rank of an upper bound of a quantile, valid at all sample sizes together.

    Parameters
    ----------
    size : int
        Of the sample so far.
    share : float [1]
        The quantile asked for.
    confidence : float [1]

    Returns
    -------
    int
        1 to `size`, or `size` + 1 while no order statistic will do.

    Notes
    -----
    X(u) lies below the quantile only if u flights or more do, each with a probability of at most
    `share`; u is the least count that refutes this at the level 1 - confidence. Howard and Ramdas
    (2022), with the Beta mixture of `log_evidence`.
    """
    check_share("share", share)
    check_share("confidence", confidence)
    needed = -np.log1p(-confidence)
    low, high = int(share * size), size + 1
    while high - low > 1:
        middle = (low + high) // 2
        if log_evidence(middle, size, share) >= needed:
            high = middle
        else:
            low = middle
    return high


def sequential_lower_rank(size: int, share: float, confidence: float) -> int:
    """Rank of a lower bound of a quantile, valid at all sample sizes; 0 while none does."""
    return size + 1 - sequential_upper_rank(size, 1.0 - share, confidence)


def _log_above(a: float, b: float, chance: float) -> float:
    """Logarithm of the share of a Beta law above `chance`; -infinity once it underflows."""
    above = float(special.betaincc(a, b, chance))
    return float(np.log(above)) if above > 0.0 else -np.inf
