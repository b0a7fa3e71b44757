"""An ensemble seen with today's readings: flights weighted by how well they fit what was measured.

Each flight has drawn some inputs that can be measured on the field. Once they are, the law drawn
from is replaced by a normal law about the reading: flights are weighted by the ratio of densities
(importance weights, self-normalised). The page of a report does the same arithmetic by itself; this
is its twin.

Sources: A. Owen, Monte Carlo theory, methods and examples (2013), chapter 9 (from memory) for the
weights; L. Kish, Survey Sampling (1965), for the effective sample size (from memory); E. B. Wilson,
J. American Statistical Association 22 (1927) 209, for the interval.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from sim.analysis.order_statistics import check_share

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

IGNITION_SHARES = (0.05, 0.5, 0.95)
TINY = 1e-9  # density at the ends of a triangle, over the one at its top
KINDS = ("normal", "truncated_normal", "half_normal", "uniform", "triangular", "lognormal")
"""Laws whose density is known in closed form."""

SCORED = ("normal", "lognormal")
"""Laws whose normal score is known in closed form: correlated inputs must be of these."""

FROM_ZERO = ("half_normal", "lognormal")
"""Laws that end at zero by nature, so that a reading may reach across it."""

LEAST_EFFECTIVE = 100.0
REACH = 2.0
"""Standard deviations about a reading that must lie within what was simulated."""


class Refused(ValueError):
    """The ensemble cannot say; `reason` is outside, reach or thin, `name` the input, if one."""

    def __init__(self, reason: str, name: str, effective: float = math.nan) -> None:
        super().__init__(f"{reason} {name}".strip())
        self.reason, self.name, self.effective = reason, name, effective


@dataclass(frozen=True)
class Drawn:
    """One input as it was drawn.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    parameters : tuple of float [SI]
        As in `sim.scenario.laws.Law`.
    values : ndarray (flights,) [SI]
    """

    kind: str
    parameters: tuple[float, ...]
    values: Floats


@dataclass(frozen=True)
class Reading:
    """What was measured: value and standard deviation of the measurement [SI]."""

    value: float
    spread: float


@dataclass(frozen=True)
class Seen:
    """What the weighted flights say.

    Attributes
    ----------
    effective : float
        Effective sample size (Kish).
    success : tuple of float [1]
        Lower, estimate, upper.
    inside : float [1]
        Share that ends with all feet inside the landing pad.
    radius_95, speed_50, speed_95 : tuple of float [m], [m/s]
        Lower, estimate, upper percentile of all flights; infinite where there is none.
    ignition : tuple of tuple of float [m]
        The same for the percentiles `IGNITION_SHARES` of the height at which the landing motor
        lights; empty if that was not given.
    """

    effective: float
    success: tuple[float, float, float]
    inside: float
    radius_95: tuple[float, float, float]
    speed_50: tuple[float, float, float]
    speed_95: tuple[float, float, float]
    ignition: tuple[tuple[float, float, float], ...] = ()


def log_density(drawn: Drawn) -> Floats:
    """Logarithm of the density drawn from at each flight's value, but for a constant."""
    x, p = drawn.values, drawn.parameters
    if drawn.kind in ("normal", "truncated_normal"):
        return -0.5 * ((x - p[0]) / p[1]) ** 2
    if drawn.kind == "half_normal":
        return -0.5 * (x / p[0]) ** 2
    if drawn.kind == "lognormal":
        return -0.5 * (np.log(x / p[0]) / p[1]) ** 2 - np.log(x)
    if drawn.kind == "uniform":
        return np.zeros_like(x)
    if drawn.kind == "triangular":
        low, mode, high = p
        rising = (x - low) / max(mode - low, TINY)
        falling = (high - x) / max(high - mode, TINY)
        return np.log(np.maximum(np.minimum(rising, falling), TINY))
    raise ValueError(f"a {drawn.kind} law has no density in closed form")


def scores(drawn: Drawn) -> Floats:
    """Normal score of each flight's value."""
    x, p = drawn.values, drawn.parameters
    if drawn.kind == "normal":
        return (x - p[0]) / p[1]
    if drawn.kind == "lognormal":
        return np.asarray(np.log(x / p[0]) / p[1])
    raise ValueError(f"a {drawn.kind} law has no normal score in closed form")


def check(name: str, drawn: Drawn, reading: Reading) -> None:
    """Refuse a reading that lies, or with its uncertainty reaches, outside what was simulated.

    Raises
    ------
    Refused
    ValueError
        A reading that is no number, or a spread that is not above zero.
    """
    if not (math.isfinite(reading.value) and math.isfinite(reading.spread)):
        raise ValueError(f"{name}: a reading must be a number")
    if reading.spread <= 0.0:
        raise ValueError(f"{name}: the uncertainty of a reading must be above zero")
    low, high = float(drawn.values.min()), float(drawn.values.max())
    natural = drawn.kind in FROM_ZERO
    if not (0.0 if natural else low) <= reading.value <= high:
        raise Refused("outside", name)
    below = reading.value - REACH * reading.spread < low and not natural
    if below or reading.value + REACH * reading.spread > high:
        raise Refused("reach", name)


