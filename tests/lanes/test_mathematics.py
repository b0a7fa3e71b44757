"""Accuracy against numpy in extended precision, special cases against C (through numpy)."""

from fractions import Fraction

import minimax
import numpy as np
import pytest
from lane_kernels import MATH_NAMES, TABLE, math_inputs

from sim.lanes import (
    acos,
    asin,
    atan2,
    cos,
    diff2,
    exp,
    interpolate,
    kernel,
    lane_types,
    load,
    log,
    mathematics,
    random,
    sin,
    sqrt,
    store,
    sum2,
    sum3,
)

LONG = np.longdouble
wider = pytest.mark.skipif(
    np.finfo(LONG).eps >= np.finfo(float).eps, reason="longdouble is no wider than double here"
)
WORST = {  # ulp
    "exp": 1.1, "log": 1.0, "sin": 1.6, "cos": 1.6, "atan2": 2.0, "asin": 2.5, "acos": 2.5,
    "sqrt": 0.5001,
}  # fmt: skip


def block(by_width, name):
    x, y = math_inputs()
    place = MATH_NAMES.index(name)
    return by_width[8]["mathematics"][place], x[place].astype(LONG), y[place].astype(LONG)


def ulps(ours, truth):
    return float((np.abs(ours - truth) / np.spacing(np.abs(truth.astype(float)))).max())


@wider
@pytest.mark.parametrize("name", WORST)
def test_function__accuracy(by_width, name):
    ours, x, y = block(by_width, name)
    reference = {"atan2": np.arctan2, "asin": np.arcsin, "acos": np.arccos}
    function = reference.get(name) or getattr(np, name)
    truth = function(x, y) if name == "atan2" else function(x)
    assert ulps(ours, truth) <= WORST[name]


@wider
def test_power__error_grows_with_the_exponent(by_width):
    ours, x, y = block(by_width, "power")
    size = np.abs(y * np.log(x)).astype(float)
    error = np.abs(ours - x**y) / np.spacing(ours)
    assert (error <= 2.0 + 2.0 * size).all()


def test_sincos__squares_add_to_one(by_width):
    ours, _, _ = block(by_width, "sincos")
    assert np.abs(ours - 1.0).max() < 5e-16


def test_interpolate__as_numpy_and_held_beyond_the_ends(by_width):
    ours, x, _ = block(by_width, "interpolate")
    wanted = np.interp(x.astype(float), np.arange(5), TABLE)
    assert np.allclose(ours, wanted, rtol=1e-15, atol=1e-15)
    assert interpolate(TABLE, 99.0) == TABLE[-1]


def test_polynomial__as_numpy(by_width):
    ours, x, _ = block(by_width, "polynomial")
    assert np.allclose(ours, np.polyval([0.5, -2.0, 1.0], x.astype(float)), rtol=0, atol=4e-15)


def test_atan2__zeros_infinitesimals_and_nan_as_in_c():
    special = [0.0, -0.0, 1.0, -1.0, 1e-300, 1e300, -1e-310, np.nan]
    for y in special:
        for x in special:
            ours, wanted = atan2(y, x), np.arctan2(y, x)
            assert ours == wanted or (np.isnan(ours) and np.isnan(wanted))
            assert np.isnan(ours) or np.signbit(ours) == np.signbit(wanted)


def test_functions__at_their_ends():
    assert log(0.0) == -np.inf
    assert log(1.0) == 0.0
    assert np.isnan([log(-1.0), log(np.nan), asin(1.5), acos(-1.5), sqrt(-1.0), exp(np.nan)]).all()
    assert exp(0.0) == 1.0
    assert exp(1e9) == exp(709.0)
    assert exp(-1e9) == exp(-708.0) > 0.0
    assert asin(1.0) == np.pi / 2
    assert acos(-1.0) == np.pi
    assert sin(0.0) == 0.0
    assert np.signbit(atan2(-0.0, 1.0))
    assert cos(0.0) == 1.0


def test_functions__from_python_as_from_a_kernel(by_width):
    functions = {"exp": exp, "log": log, "sin": sin, "cos": cos, "asin": asin, "acos": acos}
    for name, function in functions.items():
        ours, x, _ = block(by_width, name)
        assert [function(float(v)) for v in x[:50]] == ours[:50].tolist()


@wider
@pytest.mark.parametrize("name", minimax.FITS)
def test_coefficients__are_minimax_fits(name):
    """As rounded in the source, no worse than twice the best fit (and below an eighth of an ulp).

    The truth is a power series in extended precision; a new fit is made here.
    """
    fit = minimax.FITS[name]
    held = getattr(random if name.startswith("QUICK") else mathematics, name)
    _, best = minimax.minimax(fit)
    z = fit.low + (fit.high - fit.low) * np.linspace(0, 1, 2001).astype(LONG)
    value = np.zeros_like(z)
    for coefficient in held:
        value = value * z + LONG(coefficient)
    error = float(np.max(fit.weight(z) * np.abs(value - fit.wanted(z))))
    assert len(held) == fit.terms
    assert error <= 2.0 * best + 2.0**-54 * float(np.abs(fit.weight(z) * fit.wanted(z)).max())
    assert error < (6e-11 if name.startswith("QUICK") else 2.0**-56)


# ---- sums of products ----------------------------------------------------------------------------


@kernel
def run_sums(lanes, given, out):
    a, x, b = load(lanes, given, 0), load(lanes, given, 1), load(lanes, given, 2)
    y, c, z = load(lanes, given, 3), load(lanes, given, 4), load(lanes, given, 5)
    store(out, 0, sum2(a, x, b, y))
    store(out, 1, sum3(a, x, b, y, c, z))
    store(out, 2, diff2(a, x, b, y))


def nearly_nothing(count):
    """Products that cancel to all but their last digits, where a second rounding would show."""
    rng = np.random.default_rng(20240607)
    a, x, b, c, z = rng.uniform(0.5, 2.0, (5, count))
    return np.array([a, x, b, a * x / b, c, z])


@pytest.mark.parametrize("width", [1, 4, 8])
def test_sums__the_same_bits_in_plain_python(width):
    given = nearly_nothing(64)
    for block in np.split(given, 64 // width, axis=1):
        out = np.empty((3, width))
        run_sums(lane_types(width), np.ascontiguousarray(block), out)
        for lane in range(width):
            a, x, b, y, c, z = block[:, lane]
            plain = sum2(a, x, b, y), sum3(a, x, b, y, c, z), diff2(a, x, b, y)
            assert out[:, lane].tolist() == list(map(float, plain))


def test_sums__round_all_products_but_the_last_once():
    for a, x, b, y, c, z in nearly_nothing(200).T:
        exact = Fraction(a) * Fraction(x)
        assert float(diff2(a, x, b, y)) == float(exact - Fraction(float(b * y)))
        assert float(sum2(a, x, -b, y)) == float(exact - Fraction(float(b * y)))
        rest = float(Fraction(b) * Fraction(y) + Fraction(float(c * z)))
        assert float(sum3(a, x, b, y, c, z)) == float(exact + Fraction(rest))
