"""Weights for today's readings: against closed forms, and against fresh draws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.analysis.reweight import (
    Drawn,
    Reading,
    Refused,
    effective_size,
    reweight,
    see,
    weighted_quantile,
    weights,
    wilson_share,
)

FLIGHTS = 200_000


@pytest.fixture
def random():
    return np.random.default_rng(11)


def drawn_normal(random, mean=2.0, spread=0.5):
    return Drawn("normal", (mean, spread), random.normal(mean, spread, FLIGHTS))


def moments(values, weight):
    share = weight / weight.sum()
    mean = float((share * values).sum())
    return mean, math.sqrt(float((share * (values - mean) ** 2).sum()))


# The weighted draws must have the law about the reading: mean and spread within 5 standard errors,
# so that each line fails by chance less than once in a million.
@pytest.mark.parametrize(
    ("kind", "parameters", "value", "spread"),
    [
        ("normal", (2.0, 0.5), 2.3, 0.2),
        ("uniform", (0.0, 4.0), 1.7, 0.3),
        ("triangular", (0.0, 1.0, 4.0), 1.7, 0.2),
        ("half_normal", (0.6,), 0.8, 0.1),
        ("lognormal", (2.0, 0.4), 2.5, 0.2),
        ("truncated_normal", (2.0, 1.0, 0.0, 5.0), 2.2, 0.3),
    ],
)
def test_weights__give_back_the_law_about_the_reading(random, kind, parameters, value, spread):
    from sim.scenario.laws import Law

    values = Law(kind, parameters).quantile(random.uniform(1e-9, 1.0, FLIGHTS))
    weight = weights({"a": Drawn(kind, parameters, values)}, {"a": Reading(value, spread)}, {})
    mean, width = moments(values, weight)
    error = spread / math.sqrt(effective_size(weight))
    assert abs(mean - value) < 5.0 * error
    assert abs(width - spread) < 5.0 * error


def test_weights__inputs_drawn_together_come_apart_as_they_were_read(random):
    """Two of correlation 0.8: both read independently, the weighted pair is uncorrelated."""
    z = random.multivariate_normal([0.0, 0.0], [[1.0, 0.8], [0.8, 1.0]], FLIGHTS).T
    drawn = {
        "a": Drawn("normal", (15.0, 4.0), 15.0 + 4.0 * z[0]),
        "b": Drawn("lognormal", (2.0, 0.3), 2.0 * np.exp(0.3 * z[1])),
    }
    readings = {"a": Reading(17.0, 1.0), "b": Reading(2.2, 0.15)}
    weight = weights(drawn, readings, {("b", "a"): 0.8})
    for name, reading in readings.items():
        mean, width = moments(drawn[name].values, weight)
        error = reading.spread / math.sqrt(effective_size(weight))
        assert abs(mean - reading.value) < 5.0 * error
        assert abs(width - reading.spread) < 5.0 * error
    means = [moments(drawn[name].values, weight) for name in ("a", "b")]
    parts = [(drawn[n].values - m) / s for n, (m, s) in zip(("a", "b"), means, strict=True)]
    together = float((weight * parts[0] * parts[1]).sum() / weight.sum())
    assert abs(together) < 5.0 / math.sqrt(effective_size(weight))


def test_weights__one_of_two_drawn_together_tells_of_the_other(random):
    """Only one read: the other follows by its regression, mean 0.8 z."""
    z = random.multivariate_normal([0.0, 0.0], [[1.0, 0.8], [0.8, 1.0]], FLIGHTS).T
    drawn = {name: Drawn("normal", (0.0, 1.0), z[i]) for i, name in enumerate("ab")}
    weight = weights(drawn, {"a": Reading(1.0, 0.1)}, {("a", "b"): 0.8})
    mean, width = moments(z[1], weight)
    size = effective_size(weight)
    assert abs(mean - 0.8) < 5.0 * width / math.sqrt(size)
    assert abs(width - math.hypot(0.6, 0.08)) < 5.0 * width / math.sqrt(size)


def test_effective_size__of_equal_weights_is_their_number():
    assert effective_size(np.full(50, 0.3)) == pytest.approx(50.0)
    assert effective_size(np.array([1.0, 0.0, 0.0])) == pytest.approx(1.0)


def test_wilson__agrees_with_the_one_for_whole_numbers():
    from sim.analysis.proportions import wilson

    known = wilson(37, 60, 0.9)
    assert wilson_share(37 / 60, 60.0, 0.9) == pytest.approx((known.lower, known.upper))


def test_weighted_quantile__of_equal_weights_is_the_ordered_value():
    values = np.array([5.0, 1.0, np.inf, 3.0])
    assert weighted_quantile(values, np.ones(4), 0.5) == 3.0
    assert weighted_quantile(values, np.ones(4), 0.51) == 5.0
    assert weighted_quantile(values, np.array([1.0, 1.0, 1.0, 9.0]), 0.5) == 3.0
    assert weighted_quantile(values, np.ones(4), 0.95) == np.inf


def test_reweight__without_readings_says_what_was_simulated(random):
    good = random.uniform(size=1000) < 0.8
    seen = reweight({}, {}, {}, success=good, inside=good, miss=np.arange(1000.0),
                    speed=np.ones(1000))  # fmt: skip
    assert seen.effective == pytest.approx(1000.0)
    assert seen.success[1] == pytest.approx(good.mean())
    assert seen.radius_95[1] == 949.0
    assert seen.ignition == ()


def test_reweight__ignition_height_follows_the_reading(random):
    """A height that grows by 2 m per unit of the input: its median is that of the reading."""
    drawn, flags = drawn_normal(random), np.ones(FLIGHTS, dtype=bool)
    far = np.ones(FLIGHTS)
    seen = reweight({"a": drawn}, {"a": Reading(2.3, 0.2)}, {}, success=flags, inside=flags,
                    miss=far, speed=far, ignition=10.0 + 2.0 * drawn.values)  # fmt: skip
    low, middle, high = seen.ignition
    assert middle[0] < 10.0 + 2.0 * 2.3 < middle[2]
    assert high[1] - low[1] == pytest.approx(2.0 * 2.0 * 1.645 * 0.2, rel=0.15)


def test_reweight__interval_holds_the_truth_as_often_as_it_says():
    """Success falls with the input by a known curve; 400 ensembles, coverage 95 %.

    Fails by chance about once in 10^5: 363 of 400 is 3.9 standard deviations below 380.
    """
    random = np.random.default_rng(3)
    curve = lambda x: 1.0 / (1.0 + np.exp(4.0 * (x - 1.0)))  # noqa: E731
    nodes, ws = np.polynomial.hermite_e.hermegauss(60)
    truth = float((ws * curve(1.1 + 0.15 * nodes)).sum() / ws.sum())
    held = 0
    for _ in range(400):
        x = random.normal(0.8, 0.4, 2000)
        good = random.uniform(size=2000) < curve(x)
        weight = weights({"a": Drawn("normal", (0.8, 0.4), x)}, {"a": Reading(1.1, 0.15)}, {})
        low, _, high = see(weight, good, good, x, x).success
        held += low <= truth <= high
    assert held >= 363


@pytest.mark.parametrize(
    ("value", "spread", "reason"),
    [(9.0, 0.1, "outside"), (-9.0, 0.1, "outside"), (3.2, 2.0, "reach"), (2.0, 1e-6, "thin")],
)
def test_reweight__refuses_rather_than_extrapolates(random, value, spread, reason):
    drawn = {"a": drawn_normal(random)}
    flags = np.ones(FLIGHTS, dtype=bool)
    with pytest.raises(Refused) as refused:
        reweight(drawn, {"a": Reading(value, spread)}, {}, success=flags, inside=flags,
                 miss=np.ones(FLIGHTS), speed=np.ones(FLIGHTS))  # fmt: skip
    assert refused.value.reason == reason


def test_reweight__a_reading_may_reach_across_a_natural_zero(random):
    values = np.abs(random.normal(0.0, 0.3, FLIGHTS))
    weight = weights({"a": Drawn("half_normal", (0.3,), values)}, {"a": Reading(0.05, 0.1)}, {})
    assert effective_size(weight) > 1000.0


@pytest.mark.parametrize("reading", [Reading(math.nan, 0.1), Reading(2.0, 0.0), Reading(2.0, -1.0)])
def test_reweight__what_is_no_reading_is_an_error(random, reading):
    with pytest.raises(ValueError, match="must be"):
        weights({"a": drawn_normal(random)}, {"a": reading}, {})
