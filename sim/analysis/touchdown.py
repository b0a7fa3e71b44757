"""Touchdown: how hard, how tilted, how fast sideways, and how often each limit holds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.flights import (
    BOUND,
    Floats,
    came_down,
    check_flat,
    meanings,
    need,
    successes,
    units,
    worst_if_absent,
)
from sim.analysis.limits import holds, name_of, read_limits
from sim.analysis.order_statistics import check_share, quantile_table, upper_rank
from sim.analysis.proportions import clopper_pearson
from sim.analysis.radial import mean_half_width

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario.success import Limit

QUANTITIES = ("sink_rate", "lateral_speed", "touchdown_speed", "tilt", "tilt_rate")
SHARES = (0.50, 0.95, 0.99)
EXACT = {"units": "1", "method": "Clopper-Pearson, each by itself"}


def touchdown(
    ds: Dataset,
    *,
    confidence: float = 0.95,
    limits: Sequence[Limit] | None = None,
    quantities: Sequence[str] = QUANTITIES,
) -> Dataset:
    """State at first contact, and the probability of each limit, each outcome and of success.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`.
    confidence : float [1]
        Of every bound by itself.
    limits : sequence of limits, optional
        The scenario's `success`; by default those of the scenario stored with the ensemble.
    quantities : sequence of str
        Variables to summarise.

    Returns
    -------
    Dataset
        For each quantity NAME: NAME(statistic, bound) with statistics mean, median, 95th and 99th
        percentile, and NAME_size, the flights that have a value. Percentiles count every flight;
        one without a value is infinitely bad. The mean is of those that have one.
        limit_probability(limit, bound), outcome_probability(outcome, bound), success(bound).

    Raises
    ------
    UserMistake
        If the ensemble is swept, weighted, empty or lacks a variable.
    """
    import xarray as xr

    check_share("confidence", confidence)
    check_flat(ds)
    need(ds, [*quantities, "success"])
    down = came_down(ds)
    total = down.size
    entries: dict[str, Any] = {
        "flights": ((), total, {"units": "1", "long_name": "flights in all"}),
        "came_down": ((), int(np.count_nonzero(down)), {"units": "1"}),
    }
    for name in quantities:
        values = worst_if_absent(ds, name, down)
        table, size = _summary(values, confidence)
        about = {"units": units(ds, name), "method": "mean: Student; others: order statistics"}
        entries[name] = (("statistic", "bound"), table, about)
        entries[f"{name}_size"] = ((), size, {"units": "1", "long_name": f"flights with {name}"})
        entries[f"{name}_95_upper"] = (
            (),
            _one_sided(values, 0.95, confidence),
            {"units": units(ds, name), "long_name": "one-sided upper bound of the 95th percentile"},
        )

    entries |= _limits(ds, read_limits(ds) if limits is None else limits, confidence)
    entries |= _outcomes(ds, confidence)
    coords = {"statistic": ["mean", "median", "p95", "p99"], "bound": list(BOUND)}
    attrs = {
        "title": "touchdown",
        "confidence": confidence,
        "failed_flights": "fail every limit and count as infinitely bad, never dropped",
    }
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def _limits(ds: Dataset, limits: Sequence[Limit], confidence: float) -> dict[str, Any]:
    """How often each limit holds, among all flights."""
    total = ds.sizes["run"]
    rows = np.empty((len(limits), 3))
    for row, limit in zip(rows, limits, strict=True):
        good = holds(limit, ds)
        if good is None:
            row[:] = 0.0, np.nan, 1.0
        else:
            row[:] = clopper_pearson(int(np.count_nonzero(good)), total, confidence)
    comment = "estimate NaN where the ensemble does not hold what the limit speaks of"
    return {
        "limit": ("limit", np.array([name_of(limit) for limit in limits], dtype=str)),
        "limit_probability": (("limit", "bound"), rows, EXACT | {"comment": comment}),
    }


def _outcomes(ds: Dataset, confidence: float) -> dict[str, Any]:
    """How often each outcome came, and success, among all flights."""
    flags = meanings(ds["outcome"])
    values, counted = np.unique(ds["outcome"].to_numpy(), return_counts=True)
    found = dict(zip(values.tolist(), counted.tolist(), strict=True))
    counts = {name: int(found.pop(value, 0)) for name, value in flags.items()}
    counts |= {f"outcome_{value}": int(count) for value, count in found.items()}
    total = ds.sizes["run"]
    rows = [clopper_pearson(count, total, confidence) for count in counts.values()]
    passed = int(np.count_nonzero(successes(ds)))
    return {
        "outcome": ("outcome", list(counts)),
        "outcome_count": (("outcome",), list(counts.values()), {"units": "1"}),
        "outcome_probability": (("outcome", "bound"), rows, EXACT),
        "success_count": ((), passed, {"units": "1"}),
        "success": (("bound",), list(clopper_pearson(passed, total, confidence)), EXACT),
    }


def _one_sided(values: Floats, share: float, confidence: float) -> float:
    rank = upper_rank(len(values), share, confidence)
    return np.inf if rank > len(values) else float(np.partition(values, rank - 1)[rank - 1])


def _summary(values: Floats, confidence: float) -> tuple[Floats, int]:
    """Rows mean, median, 95th, 99th percentile; and how many flights have a value."""
    finite = values[np.isfinite(values)]
    size = len(finite)
    mean = float(finite.mean()) if size else np.nan
    spread = float(finite.std(ddof=1)) if size > 1 else np.nan
    half = mean_half_width(size, spread, confidence)
    rows = quantile_table(values, SHARES, confidence)
    return np.vstack([[mean - half, mean, mean + half], rows]), size
