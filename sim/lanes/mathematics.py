"""Mathematics: polynomials, the same bits at every width and in plain Python.

The vector libraries are not in numba's wheels and libm may differ between machines, hence our own.
Worst errors in units in the last place, over the ranges tests/lanes/test_mathematics.py walks:
exp 1.0, log 1.0, sin and cos 1.6, atan2 2.0, asin and acos 2.5. The coefficients are minimax fits
made by tests/lanes/minimax.py, highest power first; the reductions are the usual ones (J.-M.
Muller, Elementary Functions: Algorithms and Implementation, Birkhäuser).
"""

import math
from typing import Any

from sim.lanes.arrays import gather
from sim.lanes.compiler import part
from sim.lanes.exact import absolute, bits_of, copysign, float_of, floor, fma, sqrt
from sim.lanes.masks import any_lane, where

ROUND = 6755399441055744.0  # 1.5 * 2**52: adding it leaves the nearest whole number in the low bits
WHOLE = 0x4338000000000000  # the bits of ROUND
TWO_52, TWO_52_BITS = 4503599627370496.0, 0x4330000000000000  # the same for whole numbers >= 0
INFINITY, NOT_A_NUMBER = math.inf, math.nan
LOG2_E, LN2_HIGH, LN2_LOW = 1.4426950408889634, 0.6931471805599453, 2.3190468138462996e-17
PI, PI_LOW = math.pi, 1.2246467991473532e-16  # the constant and what rounding took from it
HALF_PI, HALF_PI_LOW, HALF_PI_LOWEST = PI / 2, PI_LOW / 2, -1.4973849048591698e-33
QUARTER_PI, QUARTER_PI_LOW, EIGHTH_PI = PI / 4, PI_LOW / 4, PI / 8
TAN_PI_16, TAN_PI_8, TAN_3_PI_16 = 0.198912367379658, 0.41421356237309503, 0.6681786379192989
ATAN_TAN_PI_8_LOW = 3.060132146563891e-18  # arc tangent of the rounded TAN_PI_8, less EIGHTH_PI
SQRT_HALF_BITS, ONE_BITS = 0x3FE6A09E667F3BCD, 0x3FF0000000000000
FRACTION_BITS = 0x000FFFFFFFFFFFFF

EXP = (  # (e**r - 1 - r) / r**2
    2.5116415365954104e-08, 2.7631270013010534e-07, 2.7557221112537046e-06,
    2.4801489968146542e-05, 0.00019841269911568163, 0.0013888888946995792, 0.008333333333310225,
    0.04166666666651545, 0.16666666666666693, 0.5000000000000012,
)  # fmt: skip
SIN = (  # (sin r - r) / r**3 in r**2
    1.5896766057753036e-10, -2.5050757516575235e-08, 2.7557313687446415e-06,
    -0.00019841269829792764, 0.008333333333322392, -0.16666666666666632,
)  # fmt: skip
COS = (  # (cos r - 1 + r**2 / 2) / r**4 in r**2
    -1.1360268882613056e-11, 2.0875735504125253e-09, -2.755731444383044e-07,
    2.4801587289802102e-05, -0.0013888888888874632, 0.0416666666666666,
)  # fmt: skip
LOG = (  # (2 artanh s - 2 s) / s**3 in s**2
    0.14795976379138143, 0.15314047490263338, 0.1818356446677153, 0.22222198569875154,
    0.28571428742429517, 0.39999999999414415, 0.6666666666666734,
)  # fmt: skip
ATAN = (  # (arctan t - t) / t**3 in t**2
    -0.058177292317729216, 0.07639936332019767, -0.09089211404924022, 0.11111080701989,
    -0.14285713993644314, 0.19999999998668208, -0.3333333333333128,
)  # fmt: skip


def polynomial(x: Any, coefficients: tuple[float, ...]) -> Any:
    """Sum of coefficients (a tuple of floats, highest power first) times powers of x."""
    total = coefficients[0]
    for coefficient in coefficients[1:]:
        total = fma(total, x, coefficient)
    return total


@part
def sum2(a: Any, x: Any, b: Any, y: Any) -> Any:
    """Compute a x + b y by one multiply-add: less work than by + and *, and one rounding less."""
    return fma(a, x, b * y)


@part
def sum3(a: Any, x: Any, b: Any, y: Any, c: Any, z: Any) -> Any:
    """Compute a x + b y + c z, as sum2."""
    return fma(a, x, fma(b, y, c * z))


@part
def diff2(a: Any, x: Any, b: Any, y: Any) -> Any:
    """Compute a x - b y, as sum2."""
    return fma(a, x, -(b * y))


@part
def minimum(a: Any, b: Any) -> Any:
    """Return the smaller, lane by lane; b where either is nan."""
    return where(a < b, a, b)


@part
def maximum(a: Any, b: Any) -> Any:
    """Return the larger, lane by lane; b where either is nan."""
    return where(a > b, a, b)


@part
def clamp(x: Any, low: Any, high: Any) -> Any:
    """Hold x between low and high; nan stays nan."""
    return minimum(high, maximum(low, x))


