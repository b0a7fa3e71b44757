"""Random numbers without state: each a pure function of (seed, flight, source, count).

Philox 4x32-10 (J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, Parallel random numbers: as easy
as 1, 2, 3, SC11, 2011). The key is the seed; the counter holds the flight's number (64 bits), the
count (a tick, a row; 32 bits) and the source (32 bits: each sensor, each gust axis has its own).
So there is no order: a flight draws the same numbers alone, in any company, on any machine.

`seed`, `flight`, `source` and `count` are whole numbers or lanes of them, signed or not.
"""

from typing import Any

import numpy as np

from sim.lanes.compiler import apart, part
from sim.lanes.exact import bits_of, float_of, fma, sqrt, word_of
from sim.lanes.mathematics import (
    FRACTION_BITS,
    LN2_HIGH,
    ONE_BITS,
    SQRT_HALF_BITS,
    TWO_52,
    TWO_52_BITS,
    log,
    polynomial,
    sincos,
)

# numpy scalars, not int: in numba uint64 with a plain 1 changes type
LOW = np.uint64(0xFFFFFFFF)
TWELVE, TWENTY_TWO, THIRTY_TWO, THIRTY_THREE = (np.uint64(n) for n in (12, 22, 32, 33))
LEFT, RIGHT = np.uint64(0xD2511F53), np.uint64(0xCD9E8D57)
STEP, OTHER_STEP = np.uint64(0x9E3779B9), np.uint64(0xBB67AE85)
FLOAT_ONE, FLOAT_TWO_52 = np.uint64(ONE_BITS), np.uint64(TWO_52_BITS)
SIGN, QUADRANT_BITS = np.uint64(1 << 63), np.uint64((1 << 52) - (1 << 22))
TWO_PI = 2.0 * np.pi

# about ten digits, which is plenty for 32-bit uniforms; made by tests/lanes/minimax.py
QUICK_LOG = (0.23582159936180846, 0.285373081140132, 0.4000033519716077, 0.6666666564543088)
QUICK_SIN = (  # sin(pi/2 t) / t in t**2
    0.0001582067437243703, -0.00468126647847617, 0.07969258276064348, -0.6459640961485799,
    1.5707963267881149,
)  # fmt: skip
QUICK_COS = (  # cos(pi/2 t) in t**2
    0.0009036317035077215, -0.020860071330484398, 0.25366920394363524, -1.2337005406478248,
    0.9999999999526118,
)  # fmt: skip


def random_block(c0: Any, c1: Any, c2: Any, c3: Any, k0: Any, k1: Any) -> Any:
    """Philox 4x32-10: counter c, key k; four words whose LOWER 32 bits count.

    All are U lanes or uint64; of the counter only the lower 32 bits are read. The upper halves of
    the result are left over: masking only what is multiplied lets AVX2 use its 32-bit multiplier
    as it is.
    """
    for _ in range(10):
        left, right = (c0 & LOW) * LEFT, (c2 & LOW) * RIGHT
        c0, c1 = right >> THIRTY_TWO ^ c1 ^ k0, right
        c2, c3 = left >> THIRTY_TWO ^ c3 ^ k1, left
        k0, k1 = k0 + STEP, k1 + OTHER_STEP
    return c0, c1, c2, c3


@part
def random_words(seed: Any, flight: Any, source: Any, count: Any) -> Any:
    """Four words of one block; their lower 32 bits are random, the upper ones are to be masked."""
    seed, flight = word_of(seed), word_of(flight)
    # the key is masked so that plain Python's sums with it stay within 64 bits
    return random_block(
        flight, flight >> THIRTY_TWO, word_of(count), word_of(source),
        seed & LOW, seed >> THIRTY_TWO,
    )  # fmt: skip


@part
def random_bits(seed: Any, flight: Any, source: Any, count: Any) -> Any:
    """Two words of 64 random bits."""
    a, b, c, d = random_words(seed, flight, source, count)
    return a << THIRTY_TWO | (b & LOW), c << THIRTY_TWO | (d & LOW)


@part
def uniform(bits: Any) -> Any:
    """Between 0 and 1, never either: 52 random bits behind the binary point, and a half."""
    return (float_of(bits >> TWELVE | FLOAT_ONE) - 1.0) + 2.0**-53


