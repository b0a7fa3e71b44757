"""How the polynomial coefficients in sim/lanes were made: minimax fits in extended precision.

    python tests/lanes/minimax.py

prints them all. Each entry of FITS is one polynomial p in z, fitted so that the largest
weight(z) * |p(z) - wanted(z)| over the range is as small as it can be; the weight turns the error
of p into the relative error of the function it serves. Needs a longdouble wider than double.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

Array = np.ndarray
LONG = np.longdouble
PI = LONG("3.14159265358979323846264338327950288")


class Fit(NamedTuple):
    """One polynomial: what it approximates, where, and how many coefficients it gets."""

    wanted: Callable[[Array], Array]
    weight: Callable[[Array], Array]
    low: LONG
    high: LONG
    terms: int


def series(ratio: Callable[[int], LONG], first: LONG) -> Callable[[Array], Array]:
    """Power series whose coefficient k + 1 is ratio(k) times coefficient k."""

    def total(z: Array) -> Array:
        term, result = np.full_like(z, first), np.full_like(z, first)
        for k in range(60):
            term = term * z * ratio(k)
            result = result + term
        return result

    return total


def one(z: Array) -> Array:
    """Weigh all errors alike."""
    return np.ones_like(z)


EIGHTH = (PI / 4) ** 2  # largest r**2 after the reduction to the nearest quarter turn
LOG_HIGH = ((np.sqrt(LONG(2)) - 1) / (np.sqrt(LONG(2)) + 1)) ** 2
ATAN_HIGH = np.tan(PI / 16) ** 2
EXP_HIGH = np.log(LONG(2)) / 2 * LONG("1.0000001")

FITS = {
    # (e**r - 1 - r) / r**2
    "EXP": Fit(
        series(lambda k: 1 / LONG(k + 3), LONG(1) / 2), lambda r: r * r, -EXP_HIGH, EXP_HIGH, 10
    ),
    # (sin r - r) / r**3 and (cos r - 1 + r**2 / 2) / r**4, in r**2
    "SIN": Fit(
        series(lambda k: -1 / LONG((2 * k + 4) * (2 * k + 5)), -LONG(1) / 6),
        lambda z: z, LONG(0), EIGHTH, 6,
    ),
    "COS": Fit(
        series(lambda k: -1 / LONG((2 * k + 5) * (2 * k + 6)), LONG(1) / 24),
        lambda z: z * z, LONG(0), EIGHTH, 6,
    ),
    # (2 artanh(s) - 2 s) / s**3, in s**2
    "LOG": Fit(
        series(lambda k: LONG(2 * k + 3) / LONG(2 * k + 5), LONG(2) / 3),
        lambda z: z, LONG(0), LOG_HIGH, 7,
    ),
    # (arctan t - t) / t**3, in t**2
    "ATAN": Fit(
        series(lambda k: -LONG(2 * k + 3) / LONG(2 * k + 5), -LONG(1) / 3),
        lambda z: z, LONG(0), ATAN_HIGH, 7,
    ),
    # for random numbers, about ten digits: the same logarithm, sin and cos of (pi/2) t in t**2
    "QUICK_LOG": Fit(
        series(lambda k: LONG(2 * k + 3) / LONG(2 * k + 5), LONG(2) / 3),
        lambda z: z, LONG(0), LOG_HIGH, 4,
    ),
    "QUICK_SIN": Fit(
        series(lambda k: -(PI**2 / 4) / LONG((2 * k + 2) * (2 * k + 3)), PI / 2),
        one, LONG(0), LONG(1) / 4, 5,
    ),
    "QUICK_COS": Fit(
        series(lambda k: -(PI**2 / 4) / LONG((2 * k + 1) * (2 * k + 2)), LONG(1)),
        one, LONG(0), LONG(1) / 4, 5,
    ),
}  # fmt: skip


def solve(matrix: Array, right: Array) -> Array:
    """Gauss with pivoting: numpy's own solver knows no extended precision."""
    a = np.column_stack([matrix, right]).astype(LONG)
    n = len(a)
    for i in range(n):
        pivot = i + int(np.argmax(np.abs(a[i:, i])))
        a[[i, pivot]] = a[[pivot, i]]
        for j in range(n):
            if j != i:
                a[j] -= a[i] * (a[j, i] / a[i, i])
    return a[:, n] / np.diag(a)


def minimax(fit: Fit) -> tuple[Array, float]:
    """Coefficients, lowest power first, and the largest weighted error (Lawson's iteration).

    Weighted least squares, each point's weight multiplied by its error until the largest errors
    are level (C. L. Lawson, thesis, 1961). Slower than Remez exchange, but it does not lose its
    way where the error comes down to the rounding of the arithmetic.
    """
    turn = np.cos(PI * np.arange(401, dtype=LONG) / 400)
    middle, half = (fit.low + fit.high) / 2, (fit.high - fit.low) / 2
    grid = middle - half * turn
    basis = [np.ones_like(turn), -turn]  # Chebyshev polynomials, for a well-posed system
    powers = [np.array([LONG(1)]), np.array([-middle / half, 1 / half])]  # the same, as powers of z
    while len(basis) < fit.terms:
        basis.append(-2 * turn * basis[-1] - basis[-2])
        next_powers = 2 * np.convolve(powers[1], powers[-1])
        next_powers[: len(powers[-2])] -= powers[-2]
        powers.append(next_powers)
    rows = np.array(basis) * fit.weight(grid)
    right = fit.wanted(grid) * fit.weight(grid)
    share = np.full(len(grid), LONG(1) / len(grid))
    lowest = np.inf
    for _ in range(400):
        factors = solve((rows * share) @ rows.T, (rows * share) @ right)
        error = np.abs(factors @ rows - right)
        if error.max() < lowest:
            lowest, best = float(error.max()), factors
        share = share * error / np.sum(share * error)
    coefficients = np.zeros(fit.terms, dtype=LONG)
    for factor, chebyshev in zip(best, powers, strict=True):
        coefficients[: len(chebyshev)] += factor * chebyshev
    return coefficients, lowest


def main() -> None:
    """Print every polynomial, highest power first, as the code holds it."""
    for name, fit in FITS.items():
        coefficients, error = minimax(fit)
        rounded = [float(c) for c in coefficients[::-1]]
        print(f"{name} = {rounded!r}  # {error:.1e}")  # noqa: T201


if __name__ == "__main__":
    main()
