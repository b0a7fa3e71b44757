"""Sobol' indices from outcomes already flown, with intervals.

Sources: I. M. Sobol', Mathematics and Computers in Simulation 55 (2001) 271; A. Saltelli et al.,
Computer Physics Communications 181 (2010) 259 (first order); M. J. W. Jansen, Computer Physics
Communications 117 (1999) 35 (total).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.analysis.order_statistics import check_share
from sim.analysis.radial import mean_half_width
from sim.errors import UserMistake

Floats = NDArray[np.float64]


class Indices(NamedTuple):
    """First-order and total indices, each (sources, 3): lower bound, estimate, upper bound.

    `variance` is that of the outcome; index times variance is a part of it in its unit squared.
    """

    first: Floats
    total: Floats
    variance: float


def sobol_estimates(a: Floats, b: Floats, mixed: Floats) -> tuple[Floats, Floats, float]:
    """First-order indices, total indices and variance, without intervals.

    Parameters
    ----------
    a, b : ndarray (n,)
        Outcome at two independent sets of draws A and B.
    mixed : ndarray (sources, n)
        Outcome at A with one source's draws from B.

    Returns
    -------
    first, total : ndarray (sources,)
    variance : float

    Raises
    ------
    UserMistake
        If a value is not finite (a single NaN would spoil every index), or nothing varies.

    Notes
    -----
    S_i = E[f_B (f_ABi - f_A)] / V, Saltelli (2010);
    T_i = E[(f_A - f_ABi)^2] / (2 V), Jansen (1999).
    The mean is taken off first, which leaves the law and lowers the scatter.
    """
    _check(a, b, mixed)
    mean = 0.5 * (a.mean() + b.mean())
    a, b, mixed = a - mean, b - mean, mixed - mean
    return _from_centred(a, b, mixed)


def sobol_indices(
    a: Floats,
    b: Floats,
    mixed: Floats,
    *,
    confidence: float = 0.95,
    resamples: int = 500,
    seed: int = 0,
) -> Indices:
    """Sobol' indices with bootstrap intervals, each by itself.

    Parameters
    ----------
    a, b, mixed : ndarray
        See `sobol_estimates`.
    confidence : float [1]
    resamples : int
    seed : int
        Of the resampling.

    Returns
    -------
    Indices

    Raises
    ------
    UserMistake
        As `sobol_estimates`.

    Notes
    -----
    Rows (one A, one B, its mixtures) are resampled together; intervals are percentile intervals.
    They are for independent rows: under Sobol' or Latin hypercube draws use `sobol_replicates`.
    """
    check_share("confidence", confidence)
    first, total, variance = sobol_estimates(a, b, mixed)
    mean = 0.5 * (a.mean() + b.mean())
    a, b, mixed = a - mean, b - mean, mixed - mean
    random = np.random.default_rng(seed)
    size = len(a)
    # every estimate is a ratio of means over rows, so a resample is a vector of row counts
    products = np.vstack([b * (mixed - a), 0.5 * (a - mixed) ** 2, a, b, a * a, b * b])
    sources = len(mixed)
    firsts, totals = np.empty((resamples, sources)), np.empty((resamples, sources))
    for row in range(resamples):
        counts = np.bincount(random.integers(0, size, size), minlength=size)
        means = products @ counts / size
        centre = 0.5 * (means[-4] + means[-3])
        spread = 0.5 * (means[-2] + means[-1]) - centre**2
        # f_B is centred on the resample's own mean, as the estimate is on the sample's
        shift = centre * (mixed @ counts / size - means[-4])
        firsts[row] = (means[:sources] - shift) / spread
        totals[row] = means[sources : 2 * sources] / spread
    tail = 0.5 * (1.0 - confidence)
    ends = [tail, 1.0 - tail]
    return Indices(_rows(firsts, first, ends), _rows(totals, total, ends), variance)


def sobol_replicates(a: Floats, b: Floats, mixed: Floats, *, confidence: float = 0.95) -> Indices:
    """Sobol' indices from independent randomised replicates of a designed draw.

    Parameters
    ----------
    a, b : ndarray (replicates, n)
        Each replicate scrambled or permuted by itself.
    mixed : ndarray (replicates, sources, n)
    confidence : float [1]

    Returns
    -------
    Indices
        Mean over replicates, Student's interval from their scatter: honest for Sobol' and Latin
        hypercube draws, whose rows are not independent.
    """
    check_share("confidence", confidence)
    if len(a) < 2:
        raise UserMistake("an interval needs two replicates of the draws or more")
    each = [sobol_estimates(*replicate) for replicate in zip(a, b, mixed, strict=True)]
    firsts = np.array([first for first, _, _ in each])
    totals = np.array([total for _, total, _ in each])
    variance = float(np.mean([variance for _, _, variance in each]))
    return Indices(_student(firsts, confidence), _student(totals, confidence), variance)


def _from_centred(a: Floats, b: Floats, mixed: Floats) -> tuple[Floats, Floats, float]:
    variance = float(np.concatenate([a, b]).var())
    if variance == 0.0:
        raise UserMistake("the outcome does not vary, so there is nothing to share out")
    first = (b * (mixed - a)).mean(axis=-1) / variance
    total = 0.5 * ((a - mixed) ** 2).mean(axis=-1) / variance
    return first, total, variance


def _check(a: Floats, b: Floats, mixed: Floats) -> None:
    if a.ndim != 1 or a.shape != b.shape or mixed.ndim != 2 or mixed.shape[1] != len(a):
        raise ValueError(f"shapes {a.shape}, {b.shape}, {mixed.shape} are not (n,), (n,), (d, n)")
    if len(a) < 2:
        raise UserMistake("Sobol' indices need two flights or more of each set")
    bad = sum(int(np.count_nonzero(~np.isfinite(part))) for part in (a, b, mixed))
    if bad:
        raise UserMistake(
            f"{bad} of {a.size + b.size + mixed.size} outcomes are not finite (flights that failed "
            "or never came down); Sobol' indices need a value for each: use success, or a bounded "
            "outcome"
        )


def _rows(samples: Floats, estimate: Floats, ends: list[float]) -> Floats:
    low, high = np.quantile(samples, ends, axis=0)
    return np.stack([low, estimate, high], axis=1)


def _student(samples: Floats, confidence: float) -> Floats:
    mean, spread = samples.mean(axis=0), samples.std(axis=0, ddof=1)
    half = np.array([mean_half_width(len(samples), float(s), confidence) for s in spread])
    return np.stack([mean - half, mean, mean + half], axis=1)
