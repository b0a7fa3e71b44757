"""How the figures of an ensemble settle with the number of flights.

Two kinds of bounds stand beside each other. Those of a fixed size (Clopper-Pearson, order
statistics) hold for a number of flights that was fixed beforehand; whoever looks at them again and
again and stops when they please is wrong more often than they say. Those of any time
(`sim.analysis.sequential`) hold at all numbers of flights together, so that one may stop on them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from sim.analysis.flights import (
    BOUND,
    Floats,
    Mask,
    came_down,
    check_flat,
    need,
    successes,
    worst_if_absent,
)
from sim.analysis.order_statistics import at_rank, check_share, quantile_of_sorted, quantile_ranks
from sim.analysis.proportions import clopper_pearson
from sim.analysis.sequential import (
    sequential_lower_rank,
    sequential_proportion,
    sequential_upper_rank,
)

if TYPE_CHECKING:
    from xarray import Dataset

RULE = ("fixed_size", "any_time")
"""What bounds hold for: a number of flights fixed beforehand, or all numbers together."""

# statistic -> column of `Flown`, share of the quantile
_QUANTILES = {
    "radius_95": ("distance", 0.95),
    "circular_error_probable": ("distance", 0.50),
    "touchdown_speed_95": ("speed", 0.95),
}
STATISTICS = ("success", *_QUANTILES)

ABOUT = {
    "success": ("1", "share of flights that succeed"),
    "radius_95": ("m", "distance from the mark of 95 % of the flights"),
    "circular_error_probable": ("m", "distance from the mark of half the flights"),
    "touchdown_speed_95": ("m s-1", "95th percentile of touchdown speed"),
}
METHOD = (
    "fixed_size: Clopper-Pearson and order statistics (Wilks 1941); any_time: confidence sequences "
    "by a Beta mixture (Robbins 1970; Howard and Ramdas 2022)"
)
FIRST = 32  # flights; fewer say next to nothing


class Flown(NamedTuple):
    """Flights in the order of their numbers: success, miss distance [m], touchdown speed [m/s].

    One that did not come down is no success, infinitely far and infinitely fast.
    """

    success: Mask
    distance: Floats
    speed: Floats

    def first(self, count: int) -> Flown:
        """Leave out all but the first flights."""
        return Flown(self.success[:count], self.distance[:count], self.speed[:count])


def figures(flown: Flown, confidence: float) -> Floats:
    """Every statistic of some flights, with both kinds of bounds.

    Parameters
    ----------
    flown : Flown
        At least one flight; independent draws.
    confidence : float [1]
        Of each statistic by itself; two-sided.

    Returns
    -------
    ndarray (statistic, rule, bound)
        In the order of STATISTICS, RULE and BOUND. Infinity where so few flights give no upper
        bound, or where so many did not come down.
    """
    size = len(flown.success)
    tail = 0.5 * (1.0 + confidence)
    passed = int(np.count_nonzero(flown.success))
    found = np.empty((len(STATISTICS), len(RULE), len(BOUND)))
    found[0] = [
        clopper_pearson(passed, size, confidence), sequential_proportion(passed, size, confidence)
    ]  # fmt: skip
    for row, (column, share) in zip(found[1:], _QUANTILES.values(), strict=True):
        free = (sequential_lower_rank(size, share, tail), sequential_upper_rank(size, share, tail))
        ranks = (quantile_ranks(size, share, confidence), free)
        ordered = _sorted_where(getattr(flown, column), share, ranks)
        for rule, (low, high) in enumerate(ranks):
            row[rule] = (
                at_rank(ordered, low, 0.0), quantile_of_sorted(ordered, share),
                at_rank(ordered, high),
            )  # fmt: skip
    return found


def _sorted_where(values: Floats, share: float, ranks: Any) -> Floats:
    """Order the values only at the ranks that will be read: sorting a million takes long."""
    size = len(values)
    middle = int(share * (size - 1))
    places = {middle, min(middle + 1, size - 1)}
    places |= {rank - 1 for pair in ranks for rank in pair if 1 <= rank <= size}
    return np.partition(values, sorted(places))


def spread(statistic: str, bounds: Floats) -> float:
    """How far off the estimate may be [1]: of success in itself, of all others as a share of it.

    Parameters
    ----------
    statistic : str
        One of STATISTICS.
    bounds : ndarray (bound,)

    Returns
    -------
    float [1]
        The larger of the two sides; infinity without a bound.
    """
    lower, estimate, upper = (float(x) for x in bounds)
    if not np.isfinite(upper):
        return np.inf
    side = max(upper - estimate, estimate - lower)
    if statistic == "success":
        return side
    return side / estimate if estimate > 0.0 else np.inf


def growing(size: int, points: int) -> list[int]:
    """Numbers of flights to look at: evenly spaced in their logarithm, the last is `size`."""
    spaced = np.geomspace(min(FIRST, size), size, max(points, 2))
    return sorted({round(float(n)) for n in spaced})


def flown_flights(ds: Dataset) -> Flown:
    """Columns that the statistics need, of an ensemble without a sweep.

    Raises
    ------
    UserMistake
        If the ensemble is swept, weighted, empty or lacks a variable.
    """
    check_flat(ds)
    need(ds, ["success", "miss_distance", "touchdown_speed"])
    down = came_down(ds)
    far, fast = (worst_if_absent(ds, name, down) for name in ("miss_distance", "touchdown_speed"))
    return Flown(successes(ds), far, fast)


def settling(ds: Dataset, *, confidence: float = 0.95, points: int = 40) -> Dataset:
    """Success, landing box and touchdown speed of the first flights, of more, and of all.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`; may be unfinished (`open_ensemble(path, unfinished=True)`).
    confidence : float [1]
        Of each statistic by itself.
    points : int
        Numbers of flights to look at, evenly spaced in their logarithm.

    Returns
    -------
    Dataset
        For each of STATISTICS: NAME(flights, rule, bound). `rule` is fixed_size (holds for one
        number of flights fixed beforehand) and any_time (holds at all of them together, so that
        one may stop on it); `bound` is lower, estimate, upper. The attribute `independent` is 0
        for Latin hypercube and Sobol' draws, for which neither is proven.

    Raises
    ------
    UserMistake
        If the ensemble is swept, weighted, empty or lacks a variable.

    Notes
    -----
    A flight that did not come down counts as infinitely far, infinitely fast, and as no success.
    """
    check_share("confidence", confidence)
    found = from_flown(flown_flights(ds), confidence=confidence, points=points)
    method = str(ds.attrs.get("sampling_method", "random"))
    title = str(ds.attrs.get("title", "")).partition(":")[0]
    about = {"vehicle": title, "sampling_method": method, "independent": int(method == "random")}
    about |= {name: ds.attrs[name] for name in ("seed", "unfinished") if name in ds.attrs}
    return found.assign_attrs(about)


def from_flown(flown: Flown, *, confidence: float, points: int) -> Dataset:
    """Dataset of `settling` from plain columns; it says nothing of where they come from."""
    import xarray as xr

    numbers = growing(len(flown.success), points)
    table = np.stack([figures(flown.first(n), confidence) for n in numbers], axis=1)
    entries = {
        name: (
            ("flights", "rule", "bound"),
            rows,
            {"units": ABOUT[name][0], "long_name": ABOUT[name][1], "method": METHOD},
        )
        for name, rows in zip(STATISTICS, table, strict=True)
    }
    coords = {
        "flights": ("flights", numbers, {"units": "1", "long_name": "flights counted"}),
        "rule": list(RULE),
        "bound": list(BOUND),
    }
    attrs = {
        "title": "settling",
        "confidence": confidence,
        "failed_flights": "count as infinitely far and fast and as no success, never dropped",
    }
    return xr.Dataset(entries, coords=coords, attrs=attrs)
