"""Plane normal law: radii, ellipses, and whether a sample looks normal at all.

Sources: Rayleigh and Rice laws (any probability text); F. E. Grubbs, Operations Research 12 (1964)
51; H. Hotelling, Ann. Math. Statistics 2 (1931) 360; K. V. Mardia, Biometrika 57 (1970) 519 and
Sankhya B 36 (1974) 115 (from memory).
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]
HALVINGS = 46  # of a bracket of some metres: to 1e-13 m


class Ellipse(NamedTuple):
    """One-sigma ellipse of a covariance: semi-axes, and azimuth of the major axis from y to x."""

    major: float
    minor: float
    azimuth: float


class Moments(NamedTuple):
    """Sample size, mean (2,) and covariance (2, 2) about that mean (n - 1)."""

    size: int
    mean: Floats
    covariance: Floats


def moments(x: Floats, y: Floats) -> Moments:
    """Mean and covariance of a plane sample; NaN where it is too small to have them."""
    size = len(x)
    if size == 0:
        return Moments(0, np.full(2, np.nan), np.full((2, 2), np.nan))
    mean = np.array([x.mean(), y.mean()])
    if size == 1:
        return Moments(1, mean, np.full((2, 2), np.nan))
    dx, dy = x - mean[0], y - mean[1]
    cross = dx @ dy
    return Moments(size, mean, np.array([[dx @ dx, cross], [cross, dy @ dy]]) / (size - 1))


def ellipse(covariance: Floats) -> Ellipse:
    """One-sigma ellipse of a covariance matrix.

    Parameters
    ----------
    covariance : ndarray (2, 2)
        Of (east, north).

    Returns
    -------
    Ellipse
        Azimuth [rad] of the major axis east of north, in [0, pi).
    """
    if not np.all(np.isfinite(covariance)):
        return Ellipse(np.nan, np.nan, np.nan)
    values, vectors = np.linalg.eigh(covariance)
    minor, major = np.sqrt(np.clip(values, 0.0, None))
    azimuth = float(np.arctan2(vectors[0, 1], vectors[1, 1])) % np.pi
    return Ellipse(float(major), float(minor), 0.0 if azimuth >= np.pi else azimuth)


def rayleigh_radius(share: float) -> float:
    """Radius over sigma that holds `share` of a circular normal law; also the ellipse's scale.

    Notes
    -----
    sqrt(-2 ln(1 - p)), which is the root of the chi-square quantile with 2 degrees of freedom.
    """
    return float(np.sqrt(-2.0 * np.log1p(-share)))


def mean_ellipse_scale(size: int, confidence: float) -> float:
    """Scale of the sample's one-sigma ellipse that holds the true mean with `confidence`.

    Notes
    -----
    Hotelling (1931): sqrt(2 (n-1) / (n (n-2)) F(c; 2, n-2)); exact for a normal law, and nearly so
    for any law of finite variance once n is large.
    """
    if size < 3:
        return np.inf
    factor = 2.0 * (size - 1) / (size * (size - 2.0))
    return float(np.sqrt(factor * special.fdtri(2, size - 2, confidence)))


def prediction_ellipse_scale(size: int, share: float) -> float:
    """Scale of the sample's one-sigma ellipse that holds the next flight with probability `share`.

    Notes
    -----
    sqrt(2 (n-1) (n+1) / (n (n-2)) F(p; 2, n-2)), normal law. Hotelling (1931).
    """
    return float(np.sqrt(size + 1.0)) * mean_ellipse_scale(size, share)


def mean_half_width(size: int, spread: float, confidence: float) -> float:
    """Half width of Student's interval for a mean; infinity for fewer than two values."""
    if size < 2:
        return np.inf
    quantile = special.stdtrit(size - 1, 0.5 * (1.0 + confidence))
    return float(quantile) * spread / float(np.sqrt(size))


def share_within(radius: float, major: float, minor: float, bias: tuple[float, float]) -> float:
    """Probability [1] that a plane normal point falls within `radius` of the mark.

    Parameters
    ----------
    radius, major, minor : float [m]
        Standard deviations along the ellipse's axes; both positive.
    bias : tuple of float [m]
        Of the mean from the mark, along the same axes.

    Notes
    -----
    Quadrature over the direction along the major axis; 200 Gauss-Legendre nodes after the
    substitution x = radius sin(t), which takes away the root singularity at the rim.
    """
    nodes, weights = _nodes()
    angle = 0.5 * np.pi * nodes
    x = radius * np.sin(angle)
    half = radius * np.cos(angle)
    density = np.exp(-0.5 * ((x - bias[0]) / major) ** 2) / (major * np.sqrt(2.0 * np.pi))
    strip = special.ndtr((half - bias[1]) / minor) - special.ndtr((-half - bias[1]) / minor)
    return float(0.5 * np.pi * np.sum(weights * density * strip * half))


