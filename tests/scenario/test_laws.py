"""Laws of chance against SciPy's distributions."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from sim.scenario.laws import Law
from tests.outside import outside_check

SCIPY = "scipy.stats"
U = np.concatenate(([1e-12, 1e-6], np.linspace(0.001, 0.999, 37), [1 - 1e-6]))

CONTINUOUS = [
    (Law("normal", (2.0, 0.5)), stats.norm(2.0, 0.5)),
    (Law("truncated_normal", (1.0, 0.5, 0.2, 1.4)), stats.truncnorm(-1.6, 0.8, 1.0, 0.5)),
    (Law("truncated_normal", (0.0, 1.0, 6.0, 8.0)), stats.truncnorm(6.0, 8.0)),
    (Law("truncated_normal", (0.0, 1.0, -8.0, -6.0)), stats.truncnorm(-8.0, -6.0)),
    (Law("half_normal", (0.3,)), stats.halfnorm(scale=0.3)),
    (Law("uniform", (-1.0, 4.0)), stats.uniform(-1.0, 5.0)),
    (Law("triangular", (1.0, 2.0, 5.0)), stats.triang(0.25, 1.0, 4.0)),
    (Law("triangular", (1.0, 1.0, 5.0)), stats.triang(0.0, 1.0, 4.0)),
    (Law("lognormal", (0.09, 0.3)), stats.lognorm(0.3, scale=0.09)),
]


@pytest.mark.parametrize(("law", "reference"), CONTINUOUS)
def test_quantile__is_that_of_scipy(law, reference):
    wanted = reference.ppf(U)
    outside_check(
        what=f"quantiles of {law.kind} {law.parameters}, 40 shares", source=SCIPY, expected=wanted,
        got=law.quantile(U), tolerance=1e-14 + 1e-9 * np.abs(wanted), unit="1",
    )  # fmt: skip


@pytest.mark.parametrize(("law", "reference"), CONTINUOUS)
def test_moments__are_those_of_scipy(law, reference):
    name = f"{law.kind} {law.parameters}"
    mean, spread = float(reference.mean()), float(reference.std())
    outside_check(
        what=f"mean and standard deviation of {name}", source=SCIPY, expected=(mean, spread),
        got=(law.mean(), law.spread()),
        tolerance=(max(1e-7 * abs(mean), 1e-12), 1e-6 * spread), unit="1",
    )  # fmt: skip
    ends = np.array(reference.interval(0.95))
    outside_check(
        what=f"95 % range of {name}", source=SCIPY, expected=ends, got=law.interval(0.95),
        tolerance=np.maximum(1e-9 * np.abs(ends), 1e-12), unit="1",
    )  # fmt: skip


def test_quantile__half_normal_is_accurate_near_zero():
    # the smallest draws keep all their digits: erfinv(u) ~ u sqrt(pi)/2 for small u
    u = np.array([1e-14])
    expected = stats.halfnorm.ppf(u)
    np.testing.assert_allclose(Law("half_normal", (1.0,)).quantile(u), expected, rtol=1e-9)


def test_quantile__chance_draws_one_that_often():
    u = (np.arange(1000) + 0.5) / 1000
    assert Law("chance", (0.02,)).quantile(u).sum() == 20
    assert Law("chance", (0.0,)).quantile(u).sum() == 0
    assert Law("chance", (1.0,)).quantile(u).sum() == 1000


def test_quantile__choice_draws_by_weight():
    u = (np.arange(100) + 0.5) / 100
    draws = Law("choice", (3.0, 1.0, 2.0), (0.2, 0.5, 0.3)).quantile(u)
    assert [int((draws == x).sum()) for x in (1.0, 2.0, 3.0)] == [50, 30, 20]
    assert (np.diff(draws) >= 0).all()


def test_quantile__empirical_draws_each_value_alike():
    u = (np.arange(99) + 0.5) / 99
    draws = Law("empirical", (1.0, 1.0, 4.0)).quantile(u)
    assert (int((draws == 1.0).sum()), int((draws == 4.0).sum())) == (66, 33)


def test_quantile__sign_is_even():
    u = (np.arange(10) + 0.5) / 10
    assert Law("sign", (2.0,)).quantile(u).tolist() == [-2.0] * 5 + [2.0] * 5


def test_quantile__fixed_and_shapes():
    u = np.full((2, 3), 0.3)
    assert Law("fixed", (7.0,)).quantile(u).tolist() == [[7.0] * 3] * 2
    assert Law("normal", (0.0, 1.0)).quantile(u).shape == (2, 3)


@pytest.mark.parametrize(
    ("law", "nominal"),
    [
        (Law("fixed", (3.0,)), 3.0),
        (Law("normal", (3.0, 1.0)), 3.0),
        (Law("half_normal", (3.0,)), 0.0),
        (Law("sign", (3.0,)), 0.0),
        (Law("uniform", (2.0, 5.0)), 3.5),
        (Law("triangular", (2.0, 3.0, 9.0)), 3.0),
        (Law("lognormal", (0.1, 0.3)), 0.1),
        (Law("chance", (0.1,)), 0.0),
        (Law("choice", (1.0, 2.0), (0.3, 0.7)), 2.0),
        (Law("empirical", (1.0, 2.0, 9.0)), 2.0),
        (Law("truncated_normal", (3.0, 1.0, 4.0, 5.0)), 4.0),
    ],
)
def test_nominal__is_the_value_when_nothing_goes_astray(law, nominal):
    assert law.nominal() == nominal


@pytest.mark.parametrize("law", [law for law, _ in CONTINUOUS[:2] + CONTINUOUS[4:]])
def test_with_spread__sets_the_standard_deviation(law):
    wanted = 0.7 * law.spread()
    wider = law.with_spread(wanted)
    assert wider.kind == law.kind
    assert wider.spread() == pytest.approx(wanted, rel=1e-9)


def test_with_spread__of_a_fixed_number_makes_it_normal():
    assert Law("fixed", (2.0,)).with_spread(0.1) == Law("normal", (2.0, 0.1))


def test_with_spread__of_zero_leaves_nothing_to_draw():
    assert Law("uniform", (1.0, 3.0)).with_spread(0.0) == Law("fixed", (2.0,))


@pytest.mark.parametrize("law", [Law("chance", (0.1,)), Law("sign", (1.0,))])
def test_with_spread__refuses_what_has_none(law):
    with pytest.raises(ValueError, match="no spread to set"):
        law.with_spread(1.0)


def test_with_spread__refuses_to_be_wider_than_the_cut_allows():
    with pytest.raises(ValueError, match="cannot be so wide"):
        Law("truncated_normal", (0.0, 1.0, -1.0, 1.0)).with_spread(0.6)


@settings(deadline=None)
@given(st.floats(0.001, 0.999), st.floats(0.001, 0.999))
def test_quantile__grows_with_its_argument(a, b):
    low, high = sorted((a, b))
    for law, _ in CONTINUOUS:
        first, second = law.quantile(np.array([low, high]))
        assert first <= second


def test_loading__needs_no_scipy():
    code = (
        "import sys; from sim.scenario import load_scenario; "
        "load_scenario('scenarios/heron.toml'); print([m for m in sys.modules if 'scipy' in m])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
