import math
from fractions import Fraction

import numpy as np
import pytest
from lane_kernels import EXACT_NAMES, exact_inputs

from sim.lanes import bits_of, float_of, fma, sqrt, word_of


@pytest.mark.parametrize("name", ["absolute", "floor", "copysign", "minimum", "maximum", "clamp"])
def test_exact__as_numpy(by_width, name):
    x, y = exact_inputs()
    wanted = {
        "absolute": np.abs(x),
        "floor": np.floor(x),
        "copysign": np.copysign(x, y),
        "minimum": np.where(x < y, x, y),
        "maximum": np.where(x > y, x, y),
        "clamp": np.clip(x, -1.0, 2.0),
    }[name]
    ours = by_width[8]["exact"][EXACT_NAMES.index(name)]
    assert np.array_equal(ours, wanted, equal_nan=True)
    numbers = ~np.isnan(ours)
    assert np.array_equal(np.signbit(ours[numbers]), np.signbit(wanted[numbers]))


def test_fma__one_rounding(by_width):
    x, y = exact_inputs()
    ours = by_width[8]["exact"][EXACT_NAMES.index("fma")]
    for i in range(1, 3000, 7):
        if math.isfinite(x[i]) and math.isfinite(y[i]):
            exact = Fraction(x[i]) * Fraction(y[i]) + Fraction(0.1)
            assert ours[i] == float(exact)
    with np.errstate(over="ignore", invalid="ignore"):
        assert (ours != x * y + 0.1).any()  # or the check above would say little


def test_fma__plain_is_as_fractions_say():
    """C's, where it is right; the hard cases must tell a product that is rounded first apart."""
    from sim.lanes.exact import HARD, fma_by_fractions

    assert any(a * b + c != fma_by_fractions(a, b, c) for a, b, c in HARD)
    draws = np.random.default_rng(1)
    given = draws.normal(size=(3000, 3)) * 2.0 ** draws.integers(-520, 500, size=(3000, 3))
    given[::3, 2] = -given[::3, 0] * given[::3, 1] * (1.0 + 2.0**-52)  # nearly cancels
    special = [(math.inf, 0.0, 1.0), (math.inf, 1.0, -math.inf), (math.nan, 1.0, 1.0),
               (-0.0, 1.0, -0.0), (0.0, -1.0, 0.0), (1e308, 10.0, -math.inf)]  # fmt: skip
    with np.errstate(all="ignore"):
        for a, b, c in [*HARD, *given.tolist(), *special]:
            ours, exact = fma(*map(np.float64, (a, b, c))), fma_by_fractions(a, b, c)
            assert isinstance(ours, np.float64)
            assert np.array_equal(ours, exact, equal_nan=True), (a, b, c)
            assert np.isnan(exact) or math.copysign(1.0, ours) == math.copysign(1.0, exact)


def test_plain_forms__return_numpy_numbers_and_keep_signed_zeros():
    assert isinstance(sqrt(4.0), np.float64)
    assert np.isnan(sqrt(-1.0))
    assert math.copysign(1.0, sqrt(-0.0)) == -1.0
    assert math.copysign(1.0, fma(-0.0, 1.0, -0.0)) == -1.0
    assert fma(1e308, -1e308, 0.0) == -math.inf
    assert float_of(bits_of(-2.5)) == -2.5
    assert float_of(word_of(bits_of(-2.5))) == -2.5
    assert word_of(-1) == np.uint64(2**64 - 1)
