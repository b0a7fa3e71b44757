"""Stratified totals: exact where there is one stratum, honest where there are many."""

import numpy as np
import pytest

from sim.analysis.proportions import clopper_pearson
from sim.analysis.strata import Strata

SAMPLES = 2_000


def certain(weights, flights, samples=SAMPLES):
    weights = np.asarray(weights, dtype=float)
    return Strata(weights, np.repeat(weights[:, np.newaxis], samples, axis=1), flights)


def seen(count, flights):
    return np.arange(flights) < count


@pytest.mark.parametrize(("count", "flights"), [(0, 59), (7, 300), (59, 59)])
def test_one_stratum__is_clopper_and_pearson(count, flights):
    found = certain([1.0], [flights]).probability([seen(count, flights)], 0.95)
    exact = clopper_pearson(count, flights, 0.95)
    assert found[:3] == pytest.approx(exact, abs=2e-4)


def test_estimate__is_the_weighted_share():
    # Cochran, Sampling Techniques (1977), equation 5.1: sum of W_h times p_h
    found = certain([0.9, 0.08, 0.02], [100, 50, 10]).probability(
        [seen(10, 100), seen(25, 50), seen(10, 10)], 0.95
    )
    assert found.estimate == pytest.approx(0.9 * 0.1 + 0.08 * 0.5 + 0.02)


def test_what_was_not_flown__counts_as_the_worse_of_the_two():
    full = certain([0.9, 0.1], [200, 200]).probability([seen(20, 200)] * 2, 0.95)
    part = certain([0.9, 0.07], [200, 200]).probability([seen(20, 200)] * 2, 0.95)
    assert part.rest == pytest.approx(0.03)
    # no more of it than 0.03 (a stratum of its own would have its share of them), no less
    assert 0.02 < part.upper - full.upper < 0.03
    assert part.lower < full.lower


def test_bounds__hold_the_truth_as_often_as_they_say():
    """400 ensembles at 90 %: fewer than 84 % hits come less than once in 5,000 by chance."""
    random = np.random.default_rng(3)
    weights, chances, flights = [0.8, 0.15, 0.05], [0.02, 0.4, 0.9], [150, 60, 30]
    truth = float(np.dot(weights, chances))
    strata = certain(weights, flights, samples=400)
    hits = 0
    for _ in range(400):
        # the same draws in all strata, as flights of one number have
        common = random.random(max(flights))
        happened = [common[:n] < p for p, n in zip(chances, flights, strict=True)]
        found = strata.probability(happened, 0.90)
        hits += found.lower <= truth <= found.upper
    assert hits / 400 >= 0.84


def test_same_draws__are_not_taken_for_more_flights():
    """Two strata that always agree are one: the bounds must not be those of twice the flights."""
    flags = np.random.default_rng(1).random(400) < 0.3
    agreeing = certain([0.5, 0.5], [400, 400])
    alike = agreeing.probability([flags, flags], 0.95)
    exact = clopper_pearson(int(flags.sum()), 400, 0.95)
    assert alike.upper - alike.lower == pytest.approx(exact.upper - exact.lower, rel=0.05)
    assert agreeing.shared_variance([flags, flags]) > 0.0
    assert agreeing.shared_variance([flags, ~flags]) == 0.0


def test_chance_not_known__widens_the_bounds():
    # 0 of 25: the chance of the fault is anything up to a tenth
    fault = np.random.default_rng(5).beta(1, 26, SAMPLES)
    flags = [seen(0, 1000), seen(300, 300)]
    known = certain([1.0 - 1 / 27, 1 / 27], [1000, 300]).probability(flags, 0.95)
    open_ = Strata(np.array([1.0 - 1 / 27, 1 / 27]), np.array([1.0 - fault, fault]), [1000, 300])
    found = open_.probability(flags, 0.95)
    assert found.estimate == pytest.approx(known.estimate)
    assert found.upper > 2.0 * known.upper
    # the 97.5th percentile of Beta(1, 26): 1 - 0.025^(1/26)
    assert found.upper == pytest.approx(1.0 - 0.025 ** (1 / 26), rel=0.1)


def test_difference__has_the_sign_and_counts_the_rest_against_it():
    strata = certain([0.9, 0.1], [500, 300])
    found = strata.difference([seen(0, 500), seen(150, 300)], [seen(0, 500), ~seen(290, 300)], 0.95)
    assert found.estimate == pytest.approx(0.1 * 140 / 300)
    assert 0.0 < found.lower < found.estimate < found.upper
    less = certain([0.9, 0.05], [500, 300]).difference(
        [seen(0, 500), seen(150, 300)], [seen(0, 500), ~seen(290, 300)], 0.95
    )
    assert less.lower < 0.0
