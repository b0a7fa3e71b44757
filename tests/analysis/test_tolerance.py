"""Levels, brackets, and the confidence of the whole search."""

import numpy as np
import pytest

from sim.analysis.tolerance import decreasing, find_bracket, judge_level, rises, tolerance
from sim.ensemble.tolerance import Search


def test_judge_level__decides_only_where_it_is_clear():
    assert judge_level(256, 256, 0.9, 0.95) == "above"
    assert judge_level(180, 256, 0.9, 0.95) == "below"
    assert judge_level(232, 256, 0.9, 0.95) == "open"


def test_decreasing__is_the_isotonic_fit():
    # pool adjacent violators by hand: (0.8 * 100 + 0.9 * 300) / 400
    fit = decreasing(np.array([0.95, 0.8, 0.9, 0.5]), np.array([100.0, 100.0, 300.0, 100.0]))
    assert fit == pytest.approx([0.95, 0.875, 0.875, 0.5])


def test_find_bracket__straight_line_between_levels():
    states = ["above", "above", "below"]
    found = find_bracket([0.0, 1.0, 2.0], [100, 95, 75], [100] * 3, states, 0.9)
    assert found == pytest.approx((1.0, 1.25, 2.0))


def test_find_bracket__starts_at_the_best_level_when_the_low_end_is_bad():
    states = ["below", "above", "below"]
    found = find_bracket([0.0, 1.0, 2.0], [10, 99, 10], [100] * 3, states, 0.9)
    assert (found.good, found.bad) == (1.0, 2.0)


def test_rises__sees_a_rise_and_not_a_fall(random):
    low, high = (random.random(2000) < p for p in (0.8, 0.9))
    assert rises([low.astype(float), high.astype(float)], 0.95) == (0, 1)
    assert rises([high.astype(float), low.astype(float)], 0.95) is None


def test_search__bracket_holds_the_true_crossing(random, covers):
    """400 whole searches on a known curve, by adaptive levels and stopping."""
    hits_good = hits_bad = 0
    trials, true = 400, 1.0
    for _ in range(trials):
        uniform = random.random(3000)

        def good(level, start, count, u=uniform):
            share = 0.9 + 0.15 * (true - level)  # crosses 90 % at `true`
            return (u[start : start + count] < np.clip(share, 0.0, 1.0)).astype(float)

        search = Search(good, 0.9, 0.9, 12_000)
        search.coarse(0.0, 3.0)
        search.close_in(0.05)
        found = search.bracket()
        hits_good += not found.good > true
        hits_bad += not found.bad < true
    covers(hits_good, trials, 0.9)
    covers(hits_bad, trials, 0.9)


def test_search__spends_its_flights_near_the_crossing(random):
    uniform = random.random(20_000)

    def good(level, start, count):
        share = 1.0 / (1.0 + np.exp(6.0 * (level - 2.0)))
        return (uniform[start : start + count] < share).astype(float)

    search = Search(good, 0.9, 0.95, 40_000)
    search.coarse(0.0, 6.0)
    search.close_in(0.02)
    found = search.result("m")
    crossing = 2.0 - np.log(9.0) / 6.0  # where the logistic curve is 0.9
    assert float(found["good_end"]) < crossing < float(found["bad_end"])
    near = np.abs(found["level"].to_numpy() - crossing) < 0.5
    assert found["flights"].to_numpy()[near].sum() > 0.7 * found["flights"].to_numpy().sum()
    assert float(found["bad_end"]) - float(found["good_end"]) < 0.3


def test_tolerance__no_crossing_is_nan():
    found = tolerance([0.0, 1.0], [np.ones(300), np.ones(300)], success=0.9, confidence=0.95)
    assert np.isnan(float(found["crossing"]))
    assert np.isnan(float(found["bad_end"]))
    assert float(found["good_end"]) == 1.0
