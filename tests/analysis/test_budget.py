"""Error budget from flights laid out for it."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from sim.analysis.budget import budget
from sim.errors import UserMistake

WEIGHTS = np.array([3.0, 2.0, 1.0, 0.0])
SOURCES = ("wind", "thrust", "tilt", "paint")


def _flights(random, size, replicates=None):
    """Linear outcome 10 + sum a_i x_i of normal sources: S_i = T_i = a_i^2 / sum (R5.31)."""
    lead = () if replicates is None else (replicates,)
    a, b = random.standard_normal((2, 4, *lead, size))
    sets = [a, b]
    for source in range(4):
        swapped = a.copy()
        swapped[source] = b[source]
        sets.append(swapped)
    values = np.stack([10.0 + np.tensordot(WEIGHTS, x, axes=1) for x in sets])
    dims = ("draws", "run") if replicates is None else ("draws", "replicate", "run")
    return xr.Dataset(
        {
            "miss_distance": (dims, values, {"units": "m"}),
            "outcome": (dims, np.zeros(values.shape, dtype=np.int8)),
            "success": (dims, (values < 12.0).astype(np.int8)),
        },
        coords={"draws": ["A", "B", *SOURCES]},
    )


def test_budget__linear_outcome_in_shares_and_in_metres(random):
    result = budget(_flights(random, 4000), resamples=100)
    truth = WEIGHTS**2 / 14.0
    assert list(result["source"]) == list(SOURCES)
    assert result["first"].sel(bound="estimate").to_numpy() == pytest.approx(truth, abs=0.12)
    assert result["total"].sel(bound="estimate").to_numpy() == pytest.approx(truth, abs=0.06)
    assert float(result["spread"]) == pytest.approx(np.sqrt(14.0), rel=0.06)
    metres = result["with_interactions"].sel(bound="estimate").to_numpy()
    assert metres == pytest.approx(WEIGHTS, abs=0.2)
    left = result["left_if_fixed"]
    assert float(left.sel(source="wind", bound="estimate")) == pytest.approx(np.sqrt(5.0), rel=0.2)
    assert (left.sel(bound="lower") <= left.sel(bound="upper")).all()
    assert left.attrs["units"] == "m"
    first = result["first"].sel(bound="estimate")
    expected = np.sqrt(np.clip(1.0 - first, 0.0, None)) * result["spread"]
    assert left.sel(bound="estimate").to_numpy() == pytest.approx(expected.to_numpy())


def test_budget__replicates_in_any_order_of_dimensions(random):
    ds = _flights(random, 300, replicates=10)
    result = budget(ds)
    assert result.equals(budget(ds.transpose("run", "replicate", "draws")))
    truth = WEIGHTS**2 / 14.0
    assert result["total"].sel(bound="estimate").to_numpy() == pytest.approx(truth, abs=0.08)


def test_budget__of_success_counts_failed_flights_as_failures(random):
    ds = _flights(random, 500)
    ds["outcome"][3, 7] = 7
    ds["miss_distance"][3, 7] = np.nan
    with pytest.raises(UserMistake, match="1 of 3000 outcomes are not finite"):
        budget(ds)
    result = budget(ds, quantity="success", resamples=20)
    assert np.isfinite(result["total"]).all()


def test_budget__mistakes_are_said(random):
    ds = _flights(random, 20)
    with pytest.raises(UserMistake, match="dimension `draws`"):
        budget(ds.isel(draws=0))
    with pytest.raises(UserMistake, match="found A, wind"):
        budget(ds.sel(draws=["A", "wind"]))
    with pytest.raises(UserMistake, match="sink_rate"):
        budget(ds, quantity="sink_rate")