@part
def whole(x: Any) -> Any:
    """Floor as whole-number lanes, exact for |x| < 2**51 (AVX2 has no conversion of its own)."""
    return bits_of(floor(x) + ROUND) - WHOLE


@part
def real(i: Any) -> Any:
    """Whole-number lanes as floats, exact for |i| < 2**51."""
    return float_of(i + WHOLE) - ROUND


@part
def exp(x: Any) -> Any:
    """e**x; beyond -708 and 709 it stays at the value there."""
    x = clamp(x, -708.0, 709.0)
    shifted = fma(x, LOG2_E, ROUND)
    n = shifted - ROUND
    r = fma(n, -LN2_LOW, fma(n, -LN2_HIGH, x))
    near_one = fma(polynomial(r, EXP), r * r, r) + 1.0
    return float_of(bits_of(near_one) + (bits_of(shifted) << 52))  # times 2**n


@part
def log(x: Any) -> Any:
    """Natural logarithm of normal positive numbers; log(0) = -inf, of a negative one nan."""
    # x = 2**n * (1 + f), 0.7 < 1 + f < 1.42. The mask makes the shift one that AVX2 has.
    split = bits_of(x) + (ONE_BITS - SQRT_HALF_BITS)
    n = float_of((split >> 52 & 0x7FF) | TWO_52_BITS) - (TWO_52 + 1023.0)
    f = float_of((split & FRACTION_BITS) + SQRT_HALF_BITS) - 1.0
    s = f / (2.0 + f)
    s2 = s * s
    rest = fma(s, f - s2 * polynomial(s2, LOG), n * -LN2_LOW)
    result = fma(n, LN2_HIGH, f - rest)
    return where(x > 0.0, result, where(x == 0.0, -INFINITY, NOT_A_NUMBER))


@part
def power(x: Any, y: Any) -> Any:
    """x**y for positive x; the error grows with |y log x|, about 2 ulp a unit."""
    return exp(y * log(x))


@part
def sincos(x: Any) -> Any:
    """(sin x, cos x) for |x| up to about a million."""
    shifted = fma(x, 2.0 / PI, ROUND)
    n = shifted - ROUND
    turned = n != 0.0
    r = x
    if any_lane(turned):  # x is its own remainder in the quarter about zero
        r = fma(n, -HALF_PI_LOWEST, fma(n, -HALF_PI_LOW, fma(n, -HALF_PI, x)))
    r2 = r * r
    sine = fma(polynomial(r2, SIN), r2 * r, r)
    cosine = fma(polynomial(r2, COS), r2 * r2, fma(r2, -0.5, 1.0))
    if any_lane(turned):
        quarter = bits_of(shifted)
        odd = (quarter & 1) != 0
        s, c = where(odd, cosine, sine), where(odd, sine, cosine)
        sine = where((quarter & 2) != 0, -s, s)
        cosine = where(((quarter + 1) & 2) != 0, -c, c)
    return sine, cosine


@part
def sin(x: Any) -> Any:
    """Sine, as sincos."""
    return sincos(x)[0]


@part
def cos(x: Any) -> Any:
    """Cosine, as sincos."""
    return sincos(x)[1]


@part
def atan2(y: Any, x: Any) -> Any:
    """Angle of the point (x, y), -pi to pi, all signs and zeros as in C; finite arguments."""
    ax, ay = absolute(x), absolute(y)
    steep, backward = ay > ax, bits_of(x) < 0
    high, low = where(steep, ay, ax), where(steep, ax, ay)
    # low / high = tan(step + arc) for the nearest of the steps 0, pi/8, pi/4
    middle, far = low > TAN_PI_16 * high, low > TAN_3_PI_16 * high
    step = where(far, 1.0, where(middle, TAN_PI_8, 0.0))
    divisor = fma(step, low, high)
    t = fma(-step, high, low) / where(divisor == 0.0, 1.0, divisor)
    t2 = t * t
    arc = fma(polynomial(t2, ATAN), t2 * t, t)
    arc = arc + where(far, QUARTER_PI_LOW, where(middle, ATAN_TAN_PI_8_LOW, 0.0))
    arc = arc + where(far, QUARTER_PI, where(middle, EIGHTH_PI, 0.0))
    # from the first eighth of the circle to where the point lies
    arc = where(steep ^ backward, -arc, arc)
    arc = arc + where(steep, HALF_PI_LOW, where(backward, PI_LOW, 0.0))
    arc = arc + where(steep, HALF_PI, where(backward, PI, 0.0))
    return copysign(arc, y)


@part
def asin(x: Any) -> Any:
    """Arc sine; nan beyond -1 and 1."""
    return atan2(x, sqrt(fma(-x, x, 1.0)))


@part
def acos(x: Any) -> Any:
    """Arc cosine; nan beyond -1 and 1."""
    return atan2(sqrt(fma(-x, x, 1.0)), x)


@part
def interpolate(table: Any, position: Any) -> Any:
    """Table value at a fractional index, linear between entries, held beyond the ends."""
    position = clamp(position, 0.0, len(table) - 1.0)
    below = minimum(floor(position), len(table) - 2.0)
    index = whole(below)  # of nan: some huge number, which gather() turns into the last entry
    low, high = gather(table, index), gather(table, index + 1)
    return fma(position - below, high - low, low)