@cache
def _nodes() -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(200)
    return nodes, weights


def normal_radius(
    share: float, major: float, minor: float, bias: tuple[float, float] = (0.0, 0.0)
) -> float:
    """Radius about the mark that holds `share` of a plane normal law.

    Parameters
    ----------
    share : float [1]
        0.5 gives the circular error probable.
    major, minor : float [m]
        Standard deviations along the ellipse's axes, positive; from 1 to about 1e-3 of each other.
    bias : tuple of float [m]
        Of the mean, along the same axes.

    Returns
    -------
    float [m]
    """
    low, high = 0.0, float(np.hypot(*bias)) + 9.0 * max(major, minor)
    # halving takes three thousandths of a second; to load a library that needs fewer steps, 0.2 s
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if share_within(middle, major, minor, bias) < share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def grubbs_cep(major: float, minor: float, bias: float = 0.0, azimuth: float = 0.0) -> float:
    """Circular error probable by Grubbs' chi-square match with the Wilson-Hilferty cube.

    Parameters
    ----------
    major, minor, bias : float [m]
    azimuth : float [rad]
        Between the bias and the major axis.

    Notes
    -----
    sqrt(m (1 - v / (9 m^2))^3), m = sx^2 + sy^2 + b^2, v = 2 (sx^4 + sy^4) + 4 (sx bx)^2 + ... .
    Grubbs (1964). Within about 3 % of the exact value.
    """
    along, across = bias * np.cos(azimuth), bias * np.sin(azimuth)
    mean = major**2 + minor**2 + bias**2
    variance = 2.0 * (major**4 + minor**4)
    variance += 4.0 * ((major * along) ** 2 + (minor * across) ** 2)
    return float(np.sqrt(mean * (1.0 - variance / (9.0 * mean**2)) ** 3))


def mardia_p_value(x: Floats, y: Floats) -> float:
    """Probability [1] of so much skewness or kurtosis, or more, if the plane law were normal.

    Parameters
    ----------
    x, y : ndarray (n,)

    Returns
    -------
    float [1]
        Twice the smaller of the two p-values (Bonferroni), at most 1; NaN for fewer than 20 points
        or points on a line.

    Notes
    -----
    Mardia (1970), with the small-sample mean and variance of 1974. In the plane the skewness is
    m30^2 + 3 m21^2 + 3 m12^2 + m03^2 of the standardised sample, so no double loop is needed.
    """
    size, mean, covariance = moments(x, y)
    if size < 20:
        return np.nan
    biased = covariance * (size - 1) / size
    values, vectors = np.linalg.eigh(biased)
    if values[0] <= 1e-12 * values[1]:
        return np.nan
    u, v = (vectors / np.sqrt(values)).T @ np.array([x - mean[0], y - mean[1]])
    uu, vv = u * u, v * v
    skewness = (uu @ u / size) ** 2 + (vv @ v / size) ** 2
    skewness += 3.0 * ((uu @ v / size) ** 2 + (vv @ u / size) ** 2)
    radii = uu + vv
    kurtosis = radii @ radii / size
    n = float(size)
    correction = 3.0 * (n + 1.0) * (n + 3.0) / (n * (3.0 * (n + 1.0) - 6.0))
    p_skewness = float(special.chdtrc(4, n * correction * skewness / 6.0))
    expected = 8.0 * (n - 1.0) / (n + 1.0)
    variance = 64.0 * (n - 3.0) * (n - 3.0) * (n - 1.0) / ((n + 1.0) ** 2 * (n + 3.0) * (n + 5.0))
    p_kurtosis = 2.0 * float(special.ndtr(-abs(kurtosis - expected) / np.sqrt(variance)))
    return min(1.0, 2.0 * min(p_skewness, p_kurtosis))


def share_within_ellipse(x: Floats, y: Floats, known: Moments, scale: float) -> float:
    """Share [1] of a sample inside an ellipse about its mean, `scale` times one sigma."""
    if not np.all(np.isfinite(known.covariance)) or np.linalg.det(known.covariance) <= 0.0:
        return np.nan
    inverse = np.linalg.inv(known.covariance)
    dx, dy = x - known.mean[0], y - known.mean[1]
    squared = inverse[0, 0] * dx * dx + 2.0 * inverse[0, 1] * dx * dy + inverse[1, 1] * dy * dy
    return float(np.mean(squared <= scale * scale))
