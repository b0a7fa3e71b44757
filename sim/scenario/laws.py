"""Laws of chance for one number: what it is drawn from.

A law is pure and vectorised: `quantile` turns uniform numbers into draws, so that the ensemble
decides where the uniforms come from. All parameters are in SI units.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

KINDS = (
    "fixed", "normal", "truncated_normal", "half_normal", "uniform", "triangular", "lognormal",
    "chance", "choice", "empirical", "sign",
)  # fmt: skip


@dataclass(frozen=True)
class Law:
    """The law that a number is drawn from.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    parameters : tuple of float
        fixed: value. normal: mean, standard deviation. truncated_normal: mean and standard
        deviation before the cut, low, high. half_normal: standard deviation of the normal law
        that is folded at zero. uniform: low, high. triangular: low, mode, high. lognormal: median,
        standard deviation of the logarithm. chance: probability of 1 (else 0). choice and
        empirical: the values. sign: a magnitude, drawn with either sign.
    weights : tuple of float
        Of the values of a choice, adding up to 1.
    """

    kind: str
    parameters: tuple[float, ...]
    weights: tuple[float, ...] = ()

    @property
    def varies(self) -> bool:
        """Whether two draws can differ."""
        return self.kind != "fixed"

    def quantile(self, u: Array) -> Array:
        """Draws for given uniform numbers; grows with `u`.

        Parameters
        ----------
        u : ndarray
            Uniform numbers inside (0, 1), any shape.

        Returns
        -------
        ndarray
            Of the same shape, SI.
        """
        import numpy as np

        return _QUANTILES[self.kind](self, np.asarray(u, dtype=np.float64))

    def nominal(self) -> float:
        """Value of the nominal flight: what the number is when nothing goes astray.

        The centre of normal and uniform laws, the mode of a triangular one, the median of a
        lognormal or empirical one, the likeliest of a choice, zero (no error, no fault) for
        half_normal and sign and for a chance below one half.
        """
        p = self.parameters
        if self.kind in ("half_normal", "sign"):
            return 0.0
        if self.kind == "uniform":
            return 0.5 * (p[0] + p[1])
        if self.kind == "triangular":
            return p[1]
        if self.kind == "chance":
            return 1.0 if p[0] >= 0.5 else 0.0
        if self.kind == "choice":
            return p[self.weights.index(max(self.weights))]
        if self.kind == "empirical":
            return sorted(p)[(len(p) - 1) // 2]
        if self.kind == "truncated_normal":
            return min(max(p[0], p[2]), p[3])
        return p[0]

    def mean(self) -> float:
        """Return the expectation, SI."""
        return _moments(self)[0]

    def spread(self) -> float:
        """Return the standard deviation, SI."""
        return math.sqrt(max(_moments(self)[1], 0.0))

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Central range that holds a draw with the given probability, SI."""
        import numpy as np

        tail = 0.5 * (1 - level)
        low, high = self.quantile(np.array([tail, 1 - tail]))
        return float(low), float(high)

    def with_spread(self, spread: float) -> Law:
        """Make a law of the same kind whose standard deviation is `spread`, its centre kept.

        The centre is the mean of normal, uniform, triangular and empirical laws, the mean before
        the cut of a truncated normal one, the median of a lognormal one, zero of a half-normal one.
        A fixed number becomes normal; a bounded law of no spread becomes fixed.

        Raises
        ------
        ValueError
            For a chance, a choice and a sign, whose spread cannot be set; for an empirical law
            that has no spread to stretch; for a truncated normal law that cannot be so wide.
        """
        p = self.parameters
        if self.kind in ("fixed", "normal"):
            return Law("normal", (p[0], spread))
        if self.kind == "half_normal":
            return Law(self.kind, (spread / math.sqrt(1 - 2 / math.pi),))
        if self.kind == "lognormal":
            # variance = mean^2 (y - 1) y with y = exp(s^2) for median 1: solve for y
            y = 0.5 * (1 + math.sqrt(1 + 4 * (spread / p[0]) ** 2))
            return Law(self.kind, (p[0], math.sqrt(math.log(y))))
        if self.kind not in ("truncated_normal", "uniform", "triangular", "empirical"):
            raise ValueError(f"a {self.kind} law has no spread to set")
        if spread == 0:
            return Law("fixed", (self.nominal(),))
        if self.kind == "truncated_normal":
            return _widened_truncated_normal(self, spread)
        now, centre = self.spread(), self.mean()
        if now == 0:
            raise ValueError("all its values are the same")
        return Law(self.kind, tuple(centre + (x - centre) * spread / now for x in p))


def _widened_truncated_normal(law: Law, spread: float) -> Law:
    """Find by bisection the standard deviation before the cut that leaves `spread` after it."""
    mean, _, low, high = law.parameters
    least, most = 0.0, 1e3 * (high - low)  # so wide, it is a uniform law but for 1e-7

    def made(before: float) -> Law:
        return Law("truncated_normal", (mean, before, low, high))

    if made(most).spread() < spread:
        raise ValueError(f"a law from {low:g} to {high:g} cannot be so wide")
    for _ in range(60):
        middle = 0.5 * (least + most)
        least, most = (middle, most) if made(middle).spread() < spread else (least, middle)
    return made(most)


