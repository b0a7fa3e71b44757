"""Forced flights: same draws, same bits, and the totals of flights with mixed faults."""

from pathlib import Path

import numpy as np
import pytest

from sim.analysis.proportions import clopper_pearson
from sim.analysis.strata import Strata
from sim.ensemble.draws import draw_numbers
from sim.ensemble.fault_odds import find_odds
from sim.ensemble.fly_runs import fly_runs
from sim.ensemble.strata import SEVERAL, events, fly_strata, plan_each, plan_weighted, weights
from sim.scenario import load_scenario

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"
RUNS = np.arange(16)
TWO = ["faults.landing_short.happens=0.2", "faults.legs_stay_up.happens=0.2"]


def flown(scenario, runs=RUNS, seed=1):
    return fly_runs(scenario, seed, runs, draw_numbers(scenario, seed, runs))


def same(a, b):
    return all(np.array_equal(a[name], b[name], equal_nan=True) for name in a)


@pytest.fixture(scope="module")
def strata():
    scenario = load_scenario(HERON, TWO)
    odds = find_odds(scenario)
    return scenario, odds, fly_strata(scenario, odds, plan_each(odds, 16, sound=16, pair=16))


def test_no_fault__is_the_flight_without_the_section(strata):
    _, _, found = strata
    assert same(flown(load_scenario(HERON)), found.of().outcomes)


@pytest.mark.parametrize("name", ["landing_short", "legs_stay_up"])
def test_forced__is_the_same_to_the_bit_either_way(strata, name):
    scenario, _, found = strata
    assert same(flown(scenario.with_faults([name])), found.of(name).outcomes)


def test_forced__changes_only_what_comes_of_it(strata):
    """A landing motor that ends early leaves all before it as it was, to the bit."""
    _, _, found = strata
    sound, short = found.of().outcomes, found.of("landing_short").outcomes
    for name in ("lift_off_time", "apogee_height", "separation_time", "landing_light_time",
                 "maximum_tilt_climb", "maximum_speed"):  # fmt: skip
        assert np.array_equal(sound[name], short[name], equal_nan=True), name
    # the stage falls in steps that end where the vehicle's do
    assert short["stage_east"] == pytest.approx(sound["stage_east"], abs=1e-6)
    assert np.median(short["touchdown_speed"]) > np.median(sound["touchdown_speed"]) + 1.0


def test_draws__of_other_numbers_stay_when_a_fault_is_forced(strata):
    scenario, _, _ = strata
    plain = draw_numbers(load_scenario(HERON), 1, RUNS)
    forced = draw_numbers(scenario.with_faults(["legs_stay_up"]), 1, RUNS)
    assert all(np.array_equal(plain[name], forced[name]) for name in plain)


def test_weights__and_the_rest_are_everything(strata):
    _, _, found = strata
    mean, samples = weights(found)
    assert mean.sum() + found.rest == pytest.approx(1.0)
    assert samples.sum(axis=0) + found.rests == pytest.approx(np.ones(samples.shape[1]))
    assert found.of("landing_short", "legs_stay_up").weight == pytest.approx(0.04)


def test_plan__gives_rare_sets_fewer_flights_and_several_their_own():
    scenario = load_scenario(HERON, [*TWO, "faults.throttle_stuck.happens=0.001"])
    odds = find_odds(scenario)
    plan = plan_weighted(odds, 4_000)
    assert plan[()] > plan[("landing_short",)] > plan[("throttle_stuck",)]
    assert SEVERAL in plan
    found = fly_strata(scenario, odds, {(): 8, SEVERAL: 8})
    assert found.rest == 0.0
    # the sets drawn for it have three faults: none of these flights stands
    several = next(s for s in found.strata if s.faults == SEVERAL)
    assert several.weight == pytest.approx(1.0 - odds.probability([]))
    assert not several.outcomes["standing"].any()


@pytest.mark.slow
def test_total__agrees_with_plain_simulation_of_mixed_faults():
    """At a chance of 20 %: the two 99 % intervals overlap; by chance they do not once in 3,000."""
    scenario = load_scenario(HERON, [*TWO, 'flight.settle_longest="2 s"'])
    odds = find_odds(scenario)
    found = fly_strata(scenario, odds, plan_each(odds, 600, sound=1000, pair=200), seed=3)
    strata = Strata(*weights(found), [s.flights for s in found.strata])
    total = strata.probability(events(found, lambda out: out["standing"] > 0.5), 0.99, rest=False)
    plain = flown(scenario.with_faults([], mixed=True), np.arange(2_000), seed=4)
    stands = int(np.sum(plain["standing"] > 0.5))
    seen = clopper_pearson(stands, 2_000, 0.99)
    assert total.lower < seen.upper
    assert seen.lower < total.upper
    assert total.upper - total.lower < seen.upper - seen.lower  # worth the trouble


def test_total__agrees_with_plain_simulation_of_few_flights():
    """The same with 200 flights each; 99 % intervals, apart once in 3,000 by chance."""
    scenario = load_scenario(HERON, TWO)
    odds = find_odds(scenario)
    found = fly_strata(scenario, odds, plan_each(odds, 80, sound=160, pair=40), seed=3)
    strata = Strata(*weights(found), [s.flights for s in found.strata])
    total = strata.probability(events(found, lambda out: out["standing"] > 0.5), 0.99, rest=False)
    plain = flown(scenario.with_faults([], mixed=True), np.arange(256), seed=4)
    seen = clopper_pearson(int(np.sum(plain["standing"] > 0.5)), 256, 0.99)
    assert total.lower < seen.upper
    assert seen.lower < total.upper
    assert seen.estimate < 0.9  # a fifth of them has legs that stay up
