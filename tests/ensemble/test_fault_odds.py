"""Chances of sets of faults, against closed forms and against flights that draw their own."""

from itertools import combinations
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from sim.ensemble.draws import draw_numbers
from sim.ensemble.fault_fields import which_faults
from sim.ensemble.fault_odds import (
    MARGIN_DRAWS,
    SAMPLES,
    draw_several,
    drawn_margin,
    find_odds,
    margin_chance,
    possible_faults,
)
from sim.scenario import load_scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HERON = SCENARIOS / "heron.toml"
MANY = [
    "faults.landing_no_light.happens=0.2", "faults.landing_late_light.happens=0.25",
    "faults.stage_hangs_on.happens=0.15", "faults.legs_stay_up.happens=0.05",
    "faults.legs_stay_up.after=stage_hangs_on", "faults.legs_stay_up.happens_after=0.6",
    "faults.throttle_stuck.strength=9 N +/- 1.2 N", "faults.throttle_stuck.load=8 N +/- 1 N",
]  # fmt: skip


@pytest.fixture(scope="module")
def many():
    return load_scenario(HERON, MANY)


def fault_of(odds, name):
    return next(fault for fault in odds.faults if fault.name == name)


def test_tests__leave_the_posterior_of_a_flat_prior():
    """0 of 25: Beta(1, 26). Kolmogorov-Smirnov at 1 in 10,000 by chance; the mean is Laplace's."""
    scenario = load_scenario(HERON, ['faults.stage_hangs_on.happens={ tests = "0 of 25" }'])
    fault = fault_of(find_odds(scenario), "stage_hangs_on")
    assert (fault.basis, fault.failures, fault.tests) == ("tests", 0, 25)
    assert fault.chance == pytest.approx(1 / 27)
    assert stats.kstest(fault.samples, stats.beta(1, 26).cdf).pvalue > 1e-4
    # by hand: P(chance > x) = (1 - x)^26
    assert np.quantile(fault.samples, 0.95) == pytest.approx(1.0 - 0.05 ** (1 / 26), rel=0.08)


def test_margin__is_the_closed_form_of_two_normal_laws(many):
    odds = find_odds(many)
    # difference of two normal laws: load - strength, mean -1 N, spread sqrt(1.2^2 + 1^2) N
    closed = stats.norm.sf(0.0, loc=-1.0, scale=np.hypot(1.2, 1.0))
    assert fault_of(odds, "throttle_stuck").chance == pytest.approx(closed, rel=1e-12)
    assert fault_of(odds, "throttle_stuck").basis == "margin"


def test_margin__drawn_agrees_with_the_closed_form(many):
    """Off by more than 4 standard deviations once in 16,000 by chance."""
    mixed = many.with_faults([], mixed=True)
    closed = margin_chance(mixed, "throttle_stuck")
    drawn = drawn_margin(mixed, "throttle_stuck")
    assert abs(drawn - closed) < 4.0 * np.sqrt(closed * (1.0 - closed) / MARGIN_DRAWS)


def test_margin__of_other_laws_is_drawn():
    scenario = load_scenario(HERON, [
        'faults.gimbal_cable.strength={ uniform = ["0 N", "10 N"] }',
        "faults.gimbal_cable.load=3 N",
    ])  # fmt: skip
    chance = fault_of(find_odds(scenario), "gimbal_cable").chance
    assert chance == pytest.approx(0.3, abs=4.0 * np.sqrt(0.21 / MARGIN_DRAWS))


def test_sets__add_up_to_one(many):
    odds = find_odds(many)
    assert sum(map(odds.probability, odds.sets(len(odds.names)))) == pytest.approx(1.0, abs=1e-12)
    total = sum(odds.samples(each) for each in odds.sets(len(odds.names)))
    assert total == pytest.approx(np.ones(SAMPLES), abs=1e-12)


def test_sets__one_that_excludes_another_never_comes_with_it(many):
    assert find_odds(many).probability(["landing_no_light", "landing_late_light"]) == 0.0


def test_exclusive__each_keeps_the_chance_that_was_written(many):
    """Though a flight keeps the first that is drawn; 4.5 standard deviations of 40,000 draws."""
    odds = find_odds(many)
    mixed = many.with_faults([], mixed=True)
    numbers = {n: v for n, v in mixed.numbers.items() if n.startswith("faults.")}
    runs = np.arange(40_000)
    drawn = draw_numbers(SimpleNamespace(numbers=numbers, correlated=[]), 1, runs)
    happened = which_faults(lambda n: drawn.get(n, numbers[n].value), mixed)
    for name, chance in (("landing_no_light", 0.2), ("landing_late_light", 0.25)):
        assert odds.marginal(name) == pytest.approx(chance, abs=1e-12)
        spread = np.sqrt(chance * (1.0 - chance) / len(runs))
        assert abs(happened[name].mean() - chance) < 4.5 * spread
    assert not (happened["landing_no_light"] & happened["landing_late_light"]).any()


def test_common_cause__counts(many):
    odds = find_odds(many)
    assert odds.marginal("legs_stay_up") == pytest.approx(0.15 * 0.6 + 0.85 * 0.05)


def test_sets__are_as_frequent_as_in_flights_that_draw_their_own(many):
    """40,000 draws, 17 sets: one off by 4.5 standard deviations once in 8,000 runs by chance."""
    odds = find_odds(many)
    mixed = many.with_faults([], mixed=True)
    numbers = {n: v for n, v in mixed.numbers.items() if n.startswith("faults.")}
    runs = np.arange(40_000)
    drawn = draw_numbers(SimpleNamespace(numbers=numbers, correlated=[]), 1, runs)
    happened = which_faults(lambda n: drawn.get(n, numbers[n].value), mixed)
    flags = np.array([np.broadcast_to(happened[name], runs.shape) for name in odds.names])
    sets = [s for size in range(3) for s in combinations(odds.names, size)]
    for each in sets:
        wanted = np.array([name in each for name in odds.names])
        count = int((flags == wanted[:, np.newaxis]).all(axis=0).sum())
        chance = odds.probability(each)
        spread = np.sqrt(max(chance * (1.0 - chance) * len(runs), 1e-9))
        assert abs(count - chance * len(runs)) < 4.5 * spread, each


def test_several__are_drawn_as_likely_as_they_are(many):
    """Shares of the sets of three or more, 4.5 standard deviations."""
    odds = find_odds(many)
    sets = [frozenset(s) for s in odds.sets(len(odds.names)) if len(s) > 2]
    whole = sum(map(odds.probability, sets))
    found = draw_several(odds, 3_000)
    assert len(found) == 3_000
    for each in sets:
        share = odds.probability(each) / whole
        assert abs(found.count(each) - 3_000 * share) < 4.5 * np.sqrt(3_000 * share * (1 - share))


def test_assumed__only_what_the_vehicle_can_have():
    heron = load_scenario(HERON)
    names = possible_faults(heron)
    assert "parachute_stays_in" not in names
    assert "gimbal_jammed" in names
    odds = find_odds(heron, 0.01)
    assert set(odds.names) == set(names)
    assert {fault.basis for fault in odds.faults} == {"assumed"}
    assert find_odds(heron).names == ()
