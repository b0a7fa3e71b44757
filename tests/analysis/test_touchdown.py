"""Touchdown statistics, limits and outcomes from invented ensembles."""

from __future__ import annotations

import numpy as np
import pytest

from sim.analysis.limits import foot_radius, holds, landing_pad_radius, read_limits
from sim.analysis.proportions import clopper_pearson
from sim.analysis.touchdown import touchdown
from sim.errors import UserMistake
from sim.scenario.success import Limit, read_limit

SCENARIO = """
[legs]
foot_radius = "28 cm"

[landing_pad]
radius = "3 m"

[success]
touchdown_speed = "< 2.5 m/s"
tilt = "< 8 deg"
inside_landing_pad = true
first_contact = "foot"
"""


def test_touchdown__mean_percentiles_and_size(ensemble):
    ds = ensemble(size=500)
    result = touchdown(ds)
    sink = ds["sink_rate"].to_numpy()
    rows = result["sink_rate"]
    assert float(rows.sel(statistic="mean", bound="estimate")) == pytest.approx(sink.mean())
    assert float(rows.sel(statistic="median", bound="estimate")) == pytest.approx(np.median(sink))
    assert float(rows.sel(statistic="p95", bound="estimate")) == pytest.approx(
        np.quantile(sink, 0.95)
    )
    assert (rows.sel(bound="lower") <= rows.sel(bound="estimate")).all()
    assert (rows.sel(bound="estimate") <= rows.sel(bound="upper")).all()
    assert int(result["sink_rate_size"]) == 500
    assert rows.attrs["units"] == "m s-1"


def test_touchdown__flights_without_a_touchdown_are_infinitely_hard(ensemble):
    ds = ensemble(size=200, failed=(0, 0, 0, 0, 0, 0, 20))
    result = touchdown(ds)
    assert np.isinf(result["tilt"].sel(statistic="p95", bound="estimate"))
    assert np.isfinite(result["tilt"].sel(statistic="mean", bound="estimate"))
    assert int(result["tilt_size"]) == 180
    assert np.isinf(result["tilt_95_upper"])


def test_touchdown__outcomes_add_up_and_success_is_exact(ensemble):
    ds = ensemble(size=300, failed=(9, 8, 7, 6, 5, 4, 3))
    result = touchdown(ds)
    assert int(result["outcome_count"].sum()) == 300
    assert int(result["outcome_count"].sel(outcome="tumbled")) == 7
    expected = clopper_pearson(8, 300)
    found = result["outcome_probability"].sel(outcome="airframe_first").to_numpy()
    assert found == pytest.approx(expected)
    assert result["success"].to_numpy() == pytest.approx(clopper_pearson(258, 300))
    assert int(result["success_count"]) == 258


def test_touchdown__an_outcome_without_a_name_is_still_counted(ensemble):
    ds = ensemble(size=100)
    ds["outcome"][:4] = 11
    result = touchdown(ds)
    assert int(result["outcome_count"].sel(outcome="outcome_11")) == 4
    assert int(result["outcome_count"].sum()) == 100


def test_touchdown__a_failed_flight_is_no_success_whatever_its_flag(ensemble):
    ds = ensemble(size=100, failed=(0, 0, 0, 0, 0, 0, 10))
    ds["success"][:] = 1
    assert int(touchdown(ds)["success_count"]) == 90


def test_touchdown__each_limit_with_exact_bounds(ensemble):
    ds = ensemble(size=400, failed=(0, 10, 0, 0, 0, 0, 10), sigma=(2.0, 2.0))
    result = touchdown(ds.assign_attrs(scenario=SCENARIO))["limit_probability"]
    slow = int(np.count_nonzero(ds["touchdown_speed"] < 2.5))
    row = result.sel(limit="touchdown_speed < 2.5 m/s").to_numpy()
    assert row == pytest.approx(clopper_pearson(slow, 400))
    near = int(np.count_nonzero(ds["miss_distance"] + 0.28 <= 3.0))
    row = result.sel(limit="inside_landing_pad true").to_numpy()
    assert row == pytest.approx(clopper_pearson(near, 400))
    row = result.sel(limit="first_contact foot").to_numpy()
    assert row == pytest.approx(clopper_pearson(380, 400))


