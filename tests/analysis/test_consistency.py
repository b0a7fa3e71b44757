"""Whether the judgement of a filter's honesty keeps its promise."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from sim.analysis.consistency import consistency, is_aided, judge_mean, mean_bounds
from tests.outside import outside_check


def flown(errors, **more):
    values = {"normalised_error_at_contact": errors, "normalised_error_at_ignition": errors} | more
    values["outcome"] = np.zeros(len(errors))
    return xr.Dataset({name: ("run", np.asarray(v, dtype=float)) for name, v in values.items()})


def verdict(found, moment="contact"):
    names = found["verdict"].attrs["flag_meanings"].split()
    return names[int(found["verdict"].sel(moment=moment))]


def test_mean_bounds__hold_an_honest_filter_as_often_as_they_say():
    """4,000 ensembles of 30 flights; the share is known to 0.5 points, four of them allowed."""
    means = np.random.default_rng(1).chisquare(6, size=(4000, 30)).mean(axis=1)
    low, high = mean_bounds(30, 6, 0.9)
    assert abs(np.mean((means > low) & (means < high)) - 0.9) < 0.019


def test_mean_bounds__are_those_of_a_table():
    # chi-square with 100 degrees: 2.5 % points 74.222 and 129.561 (any statistics text)
    low, high = mean_bounds(50, 2, 0.95)
    outside_check(
        what="2.5 % points of chi-square with 100 degrees of freedom",
        source="tables of any statistics text, from memory", expected=(74.222, 129.561),
        got=(50 * low, 50 * high), tolerance=1e-3, unit="1",
    )  # fmt: skip


def test_consistency__verdicts():
    honest = np.random.default_rng(2).chisquare(6, size=500)
    assert verdict(consistency(flown(honest), confidence=0.999)) == "consistent"
    assert verdict(consistency(flown(4.0 * honest))) == "optimistic"
    assert verdict(consistency(flown(0.25 * honest))) == "pessimistic"
    assert judge_mean(np.nan, 5.0, 7.0) == "unknown"


def test_consistency__figures_count_what_is_known():
    errors = [6.0, 30.0, np.nan, 3.0]
    found = consistency(flown(errors, normalised_innovation_sum=[10.0, 14.0, np.nan, 6.0],
                              innovation_count=[20.0, 20.0, np.nan, 20.0],
                              refused_count=[0.0, 2.0, np.nan, 1.0]))  # fmt: skip
    assert float(found["mean"].sel(moment="contact")) == pytest.approx(13.0)
    assert int(found["flights"].sel(moment="contact")) == 3
    assert float(found["beyond"].sel(moment="ignition")) == pytest.approx(1.0 / 3.0)
    assert float(found["innovation_mean"]) == pytest.approx(0.5)
    assert float(found["refused_count"]) == 3.0


def test_consistency__dead_reckoning_has_none():
    nothing = flown([np.nan, np.nan])
    assert not is_aided(nothing)
    assert is_aided(flown([np.nan, 4.0]))
    assert verdict(consistency(nothing)) == "unknown"
    with pytest.raises(ValueError, match="confidence"):
        consistency(nothing, confidence=1.5)
