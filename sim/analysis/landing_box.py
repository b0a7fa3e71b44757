"""Landing box: where it comes down, with bounds, and how big the landing pad must be."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis import limits, radial
from sim.analysis.flights import (
    BOUND,
    Floats,
    Mask,
    came_down,
    check_flat,
    need,
    on_feet,
    worst_if_absent,
)
from sim.analysis.order_statistics import (
    at_rank,
    attained_confidence,
    check_share,
    flights_for_bound,
    quantile_of_sorted,
    quantile_ranks,
    quantile_table,
    upper_rank,
)
from sim.analysis.proportions import clopper_pearson

if TYPE_CHECKING:
    from xarray import Dataset

PERCENT = (50.0, 80.0, 90.0, 95.0, 99.0)
ELLIPSE_SHARE = (0.50, 0.95)

# How a landing pad radius stands; in the order of the flag values.
PAD_STATES = ("attained", "too_few_flights", "not_shown", "not_attainable")

ORDER_METHOD = "order statistics, equal-tailed, distribution-free (Wilks 1941)"

_Entry = tuple[tuple[str, ...], Any, dict[str, Any]]


def landing_box(
    ds: Dataset,
    *,
    confidence: float = 0.95,
    probability: float = 0.95,
    foot_radius: float | None = None,
) -> Dataset:
    """Landing box of an ensemble.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`; outcome, miss_east, miss_north and miss_distance are read.
    confidence : float [1]
        Of every bound by itself.
    probability : float [1]
        Share of all flights that the landing pad must take.
    foot_radius : float [m], optional
        Of the open feet from the long axis; by default from the ensemble's scenario. If neither
        says, there is no landing pad radius.

    Returns
    -------
    Dataset
        Dimension `bound` is lower, estimate, upper. Percentiles, the circular error probable and
        radius_95 count every flight; bias, covariance and ellipse describe the flights that came
        down (their number is `came_down`). See each variable's long_name and method.

    Raises
    ------
    UserMistake
        If the ensemble is swept, weighted, empty or lacks a variable.

    Notes
    -----
    A flight that did not come down counts as infinitely far. The bounds take flights as independent
    draws; for Latin hypercube or Sobol' draws they are as a rule wider than need be.
    """
    import xarray as xr

    check_share("confidence", confidence)
    check_share("probability", probability)
    check_flat(ds)
    need(ds, ["miss_east", "miss_north"])
    if foot_radius is None:
        foot_radius = limits.foot_radius(ds)
    down = came_down(ds)
    ordered = np.sort(worst_if_absent(ds, "miss_distance", down))
    east, north = ds["miss_east"].to_numpy()[down], ds["miss_north"].to_numpy()[down]

    entries: dict[str, _Entry] = {}
    entries |= _counts(ds, down)
    entries |= _percentiles(ordered, confidence)
    entries |= _centred(ordered, east, north, confidence)
    entries |= _bias(east, north, confidence)
    entries |= _ellipses(east, north, len(ordered))
    if foot_radius is not None:
        reach = ds["miss_distance"].to_numpy()
        if "rest_miss_east" in ds:  # it may slide: both where it touches and where it stays count
            slid = np.hypot(ds["rest_miss_east"].to_numpy(), ds["rest_miss_north"].to_numpy())
            reach = np.fmax(reach, slid)
        standing = np.where(on_feet(ds), reach + foot_radius, np.inf)
        entries |= _landing_pad(standing, probability, confidence)
    coords = {
        "bound": list(BOUND),
        "percent": ("percent", list(PERCENT), {"units": "percent"}),
        "about": ["mark", "centre"],
        "axis": ["east", "north"],
        "other_axis": ["east", "north"],
        "semi_axis": ["major", "minor"],
        "share": ("share", list(ELLIPSE_SHARE), {"units": "1"}),
    }
    attrs = {
        "title": "landing box",
        "confidence": confidence,
        "probability": probability,
        "failed_flights": "count as infinitely far, never dropped",
    }
    if foot_radius is not None:
        attrs["foot_radius"] = foot_radius
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def pad_radius(
    distances: Floats, probability: float, confidence: float
) -> tuple[float, str, tuple[float, float, float]]:
    """Least radius shown to take at least a share of all flights.

    Parameters
    ----------
    distances : ndarray (n,) [m]
        Of the outermost foot from the centre; infinity for a flight not down on its feet.
    probability, confidence : float [1]

    Returns
    -------
    radius : float [m]
        Infinity unless the state is "attained".
    state : str
        One of PAD_STATES. "not_attainable": fewer than `probability` of these flights came down on
        their feet. "not_shown": enough did, but not by enough to claim it with this confidence.
    share : tuple of float [1]
        On their feet: lower Clopper-Pearson bound, estimate, upper bound.

    Notes
    -----
    One-sided order statistic. Wilks (1941).
    """
    size = len(distances)
    finite = int(np.count_nonzero(np.isfinite(distances)))
    share = clopper_pearson(finite, size, confidence)
    rank = upper_rank(size, probability, confidence)
    if finite < probability * size:
        return np.inf, "not_attainable", share
    if rank > size:
        return np.inf, "too_few_flights", share
    if rank > finite:
        return np.inf, "not_shown", share
    return float(np.partition(distances, rank - 1)[rank - 1]), "attained", share


def _counts(ds: Dataset, down: Mask) -> dict[str, _Entry]:
    total, landed = down.size, int(np.count_nonzero(down))
    return {
        "flights": ((), total, {"units": "1", "long_name": "flights in all"}),
        "came_down": ((), landed, {"units": "1", "long_name": "flights that came down"}),
        "not_down": (
            (),
            total - landed,
            {"units": "1", "long_name": "flights that never came down, infinitely far"},
        ),
        "on_feet": (
            (),
            int(np.count_nonzero(on_feet(ds))),
            {"units": "1", "long_name": "flights that came down on their feet"},
        ),
    }


def _metres(dims: tuple[str, ...], value: Any, name: str, method: str = "") -> _Entry:
    attrs = {"units": "m", "long_name": name}
    return dims, value, attrs | ({"method": method} if method else {})


def _percentiles(ordered: Floats, confidence: float) -> dict[str, _Entry]:
    size = len(ordered)
    ranks = [quantile_ranks(size, percent / 100.0, confidence) for percent in PERCENT]
    table = [
        (at_rank(ordered, low, 0.0), quantile_of_sorted(ordered, q / 100.0), at_rank(ordered, high))
        for q, (low, high) in zip(PERCENT, ranks, strict=True)
    ]
    attained = [
        attained_confidence(size, q / 100.0, *pair) for q, pair in zip(PERCENT, ranks, strict=True)
    ]
    wilks = upper_rank(size, 0.95, confidence)
    note = "0 and flights + 1 mean that so few flights give no bound"
    return {
        "miss": _metres(("percent", "bound"), table, "percentiles of miss distance", ORDER_METHOD),
        "miss_rank": (
            ("percent", "side"),
            ranks,
            {"units": "1", "long_name": "ranks of the lower and upper bound", "comment": note},
        ),
        "miss_confidence": (
            ("percent",),
            attained,
            {"units": "1", "long_name": "confidence that the ranks attain"},
        ),
        "miss_95_upper": _metres(
            (),
            at_rank(ordered, wilks),
            "one-sided upper bound of the 95th percentile of miss distance",
            "order statistic, one-sided (Wilks 1941)",
        ),
        "miss_95_upper_rank": ((), wilks, {"units": "1", "comment": note}),
    }


def _centred(ordered: Floats, east: Floats, north: Floats, confidence: float) -> dict[str, _Entry]:
    """Circular error probable and R95, about the mark and about the mean landing point."""
    shares = (0.50, 0.95)
    about_mark = quantile_table(ordered, shares, confidence, lowest=0.0)
    around = np.full(len(ordered), np.inf)
    if len(east):
        around[: len(east)] = np.hypot(east - east.mean(), north - north.mean())
    about_centre = quantile_table(around, shares, confidence, lowest=0.0)
    both = np.stack([about_mark, about_centre], axis=1)
    method = f"{ORDER_METHOD}; about the centre: the sample mean taken as given"
    dims = ("about", "bound")
    return {
        "circular_error_probable": _metres(dims, both[0], "radius of half the flights", method),
        "radius_95": _metres(dims, both[1], "radius of 95 % of the flights", method),
    }


def _bias(east: Floats, north: Floats, confidence: float) -> dict[str, _Entry]:
    size, mean, covariance = radial.moments(east, north)
    spread = np.sqrt(np.diag(covariance))
    half = [radial.mean_half_width(size, float(sigma), confidence) for sigma in spread]
    one_sigma = radial.ellipse(covariance)
    scale = radial.mean_ellipse_scale(size, confidence)
    axes = [scale * one_sigma.major, scale * one_sigma.minor]
    rows = np.stack([mean - half, mean, mean + half], axis=1)
    return {
        "bias": _metres(("axis", "bound"), rows, "mean miss of flights that came down", "Student"),
        "bias_distance": _metres((), float(np.hypot(*mean)), "distance of the mean from the mark"),
        "bias_ellipse": _metres(
            ("semi_axis",), axes, "semi-axes of the mean's confidence ellipse", "Hotelling"
        ),
    }


def _ellipses(east: Floats, north: Floats, total: int) -> dict[str, _Entry]:
    known = radial.moments(east, north)
    mean = known.mean
    about_mark = np.full((2, 2), np.nan)
    if len(east):
        mixed = east @ north
        about_mark = np.array([[east @ east, mixed], [mixed, north @ north]]) / len(east)
    matrices = np.stack([about_mark, known.covariance])
    shapes = [radial.ellipse(matrix) for matrix in matrices]
    p_value = radial.mardia_p_value(east, north)
    normal = bool(p_value >= 0.05)
    scales = [radial.rayleigh_radius(share) for share in ELLIPSE_SHARE]
    within = [
        radial.share_within_ellipse(east, north, known, scale) * len(east) / total
        for scale in scales
    ]
    centre = shapes[1]
    radii = [np.nan, np.nan]
    if centre.minor > 1e-3 * centre.major > 0.0:
        turn = np.array([np.sin(centre.azimuth), np.cos(centre.azimuth)])
        along, across = float(mean @ turn), float(mean @ np.array([turn[1], -turn[0]]))
        radii = [
            radial.normal_radius(share, centre.major, centre.minor, (along, across))
            for share in ELLIPSE_SHARE
        ]
    where = ("about",)
    axes = [(shape.major, shape.minor) for shape in shapes]
    return {
        "covariance": (
            ("about", "axis", "other_axis"),
            matrices,
            {"units": "m2", "long_name": "second moments of miss about the mark, about the mean"},
        ),
        "sigma": _metres(("about", "semi_axis"), axes, "semi-axes of the one-sigma ellipse"),
        "azimuth": (
            where,
            [shape.azimuth for shape in shapes],
            {"units": "rad", "long_name": "major axis of the ellipse, east of north, 0 to pi"},
        ),
        "ellipse_scale": (
            ("share",),
            scales,
            {"units": "1", "long_name": "ellipse over one sigma if the law is normal"},
        ),
        "ellipse_found": (
            ("share",),
            within,
            {"units": "1", "long_name": "share of all flights really inside that ellipse"},
        ),
        "normal_p_value": (
            (),
            p_value,
            {"units": "1", "long_name": "p-value of normality of the miss", "method": "Mardia"},
        ),
        "normal": (
            (),
            np.int8(normal),
            {
                "long_name": "normality not rejected at 5 % among flights that came down",
                "flag_values": np.array([0, 1], dtype=np.int8),
                "flag_meanings": "no_or_untested yes",
            },
        ),
        "normal_radius": _metres(
            ("share",),
            radii,
            "radius about the mark from the normal law, for comparison only",
            "quadrature of the fitted normal law of flights that came down, no bounds",
        ),
    }


def _landing_pad(standing: Floats, probability: float, confidence: float) -> dict[str, _Entry]:
    radius, state, share = pad_radius(standing, probability, confidence)
    return {
        "landing_pad_radius": _metres(
            (),
            radius,
            "least landing pad radius with all feet on it, infinite if not shown",
            "order statistic of miss + foot radius, one-sided (Wilks 1941)",
        ),
        "landing_pad_state": (
            (),
            np.int8(PAD_STATES.index(state)),
            {
                "long_name": "whether these flights support a landing pad radius",
                "flag_values": np.arange(len(PAD_STATES), dtype=np.int8),
                "flag_meanings": " ".join(PAD_STATES),
            },
        ),
        "landing_pad_flights_needed": (
            (),
            flights_for_bound(probability, confidence),
            {"units": "1", "long_name": "least flights for such a claim, were all on their feet"},
        ),
        "on_feet_share": (
            ("bound",),
            list(share),
            {"units": "1", "long_name": "share on their feet", "method": "Clopper-Pearson"},
        ),
    }
