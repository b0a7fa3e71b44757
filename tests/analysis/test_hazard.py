"""The radius that holds a share of impacts, and what a sample cannot show."""

import numpy as np
import pytest
from test_strata import certain

from sim.analysis.hazard import flights_needed, radius_within, weighted_quantile
from sim.analysis.order_statistics import upper_rank
from sim.analysis.strata import Strata
from tests.outside import outside_check


def test_one_stratum__is_the_order_statistic_of_wilks():
    values = np.random.default_rng(2).gamma(2.0, 3.0, 1000)
    found = radius_within(certain([1.0], [1000]), [values], 0.99, 0.95)
    rank = upper_rank(1000, 0.99, 0.95)
    assert found.bound == np.sort(values)[rank - 1]


@pytest.mark.parametrize(
    # R5.6 of the project's references: smallest N without a failure; R5.2: 299
    ("share", "confidence", "least"), [(0.99, 0.90, 230), (0.99, 0.95, 299), (0.999, 0.90, 2302)]
)  # fmt: skip
def test_flights_needed__are_those_of_the_table(share, confidence, least):
    found = flights_needed(certain([1.0], [400]), share, confidence)
    outside_check(
        what=f"flights without a failure that show a clear area of {share} at {confidence}",
        source="binomial; R5.2 and R5.6, recomputed", expected=least, got=found, relative=0.01,
        unit="flights",
    )  # fmt: skip


def test_too_few_flights__show_nothing():
    values = np.random.default_rng(2).gamma(2.0, 3.0, 250)
    found = radius_within(certain([1.0], [250]), [values], 0.99, 0.95)
    assert found.bound == np.inf
    assert found.flights_needed > 290
    assert np.isfinite(found.estimate)


def test_what_is_never_flown__cannot_be_flown_away():
    strata = certain([0.985], [100_000])
    assert flights_needed(strata, 0.99, 0.95) == 0
    assert radius_within(strata, [np.ones(100_000)], 0.99, 0.95).bound == np.inf


def test_rare_fault__moves_the_bound_only_by_its_weight():
    near, far = np.full(5000, 1.0), np.full(500, 50.0)
    rare = radius_within(certain([0.999, 0.001], [5000, 500]), [near, far], 0.99, 0.95)
    often = radius_within(certain([0.95, 0.05], [5000, 500]), [near, far], 0.99, 0.95)
    assert (rare.bound, often.bound) == (1.0, 50.0)


def test_chance_from_few_tests__is_not_taken_for_small():
    """With 0 of 25 the fault may come in a tenth of flights: 99 % cannot leave it out."""
    fault = np.random.default_rng(4).beta(1, 26, 2000)
    strata = Strata(np.array([0.995, 0.005]), np.array([1.0 - fault, fault]), [5000, 500])
    found = radius_within(strata, [np.full(5000, 1.0), np.full(500, 50.0)], 0.99, 0.95)
    assert found.estimate == 1.0
    assert found.bound == 50.0


def test_flight_that_did_not_come_down__is_outside_every_radius():
    values = np.ones(1000)
    values[:30] = np.inf
    assert radius_within(certain([1.0], [1000]), [values], 0.99, 0.95).bound == np.inf


def test_weighted_quantile__by_hand():
    found = weighted_quantile(
        np.array([0.9, 0.1]), [np.array([1.0, 2.0, 3.0]), np.array([10.0, 20.0])], 0.95
    )
    assert found == 10.0  # 1, 2, 3 hold 0.3 each, 10 and 20 hold 0.05 each


@pytest.mark.slow
def test_bound__holds_the_truth_as_often_as_it_says():
    """150 ensembles at 90 %: fewer than 80 % hits come less than once in 5,000 by chance."""
    random = np.random.default_rng(8)
    strata = certain([0.95, 0.05], [300, 60], samples=400)
    # reach: exponential of mean 1 m, and of 4 m with the fault; the 95 % radius by bisection
    low, high = 0.0, 50.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        beyond = 0.95 * np.exp(-middle) + 0.05 * np.exp(-middle / 4.0)
        low, high = (middle, high) if beyond > 0.05 else (low, middle)
    hits = 0
    for _ in range(150):
        common = random.exponential(size=300)
        found = radius_within(strata, [common, 4.0 * common[:60]], 0.95, 0.90, needed=1)
        hits += found.bound >= low
    assert hits / 150 >= 0.80
