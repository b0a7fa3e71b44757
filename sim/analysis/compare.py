"""Two designs compared flight by flight on the same draws."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from scipy import special

from sim.analysis.flights import (
    BOUND,
    Floats,
    came_down,
    check_flat,
    need,
    successes,
    units,
    worst_if_absent,
)
from sim.analysis.order_statistics import check_share, quantile_bounds
from sim.analysis.proportions import mcnemar_exact, paired_difference
from sim.analysis.radial import mean_half_width
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

QUANTITIES = ("miss_distance", "touchdown_speed", "lateral_speed", "tilt")


class Difference(NamedTuple):
    """Paired difference: rows mean and median of (3,) bounds, pairs with both, p-value [1]."""

    rows: Floats
    both: int
    p_value: float


def compare(
    ds_a: Dataset,
    ds_b: Dataset,
    *,
    confidence: float = 0.95,
    quantities: Sequence[str] = QUANTITIES,
) -> Dataset:
    """Paired differences, b minus a, and whether they can be told from noise.

    Parameters
    ----------
    ds_a, ds_b : Dataset
        One dimension, `run`; the same seed. Flights are paired by their run number.
    confidence : float [1]
        Of each comparison by itself.
    quantities : sequence of str

    Returns
    -------
    Dataset
        NAME(statistic, bound) with statistics mean (pairs in which both have a value) and median
        (every pair: a flight without a value is infinitely bad, two such are equal), NAME_p_value,
        NAME_told_apart; success(bound), success_p_value (McNemar), success_told_apart, and the
        counts only_a, only_b of flights on which one alone succeeded.

    Raises
    ------
    UserMistake
        If the ensembles cannot be paired, are swept, weighted, or lack a variable.

    Notes
    -----
    Median: distribution-free bounds and the exact sign test. Mean: Student. A quantity is told
    apart if either test rejects at half the risk (Bonferroni).
    """
    import xarray as xr

    check_share("confidence", confidence)
    for ds in (ds_a, ds_b):
        check_flat(ds)
        need(ds, [*quantities, "success"])
    a, b = _paired(ds_a, ds_b)
    down_a, down_b = came_down(a), came_down(b)
    entries: dict[str, Any] = {"pairs": ((), a.sizes["run"], {"units": "1"})}
    for name in quantities:
        found = paired(
            worst_if_absent(a, name, down_a), worst_if_absent(b, name, down_b), confidence
        )
        about = {"units": units(a, name), "long_name": f"{name}, b minus a"}
        entries[name] = (("statistic", "bound"), found.rows, about)
        entries[f"{name}_both"] = ((), found.both, {"units": "1"})
        entries[f"{name}_p_value"] = ((), found.p_value, {"units": "1"})
        entries[f"{name}_told_apart"] = ((), found.p_value < 1.0 - confidence)
    good_a, good_b = successes(a), successes(b)
    only_a = int(np.count_nonzero(good_a & ~good_b))
    only_b = int(np.count_nonzero(good_b & ~good_a))
    difference = paired_difference(only_a, only_b, len(good_a), confidence)
    # the bounds are the more careful of the two: nothing is claimed that they leave open
    apart = difference.lower > 0.0 or difference.upper < 0.0
    told_apart = apart and difference.p_value < 1.0 - confidence
    exact = {"units": "1", "long_name": "success, b minus a", "method": "exact, Bonferroni"}
    entries |= {
        "only_a": ((), only_a, {"units": "1"}),
        "only_b": ((), only_b, {"units": "1"}),
        "success": (("bound",), list(difference[:3]), exact),
        "success_p_value": ((), difference.p_value, {"units": "1", "method": "McNemar, exact"}),
        "success_told_apart": ((), told_apart),
    }
    coords = {"statistic": ["mean", "median"], "bound": list(BOUND)}
    return xr.Dataset(entries, coords=coords, attrs={"confidence": confidence})


def paired(a: Floats, b: Floats, confidence: float) -> Difference:
    """Mean and median of b - a with bounds.

    Parameters
    ----------
    a, b : ndarray (n,)
        Infinity where a flight has no value; no NaN.
    confidence : float [1]

    Returns
    -------
    Difference
    """
    with np.errstate(invalid="ignore"):
        gap = b - a
    gap[np.isinf(a) & np.isinf(b)] = 0.0
    known = gap[np.isfinite(a) & np.isfinite(b)]
    size = len(known)
    mean = float(known.mean()) if size else np.nan
    spread = float(known.std(ddof=1)) if size > 1 else np.nan
    half = mean_half_width(size, spread, confidence)
    median = quantile_bounds(np.sort(gap), 0.5, confidence)
    sign = mcnemar_exact(int(np.count_nonzero(gap > 0.0)), int(np.count_nonzero(gap < 0.0)))
    student = 1.0
    if size > 1 and spread > 0.0:
        statistic = abs(mean) / (spread / np.sqrt(size))
        student = 2.0 * float(special.stdtr(size - 1, -statistic))
    elif size > 1 and mean != 0.0:
        student = 0.0
    rows = np.array(
        [[mean - half, mean, mean + half], [median.lower, median.estimate, median.upper]]
    )
    return Difference(rows, size, min(1.0, 2.0 * min(sign, student)))


def _paired(ds_a: Dataset, ds_b: Dataset) -> tuple[Dataset, Dataset]:
    """Return the flights that both have, in the same order."""
    import xarray as xr

    seeds = ds_a.attrs.get("seed"), ds_b.attrs.get("seed")
    if seeds[0] != seeds[1]:
        raise UserMistake(
            f"the two ensembles have the seeds {seeds[0]} and {seeds[1]}, so their flights are not "
            "pairs; fly one again with the other's seed"
        )
    if "run" in ds_a.coords and "run" in ds_b.coords:
        a, b = xr.align(ds_a, ds_b, join="inner", exclude=set())
    else:
        a, b = ds_a, ds_b
    if a.sizes["run"] != b.sizes["run"]:
        raise UserMistake(
            f"the ensembles have {a.sizes['run']} and {b.sizes['run']} flights and no run numbers "
            "to pair them by"
        )
    if a.sizes["run"] == 0:
        raise UserMistake("the two ensembles have no flight number in common")
    return a, b