@part
def uniform_of_word(word: Any) -> Any:
    """(k + 1/2) / 2**32 for the lower 32 bits k of a word: between 0 and 1, never either."""
    return (float_of((word & LOW) | FLOAT_TWO_52) - (TWO_52 - 0.5)) * 2.0**-32


@part
def uniform_pair(seed: Any, flight: Any, source: Any, count: Any) -> Any:
    """Two independent uniform numbers of 52 bits, from one block."""
    first, second = random_bits(seed, flight, source, count)
    return uniform(first), uniform(second)


@part
def uniform_quad(seed: Any, flight: Any, source: Any, count: Any) -> Any:
    """Four independent uniform numbers of 32 bits, from one block."""
    a, b, c, d = random_words(seed, flight, source, count)
    return uniform_of_word(a), uniform_of_word(b), uniform_of_word(c), uniform_of_word(d)


@part
def normal_pair(seed: Any, flight: Any, source: Any, count: Any) -> Any:
    """Two independent standard normal numbers, full precision (Box and Muller, 1958)."""
    first, second = random_bits(seed, flight, source, count)
    radius = sqrt(-2.0 * log(uniform(first)))
    sine, cosine = sincos(TWO_PI * uniform(second))
    return radius * cosine, radius * sine


@part
def normal_quad(seed: Any, flight: Any, source: Any, count: Any) -> Any:
    """Four independent standard normal numbers from one block; the quick ones, for noise.

    Two pairs after G. E. P. Box and M. E. Muller (Annals of Mathematical Statistics 29, 1958),
    each from two 32-bit uniforms (k + 1/2) / 2**32, so that no number is beyond 6.77; logarithm,
    sine and cosine to about ten digits.
    """
    a, b, c, d = random_words(seed, flight, source, count)
    first, second = _normals_of_words(a, b)
    third, fourth = _normals_of_words(c, d)
    return first, second, third, fourth


@apart
def rare_normal_quad(seed: Any, flight: Any, source: Any, count: Any) -> Any:
    """normal_quad, for what happens once or seldom in a flight: the same numbers, less code."""
    return normal_quad(seed, flight, source, count)


@part
def _normals_of_words(a: Any, b: Any) -> Any:
    """Radius sqrt(-2 log u) from one word; from the other an angle and, by two bits, a quadrant.

    Thirty bits give t between -1/2 and 1/2; pi/4 + pi/2 t is an angle in the first quadrant, and
    its cosine and sine are (cos x - sin x) / sqrt(2) and (cos x + sin x) / sqrt(2) for x = pi/2 t.
    The square root of 2 is left out of the radius instead.
    """
    radius = sqrt(_minus_log(a))
    t = float_of((b << TWENTY_TWO & QUADRANT_BITS) | FLOAT_ONE) - (1.5 - 2.0**-31)
    t2 = t * t
    cosine = polynomial(t2, QUICK_COS)
    sine = polynomial(t2, QUICK_SIN) * t
    first, second = radius * (cosine - sine), radius * (cosine + sine)
    signs = b << THIRTY_TWO & SIGN, b << THIRTY_THREE & SIGN
    return _flip(first, signs[0]), _flip(second, signs[1])


@part
def _minus_log(word: Any) -> Any:
    """-log((k + 1/2) / 2**32), always positive; relative error about 1e-11."""
    x = float_of((word & LOW) | FLOAT_TWO_52) - (TWO_52 - 0.5)  # k + 1/2, exact
    split = bits_of(x) + (ONE_BITS - SQRT_HALF_BITS)
    n = float_of((split >> 52 & 0x7FF) | TWO_52_BITS) - (TWO_52 + 1055.0)  # 2**-32 taken in
    f = float_of((split & FRACTION_BITS) + SQRT_HALF_BITS) - 1.0
    s = f / (2.0 + f)
    s2 = s * s
    return fma(n, -LN2_HIGH, -s * fma(s2, polynomial(s2, QUICK_LOG), 2.0))


@part
def _flip(x: Any, sign: Any) -> Any:
    """Turn the sign of x where the sign bit is set."""
    return float_of(word_of(bits_of(x)) ^ sign)