def test_touchdown__limits_given_count_and_not_those_of_the_file(ensemble):
    ds = ensemble(size=60).assign_attrs(scenario=SCENARIO)
    result = touchdown(ds, limits=[read_limit("tilt", "< 0.1 deg")])
    assert list(result["limit"]) == ["tilt < 0.1 deg"]
    assert touchdown(ensemble(size=9))["limit_probability"].shape == (0, 3)


def test_touchdown__says_so_where_a_limit_cannot_be_told(ensemble):
    ds = ensemble(size=50)
    limits = [
        read_limit("inside_landing_pad", True),
        read_limit("stage_closest", "> 1 m"),
        Limit("first_contact", None, None, "knee", "knee"),
    ]
    rows = touchdown(ds, limits=limits)["limit_probability"].to_numpy()
    assert np.all(rows[:, [0, 2]] == [0.0, 1.0])
    assert np.isnan(rows[:, 1]).all()


def test_read_limits__what_cannot_be_read_is_said(ensemble):
    ds = ensemble(size=10)
    assert [limit.variable for limit in read_limits(ds.assign_attrs(scenario="[legs]"))] == [
        "first_contact"
    ]
    for bad, names in (
        ('[success]\ntilt = "< 8 kg"', "tilt"),
        ('[success]\nbeauty = "> 3"', "beauty"),
        ("success = 3", "section"),
        ("[success", "cannot be read"),
    ):
        with pytest.raises(UserMistake, match=names):
            read_limits(ds.assign_attrs(scenario=bad))


def test_holds__ends_count_or_not_as_written(ensemble):
    ds = ensemble(size=3)
    ds["tilt"][:] = [0.1, 0.2, 0.3]
    assert holds(read_limit("tilt", "< 0.3 rad"), ds).tolist() == [True, True, False]
    assert holds(read_limit("tilt", "<= 0.3 rad"), ds).tolist() == [True, True, True]
    assert holds(read_limit("tilt", "0.1..0.2 rad"), ds).tolist() == [True, True, False]
    ds["tilt"][1] = np.nan
    assert holds(read_limit("tilt", "<= 0.3 rad"), ds).tolist() == [True, False, True]


def test_holds__never_on_a_flight_that_failed(ensemble):
    ds = ensemble(size=20, failed=(0, 0, 0, 0, 0, 0, 4)).assign_attrs(scenario=SCENARIO)
    ds["miss_distance"] = ds["miss_distance"].fillna(0.0)
    ds["tilt"] = ds["tilt"].fillna(0.0)
    ds["contact_point"][:] = 1
    for limit in read_limits(ds):
        assert not holds(limit, ds)[16:].any()
    outside = read_limit("inside_landing_pad", False)
    assert not holds(outside, ds)[16:].any()


def test_holds__what_the_file_says_of_the_landing_pad_goes_first(ensemble):
    ds = ensemble(size=20).assign_attrs(scenario=SCENARIO)
    ds["inside_landing_pad"] = ("run", (np.arange(20) < 12).astype(np.int8))
    assert int(holds(read_limit("inside_landing_pad", True), ds).sum()) == 12
    assert int(holds(read_limit("inside_landing_pad", False), ds).sum()) == 8


def test_lengths__from_the_scenario_or_unknown(ensemble):
    ds = ensemble(size=3)
    assert foot_radius(ds) is None
    full = ds.assign_attrs(scenario=SCENARIO)
    assert (foot_radius(full), landing_pad_radius(full)) == pytest.approx((0.28, 3.0))
    bare = ds.assign_attrs(scenario='title = "a brick"')
    assert (foot_radius(bare), landing_pad_radius(bare)) == (0.0, np.inf)
    loose = ds.assign_attrs(scenario='[legs]\nfoot_radius = "28 cm +/- 1 cm"')
    assert foot_radius(loose) is None
    swept = full.expand_dims(landing_pad_radius=[1.0, 2.0])
    assert landing_pad_radius(swept) is None
    assert landing_pad_radius(swept.isel(landing_pad_radius=1)) == 2.0
    with pytest.raises(UserMistake, match=r"legs\.foot_radius"):
        foot_radius(ds.assign_attrs(scenario='[legs]\nfoot_radius = "3 kg"'))


def test_touchdown__mistakes_are_said(ensemble):
    ds = ensemble(size=10)
    with pytest.raises(UserMistake, match="tilt_rate"):
        touchdown(ds.drop_vars("tilt_rate"))
    with pytest.raises(UserMistake, match="swept"):
        touchdown(ds.expand_dims(gain=[1.0, 2.0]))