def _moments(law: Law) -> tuple[float, float]:
    """Mean and variance."""
    p = law.parameters
    if law.kind == "normal":
        return p[0], p[1] ** 2
    if law.kind == "truncated_normal":
        return _truncated_moments(*p)
    if law.kind == "half_normal":
        return p[0] * math.sqrt(2 / math.pi), p[0] ** 2 * (1 - 2 / math.pi)
    if law.kind == "uniform":
        return 0.5 * (p[0] + p[1]), (p[1] - p[0]) ** 2 / 12
    if law.kind == "triangular":
        a, c, b = p
        return (a + b + c) / 3, (a * a + b * b + c * c - a * b - a * c - b * c) / 18
    if law.kind == "lognormal":
        y = math.exp(p[1] ** 2)
        return p[0] * math.sqrt(y), p[0] ** 2 * (y - 1) * y
    if law.kind == "chance":
        return p[0], p[0] * (1 - p[0])
    if law.kind == "sign":
        return 0.0, p[0] ** 2
    weights = law.weights or (1 / len(p),) * len(p)
    mean = sum(w * x for w, x in zip(weights, p, strict=True))
    return mean, sum(w * (x - mean) ** 2 for w, x in zip(weights, p, strict=True))


def _truncated_moments(mean: float, spread: float, low: float, high: float) -> tuple[float, float]:
    """Textbook moments of a normal law cut at both ends."""

    def density(x: float) -> float:
        return math.exp(-0.5 * x * x) / math.sqrt(2 * math.pi)

    def below(x: float) -> float:
        return 0.5 * math.erfc(-x / math.sqrt(2))

    a, b = (low - mean) / spread, (high - mean) / spread
    # above the mean work with the mirrored law, whose small tail is computed without cancelling
    mass = below(b) - below(a) if a < 0 else below(-a) - below(-b)
    first = (density(a) - density(b)) / mass
    second = (a * density(a) - b * density(b)) / mass
    return mean + spread * first, spread**2 * (1 + second - first**2)


def _normal(law: Law, u: Array) -> Array:
    return _floats(law.parameters[0] + law.parameters[1] * _ndtri(u))


def _ndtri(u: Array) -> Any:
    from scipy.special import ndtri  # late: loading a scenario must not wait for scipy

    return ndtri(u)


def _truncated_normal(law: Law, u: Array) -> Array:
    import numpy as np
    from scipy.special import ndtr

    mean, spread, low, high = law.parameters
    a, b = (low - mean) / spread, (high - mean) / spread
    if a > 0:  # the upper tail: mirrored, where probabilities are not rounded to 1
        z = -_ndtri(ndtr(-a) + u * (ndtr(-b) - ndtr(-a)))
    else:
        z = _ndtri(ndtr(a) + u * (ndtr(b) - ndtr(a)))
    return _floats(np.clip(mean + spread * z, low, high))


def _half_normal(law: Law, u: Array) -> Array:
    return _floats(-law.parameters[0] * _ndtri(0.5 * (1 - u)))


def _floats(x: Any) -> Array:
    """Tell the type checker, and make sure, that these are floats."""
    import numpy as np

    return np.asarray(x, dtype=np.float64)


def _uniform(law: Law, u: Array) -> Array:
    low, high = law.parameters
    return low + (high - low) * u


def _triangular(law: Law, u: Array) -> Array:
    import numpy as np

    low, mode, high = law.parameters
    width = high - low
    rising = low + np.sqrt(u * width * (mode - low))
    falling = high - np.sqrt((1 - u) * width * (high - mode))
    return np.where(u * width < mode - low, rising, falling)


def _lognormal(law: Law, u: Array) -> Array:
    import numpy as np

    median, spread = law.parameters
    return _floats(median * np.exp(spread * _ndtri(u)))


def _chance(law: Law, u: Array) -> Array:
    return _floats(u > 1 - law.parameters[0])


def _fixed(law: Law, u: Array) -> Array:
    import numpy as np

    return np.full(u.shape, law.parameters[0])


def _listed(law: Law, u: Array) -> Array:
    """One of the listed values: the smallest whose cumulative weight reaches `u`."""
    import numpy as np

    values = np.asarray(law.parameters)
    weights = np.asarray(law.weights or (1 / len(values),) * len(values))
    order = np.argsort(values, kind="stable")
    edges = np.cumsum(weights[order])[:-1]
    return values[order][np.searchsorted(edges, u, side="left")]


def _sign(law: Law, u: Array) -> Array:
    import numpy as np

    return np.where(u < 0.5, -law.parameters[0], law.parameters[0])


_QUANTILES: dict[str, Callable[[Law, Array], Array]] = {
    "fixed": _fixed,
    "normal": _normal,
    "truncated_normal": _truncated_normal,
    "half_normal": _half_normal,
    "uniform": _uniform,
    "triangular": _triangular,
    "lognormal": _lognormal,
    "chance": _chance,
    "choice": _listed,
    "empirical": _listed,
    "sign": _sign,
}
