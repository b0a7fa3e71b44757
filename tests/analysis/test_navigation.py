"""Navigation error apart from guidance error."""

from __future__ import annotations

import numpy as np
import pytest

from sim.analysis.navigation import navigation
from sim.errors import UserMistake


def test_navigation__identity_holds_and_the_parts_add_up(ensemble):
    result = navigation(ensemble(size=500, failed=(0, 0, 0, 0, 0, 0, 7)))
    assert float(result["identity_deviation"]) < 1e-12
    assert int(result["identity_unknown"]) == 0
    shares = result["share_of_variance"]
    assert float(shares.sel(part="miss")) == pytest.approx(1.0)
    assert float(shares.sel(part=["guidance", "navigation"]).sum()) == pytest.approx(1.0)


def test_navigation__a_broken_identity_shows(ensemble):
    ds = ensemble(size=100)
    ds["guidance_error_north"][17] += 0.25
    ds["guidance_error_east"][3] = np.nan
    result = navigation(ds)
    assert float(result["identity_deviation"]) == pytest.approx(0.25)
    assert int(result["identity_unknown"]) == 1


def test_navigation__numbers_of_each_part(ensemble):
    ds = ensemble(size=400)
    result = navigation(ds)
    east = ds["believed_landing_error_east"].to_numpy()
    north = ds["believed_landing_error_north"].to_numpy()
    part = result.sel(part="navigation")
    means = part["mean"].sel(bound="estimate").to_numpy()
    assert means == pytest.approx([east.mean(), north.mean()])
    assert part["covariance"].to_numpy() == pytest.approx(np.cov(east, north))
    median = float(part["distance"].sel(percent=50, bound="estimate"))
    assert median == pytest.approx(np.median(np.hypot(east, north)))
    assert "unit_distance" not in result


def test_navigation__flights_not_down_are_infinitely_far(ensemble):
    ds = ensemble(size=100, failed=(0, 0, 0, 0, 10, 0, 0))
    ds["navigation_error_east"] = ds["believed_landing_error_east"]
    ds["navigation_error_north"] = ds["believed_landing_error_north"]
    result = navigation(ds)
    assert np.isinf(result["distance"].sel(percent=95, bound="estimate")).all()
    assert np.isinf(result["unit_distance"].sel(percent=95, bound="estimate"))
    assert np.isfinite(result["distance"].sel(percent=50, bound="estimate")).all()


def test_navigation__all_down_to_nothing(ensemble):
    result = navigation(ensemble(size=30, failed=(0, 0, 0, 0, 30, 0, 0)))
    assert np.isnan(result["identity_deviation"])
    assert np.isnan(result["share_of_variance"]).all()
    with pytest.raises(UserMistake, match="guidance_error_east"):
        navigation(ensemble(size=5).drop_vars("guidance_error_east"))
