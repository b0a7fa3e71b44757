"""Navigation error (believed against true) apart from guidance error (believed against wanted)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.flights import BOUND, Floats, came_down, check_flat, need
from sim.analysis.order_statistics import check_share, quantile_table
from sim.analysis.radial import mean_half_width, moments

if TYPE_CHECKING:
    from xarray import Dataset

# The parts of the miss: variables for east and north, and the sign with which they add up to it.
PARTS = {
    "miss": ("miss_east", "miss_north", 1.0),
    "guidance": ("guidance_error_east", "guidance_error_north", 1.0),
    "navigation": ("believed_landing_error_east", "believed_landing_error_north", -1.0),
}
PERCENT = (50.0, 95.0)


def navigation(ds: Dataset, *, confidence: float = 0.95) -> Dataset:
    """Split the miss at first contact into what was believed wrongly and what was flown wrongly.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`.
    confidence : float [1]
        Of every bound by itself.

    Returns
    -------
    Dataset
        mean(part, axis, bound), distance(part, percent, bound), covariance(part, axis, other_axis),
        share_of_variance(part) of the total variance of the miss (navigation with its sign; the two
        add to one), identity_deviation: the largest of |miss - (guidance - navigation)| over the
        flights that came down, and identity_unknown: those of them that lack a term.
        unit_distance(percent, bound): horizontal error of the inertial unit's own position, if the
        ensemble holds it.

    Raises
    ------
    UserMistake
        If the ensemble is swept, weighted, empty or lacks a variable.

    Notes
    -----
    miss = guidance error - navigation error of the landing point, both defined at first contact.
    Flights that did not come down count as infinitely far in the percentiles.
    """
    import xarray as xr

    check_share("confidence", confidence)
    check_flat(ds)
    need(ds, [name for east, north, _ in PARTS.values() for name in (east, north)])
    down = came_down(ds)
    points = {
        part: (ds[east].to_numpy(), ds[north].to_numpy())
        for part, (east, north, _) in PARTS.items()
    }
    deviation, unknown = identity_deviation(
        *(np.stack([axis[down] for axis in points[part]]) for part in PARTS)
    )
    means, distances, matrices, shares = [], [], [], []
    miss = [axis[down] for axis in points["miss"]]
    for part, (east, north) in points.items():
        good = down & np.isfinite(east) & np.isfinite(north)
        known = moments(east[good], north[good])
        spread = np.sqrt(np.diag(known.covariance))
        half = [mean_half_width(known.size, float(sigma), confidence) for sigma in spread]
        means.append(np.stack([known.mean - half, known.mean, known.mean + half], axis=1))
        matrices.append(known.covariance)
        distances.append(_distances(east, north, good, confidence))
        here = [east[down], north[down]]
        shares.append(PARTS[part][2] * _shared_variance(here, miss))
    entries: dict[str, Any] = {
        "flights": ((), down.size, {"units": "1"}),
        "came_down": ((), int(np.count_nonzero(down)), {"units": "1"}),
        "mean": (("part", "axis", "bound"), means, {"units": "m", "method": "Student"}),
        "distance": (
            ("part", "percent", "bound"),
            distances,
            {"units": "m", "method": "order statistics, every flight counted"},
        ),
        "covariance": (("part", "axis", "other_axis"), matrices, {"units": "m2"}),
        "share_of_variance": (
            ("part",),
            shares,
            {"units": "1", "long_name": "covariance with the miss over the variance of the miss"},
        ),
        "identity_deviation": (
            (),
            deviation,
            {"units": "m", "long_name": "largest |miss - (guidance error - navigation error)|"},
        ),
        "identity_unknown": (
            (),
            unknown,
            {"units": "1", "long_name": "flights that came down but lack a term of the identity"},
        ),
    }
    if "navigation_error_east" in ds and "navigation_error_north" in ds:
        east = ds["navigation_error_east"].to_numpy()
        north = ds["navigation_error_north"].to_numpy()
        good = down & np.isfinite(east) & np.isfinite(north)
        entries["unit_distance"] = (
            ("percent", "bound"),
            _distances(east, north, good, confidence),
            {"units": "m", "long_name": "horizontal position error of the inertial unit"},
        )
    coords = {
        "part": list(PARTS),
        "axis": ["east", "north"],
        "other_axis": ["east", "north"],
        "percent": ("percent", list(PERCENT), {"units": "percent"}),
        "bound": list(BOUND),
    }
    attrs = {"title": "navigation and guidance error at first contact", "confidence": confidence}
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def identity_deviation(miss: Floats, guidance: Floats, navigation: Floats) -> tuple[float, int]:
    """Largest deviation from miss = guidance - navigation, and how many flights lack a term.

    Parameters
    ----------
    miss, guidance, navigation : ndarray (2, n) [m]
        East and north.

    Returns
    -------
    deviation : float [m]
        NaN if no flight has all terms.
    unknown : int
    """
    gap = np.hypot(*(miss - (guidance - navigation)))
    known = np.isfinite(gap)
    deviation = float(gap[known].max()) if known.any() else np.nan
    return deviation, int(np.count_nonzero(~known))


def _distances(east: Floats, north: Floats, good: Any, confidence: float) -> Floats:
    far = np.where(good, np.hypot(east, north), np.inf)
    return quantile_table(far, [p / 100.0 for p in PERCENT], confidence, lowest=0.0)


def _shared_variance(part: list[Floats], miss: list[Floats]) -> float:
    """Covariance of a part with the miss, summed over the axes, over the variance of the miss."""
    good = np.isfinite(part[0]) & np.isfinite(part[1])
    if np.count_nonzero(good) < 2:
        return np.nan
    total = sum(float(np.var(axis[good])) for axis in miss)
    shared = sum(
        float(np.cov(a[good], b[good], ddof=0)[0, 1]) for a, b in zip(part, miss, strict=True)
    )
    return shared / total if total > 0.0 else np.nan
