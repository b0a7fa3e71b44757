"""Normal tolerance factors: mean plus k standard deviations that hold a share of a normal law.

They ask for far fewer flights than order statistics, and are wrong as soon as the law is not
normal: test that first and say so.

Sources: ISO 16269-6:2014; R. E. Odeh and D. B. Owen, Tables for Normal Tolerance Limits (1980).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import special

from sim.analysis.order_statistics import check_share

Floats = NDArray[np.float64]


def one_sided_factor(size: int, share: float, confidence: float) -> float:
    """Exact k of "mean + k s is above `share` of the law with `confidence`".

    Parameters
    ----------
    size : int
        Of the sample, 2 or more.
    share, confidence : float [1]

    Notes
    -----
    Quantile of the noncentral t law: nctinv(c; n - 1, sqrt(n) z_p) / sqrt(n). ISO 16269-6.
    """
    _check(size, share, confidence)
    root = float(np.sqrt(size))
    quantile = special.nctdtrit(size - 1, root * special.ndtri(share), confidence)
    return float(quantile) / root


def two_sided_factor(size: int, share: float, confidence: float) -> float:
    """Exact k of "mean +/- k s holds `share` of the law with `confidence`".

    Parameters
    ----------
    size : int
        Of the sample, 2 or more.
    share, confidence : float [1]

    Notes
    -----
    Integrated over the sample mean: for a mean off by x the half width r that holds the share
    solves Phi(x + r) - Phi(x - r) = p, and k s must exceed it. Odeh and Owen (1980).
    """
    from scipy.optimize import brentq

    _check(size, share, confidence)
    nodes, weights = _nodes()
    off = nodes / np.sqrt(size)
    half = _half_width(off, share)
    weights = weights * np.exp(-0.5 * nodes**2) / np.sqrt(2.0 * np.pi)

    def missing(k: float) -> float:
        wide_enough = special.chdtrc(size - 1, (size - 1) * (half / k) ** 2)
        return float(weights @ wide_enough) - confidence

    high = 1.0
    while missing(high) < 0.0:
        high *= 2.0
    return float(brentq(missing, 0.1, high, xtol=1e-12))


def _half_width(off: Floats, share: float) -> Floats:
    """Half width about a point off the mean that holds the share, by bisection for all at once."""
    low = np.zeros_like(off)
    high = np.abs(off) + float(special.ndtri(0.5 * (1.0 + share))) + 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        short = special.ndtr(off + middle) - special.ndtr(off - middle) < share
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return 0.5 * (low + high)


@cache
def _nodes() -> tuple[Floats, Floats]:
    """Gauss-Legendre nodes and weights over nine standard deviations either side."""
    nodes, weights = np.polynomial.legendre.leggauss(200)
    return 9.0 * nodes, 9.0 * weights


def _check(size: int, share: float, confidence: float) -> None:
    check_share("share", share)
    check_share("confidence", confidence)
    if size < 2:
        raise ValueError(f"a tolerance factor needs two values or more, not {size}")
