"""Touchdown statistics, limits and outcomes from invented ensembles."""

from __future__ import annotations

import numpy as np
import pytest

from sim.analysis.limits import FileLimit, holds, limits_text, read_limits
from sim.analysis.proportions import clopper_pearson
from sim.analysis.touchdown import touchdown
from sim.errors import UserMistake

LIMITS = (
    FileLimit("touchdown_speed", None, 2.5, None, "touchdown_speed < 2.5 m/s"),
    FileLimit("tilt", None, np.radians(8.0), None, "tilt < 8 deg"),
    FileLimit("inside_landing_pad", None, None, True, "inside_landing_pad = true"),
    FileLimit("first_contact", None, None, "foot", 'first_contact = "foot"'),
)


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
    result = touchdown(ds, limits=LIMITS, landing_pad_radius=3.0)
    speed = ds["touchdown_speed"].to_numpy()
    slow = int(np.count_nonzero(speed < 2.5))
    row = result["limit_probability"].sel(limit="touchdown_speed < 2.5 m/s").to_numpy()
    assert row == pytest.approx(clopper_pearson(slow, 400))
    near = int(np.count_nonzero(ds["miss_distance"].to_numpy() <= 3.0))
    row = result["limit_probability"].sel(limit="inside_landing_pad = true").to_numpy()
    assert row == pytest.approx(clopper_pearson(near, 400))
    row = result["limit_probability"].sel(limit='first_contact = "foot"').to_numpy()
    assert row == pytest.approx(clopper_pearson(380, 400))


def test_touchdown__limits_from_the_file_as_json_and_as_lines(ensemble):
    ds = ensemble(size=200, failed=(0, 5, 0, 0, 0, 0, 5))
    expected = touchdown(ds, limits=LIMITS)
    ds.attrs["success"] = limits_text(LIMITS)
    assert touchdown(ds).equals(expected)
    ds.attrs["success"] = "\n".join(limit.text for limit in LIMITS)
    assert touchdown(ds).equals(expected)
    assert touchdown(ds.assign_attrs(success=""))["limit_probability"].shape == (0, 3)


def test_touchdown__says_so_where_a_limit_cannot_be_told(ensemble):
    result = touchdown(ensemble(size=50), limits=LIMITS)
    row = result["limit_probability"].sel(limit="inside_landing_pad = true").to_numpy()
    assert (row[0], row[2]) == (0.0, 1.0)
    assert np.isnan(row[1])


def test_read_limits__units_signs_and_ends(ensemble):
    ds = ensemble(size=10)
    ds.attrs["success"] = (
        'tilt = "<= 8 deg"\nsink_rate > 20 cm/s and < 3 km/h\ninside_landing_pad = false'
    )
    tilt, sink, inside = read_limits(ds)
    assert tilt.high == pytest.approx(np.radians(8.0))
    assert tilt.low is None
    assert (sink.low, sink.high) == pytest.approx((0.2, 3.0 / 3.6))
    assert inside.flag is False
    for bad in ("tilt < 8 kg", "tilt of 8", "tilt <", "[1, 2]", '[{"variable": "tilt"}]'):
        ds.attrs["success"] = bad
        with pytest.raises(UserMistake, match="success"):
            read_limits(ds)


def test_holds__ends_count_or_not_as_written(ensemble):
    ds = ensemble(size=3)
    ds["tilt"][:] = [0.1, 0.2, 0.3]
    strict = FileLimit("tilt", 0.1, 0.3, None, "> 0.1 rad and < 0.3 rad")
    loose = FileLimit("tilt", 0.1, 0.3, None, ">= 0.1 rad and <= 0.3 rad")
    assert holds(strict, ds).tolist() == [False, True, False]
    assert holds(loose, ds).tolist() == [True, True, True]
    ds["tilt"][1] = np.nan
    assert holds(loose, ds).tolist() == [True, False, True]


def test_holds__an_outcome_or_a_flag_of_the_file(ensemble):
    ds = ensemble(size=20, failed=(0, 0, 4, 0, 0, 0, 0))
    tumbled = FileLimit("tumbled", None, None, False, "tumbled = false")
    assert int(holds(tumbled, ds).sum()) == 16
    ds["inside_landing_pad"] = ("run", (np.arange(20) < 12).astype(np.int8))
    assert int(holds(LIMITS[2], ds).sum()) == 12
    assert holds(FileLimit("first_contact", None, None, "knee", ""), ds) is None
    assert holds(FileLimit("slide", None, 0.2, None, "< 20 cm"), ds) is None


def test_touchdown__mistakes_are_said(ensemble):
    ds = ensemble(size=10)
    with pytest.raises(UserMistake, match="tilt_rate"):
        touchdown(ds.drop_vars("tilt_rate"))
    with pytest.raises(UserMistake, match="swept"):
        touchdown(ds.expand_dims(gain=[1.0, 2.0]))