def weights(
    drawn: Mapping[str, Drawn], readings: Mapping[str, Reading],
    correlation: Mapping[tuple[str, str], float],
) -> Floats:  # fmt: skip
    """Weight of each flight, the largest 1.

    Parameters
    ----------
    drawn : mapping of str to Drawn
        Everything that can be read.
    readings : mapping of str to Reading
        What was; at least one.
    correlation : mapping of two names to float [1]
        Of the normal scores of inputs that were drawn together; each pair once, in either order.

    Returns
    -------
    ndarray (flights,)

    Notes
    -----
    Density of today's law over that drawn from. Inputs drawn together by a Gaussian copula with
    correlation R have the density prod(p_i) exp(-z'(R^-1 - I) z / 2) / sqrt(det R).
    """
    names = list(readings)
    total = np.zeros_like(next(iter(drawn.values())).values)
    for name in names:
        reading = readings[name]
        check(name, drawn[name], reading)
        total += -0.5 * ((drawn[name].values - reading.value) / reading.spread) ** 2
        total -= log_density(drawn[name])
    tied = [n for n in names if any(n in pair and set(pair) <= set(names) for pair in correlation)]
    if tied:
        matrix = np.eye(len(tied))
        for i, one in enumerate(tied):
            for j, other in enumerate(tied):
                if i != j:
                    matrix[i, j] = correlation.get((one, other), correlation.get((other, one), 0.0))
        excess = np.linalg.inv(matrix) - np.eye(len(tied))
        z = np.stack([scores(drawn[name]) for name in tied])
        total += 0.5 * np.einsum("in,ij,jn->n", z, excess, z)
    return np.asarray(np.exp(total - total.max()))


def effective_size(weight: Floats) -> float:
    """Effective sample size after Kish: (sum w)^2 / sum w^2."""
    return float(weight.sum() ** 2 / (weight**2).sum())


def wilson_share(share: float, size: float, confidence: float = 0.95) -> tuple[float, float]:
    """Wilson's bounds of a share [1] seen in so many flights, which need not be a whole number."""
    check_share("confidence", confidence)
    z = float(special.ndtri(0.5 * (1.0 + confidence)))
    middle = (share + z * z / (2.0 * size)) / (1.0 + z * z / size)
    half = z * math.sqrt(share * (1.0 - share) / size + z * z / (4.0 * size * size))
    half /= 1.0 + z * z / size
    return max(middle - half, 0.0), min(middle + half, 1.0)


def weighted_quantile(values: Floats, weight: Floats, share: float) -> float:
    """Least value that at least a share of the weight does not exceed."""
    order = np.argsort(values, kind="stable")
    below = np.cumsum(weight[order])
    place = int(np.searchsorted(below, share * below[-1] * (1.0 - 1e-12)))
    return float(values[order][min(place, len(values) - 1)])


def see(
    weight: Floats, success: Mask, inside: Mask, miss: Floats, speed: Floats,
    confidence: float = 0.95, ignition: Floats | None = None,
) -> Seen:  # fmt: skip
    """Statistics of weighted flights.

    Parameters
    ----------
    weight : ndarray (flights,)
    success, inside : ndarray of bool (flights,)
    miss, speed : ndarray (flights,) [m], [m/s]
        Infinite for a flight that did not come down.
    confidence : float [1]
    ignition : ndarray (flights,) [m], optional
        Height at which the landing motor lights; 0 for a flight on which it never does.

    Returns
    -------
    Seen

    Raises
    ------
    Refused
        The effective sample size is below `LEAST_EFFECTIVE`.
    """
    effective = effective_size(weight)
    if effective < LEAST_EFFECTIVE:
        raise Refused("thin", "", effective)
    total = float(weight.sum())
    share = float(weight[success].sum()) / total
    low, high = wilson_share(share, effective, confidence)
    return Seen(
        effective, (low, share, high), float(weight[inside].sum()) / total,
        _percentile(miss, weight, 0.95, effective, confidence),
        _percentile(speed, weight, 0.5, effective, confidence),
        _percentile(speed, weight, 0.95, effective, confidence),
        () if ignition is None else tuple(
            _percentile(ignition, weight, p, effective, confidence) for p in IGNITION_SHARES
        ),
    )  # fmt: skip


def _percentile(
    values: Floats, weight: Floats, share: float, effective: float, confidence: float
) -> tuple[float, float, float]:
    """Percentile, between those of Wilson's bounds of its own share."""
    low, high = wilson_share(share, effective, confidence)
    found: Sequence[float] = [weighted_quantile(values, weight, p) for p in (low, share, high)]
    return found[0], found[1], found[2]


def reweight(
    drawn: Mapping[str, Drawn], readings: Mapping[str, Reading],
    correlation: Mapping[tuple[str, str], float], *, success: Mask, inside: Mask, miss: Floats,
    speed: Floats, confidence: float = 0.95, ignition: Floats | None = None,
) -> Seen:  # fmt: skip
    """Weigh the flights by the readings and say what they show.

    Parameters
    ----------
    drawn, readings, correlation
        As of `weights`; no readings leave all flights equal.
    success, inside, miss, speed, confidence, ignition
        As of `see`.

    Raises
    ------
    Refused
        A reading is outside what was simulated, or too few flights fit the readings.
    """
    weight = weights(drawn, readings, correlation) if readings else np.ones(len(success))
    return see(weight, success, inside, miss, speed, confidence, ignition)
