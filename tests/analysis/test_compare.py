"""Two designs on the same draws."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from sim.analysis.compare import compare, paired
from sim.analysis.proportions import mcnemar_exact
from sim.errors import UserMistake

INF = np.inf


def _shifted(ds, name, by):
    other = ds.copy(deep=True)
    other[name] = other[name] + by
    return other


def test_compare__a_small_constant_gain_shows_through_the_scatter(ensemble, random):
    a = ensemble(size=200)
    gain = 0.05 * (1.0 + 0.5 * random.standard_normal(200))
    result = compare(a, _shifted(a, "touchdown_speed", -gain))
    row = result["touchdown_speed"].sel(statistic="mean")
    assert float(row.sel(bound="upper")) < 0.0
    assert float(row.sel(bound="estimate")) == pytest.approx(-0.05, abs=0.015)
    assert bool(result["touchdown_speed_told_apart"])
    assert not bool(result["tilt_told_apart"])
    assert not bool(result["success_told_apart"])


def test_compare__a_design_with_itself_is_not_told_apart(ensemble):
    a = ensemble(size=100, failed=(1, 1, 1, 1, 1, 1, 1))
    result = compare(a, a)
    for name in ("miss_distance", "touchdown_speed", "lateral_speed", "tilt"):
        assert float(result[f"{name}_p_value"]) == 1.0
        assert np.all(result[name] == 0.0)
    assert result["success"].sel(bound="estimate") == 0.0
    assert float(result["success_p_value"]) == 1.0


def test_compare__failures_weigh_in_the_median_and_in_success(ensemble):
    """A design that loses one flight in three more is told apart though the others are the same."""
    a, b = ensemble(size=90), ensemble(size=90, failed=(0, 0, 0, 0, 0, 0, 30))
    for name in ("miss_distance", "touchdown_speed", "lateral_speed", "tilt"):
        b[name] = a[name].where(b["outcome"] < 5)
    result = compare(a, b)
    assert bool(result["miss_distance_told_apart"])
    assert int(result["miss_distance_both"]) == 60
    assert (int(result["only_a"]), int(result["only_b"])) == (30, 0)
    assert float(result["success_p_value"]) == mcnemar_exact(30, 0)
    low, middle, high = result["success"].to_numpy()
    assert low < middle == pytest.approx(-1.0 / 3.0)
    assert middle < high < 0.0


def test_compare__pairs_by_run_number(ensemble):
    a = ensemble(size=50)
    b = a.isel(run=np.random.default_rng(3).permutation(50)[:40])
    result = compare(a, b)
    assert int(result["pairs"]) == 40
    assert np.all(result["miss_distance"] == 0.0)


def test_paired__failed_in_both_is_no_difference():
    found = paired(np.array([1.0, INF, INF, 2.0]), np.array([2.0, INF, 3.0, INF]), 0.95)
    assert found.both == 1
    assert found.rows[1].tolist() == [-INF, 0.5, INF]


def test_paired__tells_equal_designs_apart_no_more_than_it_should(random, covers):
    """Skewed differences of mean and median zero in a tied law. False-alarm rate 1e-6."""
    trials, kept, inside = 2000, 0, 0
    for _ in range(trials):
        gap = np.round(random.standard_t(3, 60), 1)
        found = paired(np.zeros(60), gap, 0.95)
        kept += found.p_value >= 0.05
        inside += found.rows[1, 0] <= 0.0 <= found.rows[1, 2]
    covers(kept, trials, 0.95)
    covers(inside, trials, 0.95)


def test_compare__what_cannot_be_paired_is_said(ensemble):
    a = ensemble(size=20)
    with pytest.raises(UserMistake, match="seeds 1 and 2"):
        compare(a, a.assign_attrs(seed=2))
    with pytest.raises(UserMistake, match="no flight number in common"):
        compare(a.isel(run=slice(5)), a.isel(run=slice(5, 10)))
    with pytest.raises(UserMistake, match="20 and 10 flights"):
        compare(a.drop_vars("run"), a.drop_vars("run").isel(run=slice(10)))


def test_paired__p_value_is_twice_the_smaller_of_two_tests(random):
    """Sign test and Student's test of SciPy, Bonferroni for choosing between them."""
    gap = 0.3 + random.standard_normal(40)
    sign = stats.binomtest(int(np.sum(gap > 0.0)), 40, 0.5).pvalue
    student = stats.ttest_1samp(gap, 0.0).pvalue
    found = paired(np.ones(40), 1.0 + gap, 0.95)
    assert found.p_value == pytest.approx(min(1.0, 2.0 * min(sign, student)), rel=1e-9)


def test_compare__claims_nothing_that_its_bounds_leave_open(ensemble):
    # 160 against 125 of 4,000: McNemar's p is below 5 %, the bounds reach across zero
    a, b = ensemble(size=4000), ensemble(size=4000)
    good = np.ones(4000, dtype=np.int8)
    a["success"], b["success"] = ("run", good.copy()), ("run", good.copy())
    a["success"][:125] = 0
    b["success"][125:285] = 0
    result = compare(a, b)
    assert (int(result["only_a"]), int(result["only_b"])) == (160, 125)
    assert float(result["success_p_value"]) < 0.05
    low, _, high = result["success"].to_numpy()
    assert low < 0.0 < high
    assert not bool(result["success_told_apart"])
