"""Exact arithmetic: the same result in hardware, in LLVM and in Python, at every width.

In plain Python these return numpy's float64, not float: 1.0 / 0.0 is then infinite, as in hardware,
where Python's own would raise.
"""

import math
from fractions import Fraction
from typing import Any

import numpy as np


def sqrt(x: Any) -> Any:
    """Square root, correctly rounded (IEEE 754); nan below zero."""
    return np.sqrt(np.float64(x)) if x >= 0.0 else np.float64(math.nan)


def absolute(x: Any) -> Any:
    """Magnitude, exact."""
    return np.fabs(np.float64(x))


def floor(x: Any) -> Any:
    """Largest whole number not above x, as a float, exact."""
    return np.floor(np.float64(x))


def copysign(magnitude: Any, sign: Any) -> Any:
    """Magnitude of the first with the sign (also of zero) of the second, exact."""
    return np.copysign(np.float64(magnitude), sign)


def fma(a: Any, b: Any, c: Any) -> Any:
    """Compute a * b + c with one rounding. Polynomials use it: half the work, and more exact."""
    a, b, c = float(a), float(b), float(c)
    if not (math.isfinite(a) and math.isfinite(b) and math.isfinite(c)):
        return np.float64(a * b + c)
    if a == 0.0 or b == 0.0:  # fractions know no signed zeros
        return np.float64(a * b + c)
    try:
        return np.float64(float(Fraction(a) * Fraction(b) + Fraction(c)))
    except OverflowError:
        return np.float64(math.inf if (a > 0.0) == (b > 0.0) else -math.inf)


def bits_of(x: Any) -> Any:
    """Return the 64 bits of a float as a whole number (int64)."""
    return np.float64(x).view(np.int64)


def float_of(bits: Any) -> Any:
    """Return the float whose 64 bits these are."""
    return bits.view(np.float64) if isinstance(bits, np.generic) else np.int64(bits).view(float)


def word_of(i: Any) -> Any:
    """Return a whole number as 64 random-style bits (uint64), from I or U, modulo 2**64."""
    return np.uint64(int(i) & 0xFFFFFFFFFFFFFFFF)
