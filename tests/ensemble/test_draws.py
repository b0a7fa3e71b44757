"""Draws: what a flight's numbers depend on, their laws and their correlations."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from sim.ensemble.draws import all_values, cholesky, draw_numbers, uncertain_names
from sim.errors import UserMistake
from tests.ensemble.stand_in import Group, Scenario, fixed, normal, numbers

METHODS = ["random", "latin_hypercube", "sobol"]


def same(a, b):
    return all(np.array_equal(a[name], b[name]) for name in set(a) & set(b))


@pytest.mark.parametrize("method", METHODS)
def test_draw_numbers__chunks_and_order_do_not_matter(method):
    scenario = Scenario(correlated=(Group(("wind.speed", "launch_pad.tilt"), 0.7),))
    whole = draw_numbers(scenario, 5, range(700), method=method, flights=700)
    for size in (1, 3, 64, 256):
        for first in range(0, 700, 97 * size):
            runs = np.arange(first, min(first + size, 700))[::-1]
            part = draw_numbers(scenario, 5, runs, method=method, flights=700)
            assert all(np.array_equal(part[name], whole[name][runs]) for name in whole)


@pytest.mark.parametrize("method", ["random", "latin_hypercube"])
def test_draw_numbers__a_new_number_leaves_the_others(method):
    more = Scenario(numbers=numbers() | {"aaa.first": normal(1.0), "zzz.last": normal(1.0)})
    before = draw_numbers(Scenario(), 1, range(100), method=method, flights=100)
    assert same(before, draw_numbers(more, 1, range(100), method=method, flights=100))


@pytest.mark.parametrize("method", METHODS)
def test_draw_numbers__fixing_a_number_leaves_the_others(method):
    group = Group(("launch_pad.tilt", "sensor.bias.x", "wind.speed"), 0.6)
    scenario = Scenario(correlated=(group,))
    before = draw_numbers(scenario, 1, range(100), method=method, flights=100)
    for name in before:
        less = replace(scenario, numbers=scenario.numbers | {name: fixed(0.1)})
        after = draw_numbers(less, 1, range(100), method=method, flights=100)
        assert set(before) - set(after) == {name}
        assert same(before, after)


def test_draw_numbers__uncertain_ones_only():
    assert "vehicle.mass" not in uncertain_names(Scenario())
    assert list(draw_numbers(Scenario(), 1, [0])) == uncertain_names(Scenario())
    values = all_values(Scenario(), draw_numbers(Scenario(), 1, [0, 1]))
    assert values["vehicle.mass"] == 1.3
    assert set(values) == set(numbers())


def test_draw_numbers__moments_of_a_normal_law():
    n = 40_000
    z = draw_numbers(Scenario(), 1, range(n))["wind.speed"]
    # five standard errors each (R13.10): a right generator fails once in 400,000, fixed seed
    assert abs(z.mean()) < 5 / np.sqrt(n)
    assert abs(z.var() - 1) < 5 * np.sqrt(2 / n)
    assert abs(stats.skew(z)) < 5 * np.sqrt(6 / n)
    assert abs(stats.kurtosis(z)) < 5 * np.sqrt(24 / n)


def test_draw_numbers__numbers_are_independent_of_one_another():
    n = 20_000
    drawn = np.array(list(draw_numbers(Scenario(), 1, range(n)).values()))
    off = np.corrcoef(drawn)[np.triu_indices(len(drawn), 1)]
    # 15 pairs at 5 standard errors: false alarm once in 100,000, fixed seed
    assert np.abs(off).max() < 5 / np.sqrt(n)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("wanted", [-0.5, 0.0, 0.9])
def test_draw_numbers__correlation_and_laws_are_kept(method, wanted):
    n = 16_384
    names = ("wind.speed", "launch_pad.tilt")
    drawn = draw_numbers(
        Scenario(correlated=(Group(names, wanted),)), 1, range(n), method=method, flights=n
    )
    a, b = (drawn[name] for name in names)
    # standard error of a correlation coefficient (1 - r^2)/sqrt(n) (Fisher, 1915); five of them
    assert abs(np.corrcoef(a, b)[0, 1] - wanted) < 5 * (1 - wanted**2) / np.sqrt(n)
    # Kolmogorov-Smirnov: a right sampler fails once in a million, fixed seed
    assert stats.kstest(a, "norm").pvalue > 1e-6
    assert stats.kstest(b / 0.005, "norm").pvalue > 1e-6


def test_draw_numbers__uniform_law_survives_the_copula():
    n = 16_384
    group = Group(("wind.direction", "wind.speed"), 0.8)
    drawn = draw_numbers(Scenario(correlated=(group,)), 1, range(n))
    assert stats.kstest(drawn["wind.direction"] / 6.0, "uniform").pvalue > 1e-6
    # Spearman's coefficient of a Gaussian copula: 6/pi asin(r/2) (Pearson, 1907; from memory);
    # five standard errors of about 0.6/sqrt(n)
    rank = stats.spearmanr(drawn["wind.direction"], drawn["wind.speed"])[0]
    assert abs(rank - 6 / np.pi * np.arcsin(0.4)) < 5 * 0.6 / np.sqrt(n)


def test_draw_numbers__order_of_a_group_does_not_matter():
    names = ["wind.speed", "launch_pad.tilt", "sensor.bias.x"]
    table = np.array([[1, 0.5, 0.2], [0.5, 1, 0.1], [0.2, 0.1, 1]])
    turned = [2, 0, 1]
    one = Scenario(correlated=(Group(tuple(names), table),))
    other = Scenario(
        correlated=(Group(tuple(names[i] for i in turned), table[np.ix_(turned, turned)]),)
    )
    first, second = draw_numbers(one, 1, range(50)), draw_numbers(other, 1, range(50))
    assert same(first, second)


def test_draw_numbers__groups_that_share_a_number_hang_together():
    groups = (
        Group(("wind.speed", "launch_pad.tilt"), 0.9),
        Group(("sensor.bias.x", "wind.speed"), 0.4),
    )
    n = 16_384
    drawn = draw_numbers(Scenario(correlated=groups), 1, range(n))
    found = np.corrcoef([drawn[k] for k in ("launch_pad.tilt", "wind.speed", "sensor.bias.x")])
    assert np.allclose(found[np.triu_indices(3, 1)], [0.9, 0.0, 0.4], atol=5 / np.sqrt(n))


def test_draw_numbers__full_correlation():
    drawn = draw_numbers(
        Scenario(correlated=(Group(("sensor.bias.x", "sensor.bias.y"), 1.0),)), 1, range(1000)
    )
    assert np.allclose(drawn["sensor.bias.x"], drawn["sensor.bias.y"], rtol=1e-9)


def test_cholesky__agrees_with_lapack_and_refuses_the_impossible():
    a = np.array([[1, 0.3, 0.5], [0.3, 1, -0.2], [0.5, -0.2, 1]])
    assert np.allclose(cholesky(a.tolist(), "abc"), np.linalg.cholesky(a), atol=1e-15)
    with pytest.raises(UserMistake, match="can have these correlations together: a, b, c"):
        cholesky([[1, 0.9, 0.9], [0.9, 1, -0.9], [0.9, -0.9, 1]], "abc")


def test_draw_numbers__later_group_overrides_an_earlier_one():
    early, late = (Group(("wind.speed", "launch_pad.tilt"), r) for r in (0.9, -0.4))
    both = draw_numbers(Scenario(correlated=(early, late)), 1, range(50))
    assert same(both, draw_numbers(Scenario(correlated=(late,)), 1, range(50)))
    assert not same(both, draw_numbers(Scenario(correlated=(early,)), 1, range(50)))
