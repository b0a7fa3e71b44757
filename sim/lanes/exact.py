"""Exact arithmetic: the same result in hardware, in LLVM and in Python, at every width.

In plain Python these return numpy's float64, not float: 1.0 / 0.0 is then infinite, as in hardware,
where Python's own would raise.
"""

import ctypes
import math
import sys
from collections.abc import Callable
from fractions import Fraction
from functools import cache
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
    return np.float64(_plain_fma()(a, b, c))


@cache
def _plain_fma() -> Callable[[float, float, float], float]:
    """C's own, where it rounds once as it should; else fractions, thirty times as slow."""
    try:
        own = ctypes.CDLL("ucrtbase" if sys.platform == "win32" else None).fma
    except (OSError, AttributeError, TypeError):
        return fma_by_fractions
    own.restype, own.argtypes = ctypes.c_double, [ctypes.c_double] * 3
    right = all(own(*given) == fma_by_fractions(*given) for given in HARD)
    return own if right else fma_by_fractions


HARD = (  # where a second rounding, in the sum or among subnormal numbers, would show
    (1.0 + 2.0**-52, 1.0 - 2.0**-52, -1.0),
    (1.0 + 2.0**-30, 1.0 + 2.0**-23, 2.0**-53),
    (1.0 + 2.0**-27, 1.0 + 2.0**-26, 2.0**-106),
    (2.0**-537 * (1.0 + 2.0**-52), 2.0**-537 * (1.0 + 2.0**-52), 2.0**-1074),
    (2.0**-1022, 0.5 + 2.0**-53, -(2.0**-1074)),
    (2.0**1023, 2.0, -(2.0**1023)),
)


def fma_by_fractions(a: float, b: float, c: float) -> float:
    """Compute a * b + c exactly, then round."""
    a, b, c = float(a), float(b), float(c)
    if not (math.isfinite(a) and math.isfinite(b)):
        return a * b + c
    if not math.isfinite(c):  # whatever the product, were it too large for a float
        return c
    if a == 0.0 or b == 0.0:  # fractions know no signed zeros
        return a * b + c
    try:
        return float(Fraction(a) * Fraction(b) + Fraction(c))
    except OverflowError:
        return math.inf if (a > 0.0) == (b > 0.0) else -math.inf


def bits_of(x: Any) -> Any:
    """Return the 64 bits of a float as a whole number (int64)."""
    return np.float64(x).view(np.int64)


def float_of(bits: Any) -> Any:
    """Return the float whose 64 bits these are."""
    return bits.view(np.float64) if isinstance(bits, np.generic) else np.int64(bits).view(float)


def word_of(i: Any) -> Any:
    """Return a whole number as 64 random-style bits (uint64), from I or U, modulo 2**64."""
    return np.uint64(int(i) & 0xFFFFFFFFFFFFFFFF)
