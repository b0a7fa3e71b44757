"""Whether the navigation filter is honest: its errors and innovations against what it believes.

If a filter's covariance P is right, its normalised estimation error squared e' P^-1 e is chi-square
distributed with as many degrees of freedom as errors; the mean over N flights, times N, then is
chi-square with N times as many. A mean above the range of chance says that the filter believes
itself better than it is (optimistic), one below that it believes itself worse (pessimistic). The
bounds take the errors to be normal, which those of a whole flight are not quite.

The mean normalised innovation squared is one for an honest filter, but has no bounds here:
innovations of a flight are independent of each other only where the filter's model is exact, and a
filter that counts lasting errors of its aids as more noise, as ours does, stays below one.

Source: Bar-Shalom, Li and Kirubarajan, Estimation with Applications to Tracking and Navigation,
2001, ch. 5 (from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.analysis.flights import check_flat
from sim.analysis.order_statistics import check_share

if TYPE_CHECKING:
    from xarray import Dataset

Floats = NDArray[np.float64]

DEGREES = 6  # place and velocity
MOMENTS = {"contact": "normalised_error_at_contact", "ignition": "normalised_error_at_ignition"}
VERDICTS = ("optimistic", "consistent", "pessimistic", "unknown")


def mean_bounds(flights: int, degrees: int, confidence: float) -> tuple[float, float]:
    """Range of the mean of chi-square numbers by chance.

    Parameters
    ----------
    flights : int
        How many are averaged.
    degrees : int
        Degrees of freedom of each.
    confidence : float [1]

    Returns
    -------
    lower, upper : float
        The mean of an honest filter lies between them with the probability `confidence`; nan
        without flights.
    """
    from scipy.stats import chi2

    check_share("confidence", confidence)
    if flights < 1:
        return float("nan"), float("nan")
    tail = 0.5 * (1.0 - confidence)
    low, high = (float(chi2.ppf(share, flights * degrees)) for share in (tail, 1.0 - tail))
    return low / flights, high / flights


def share_beyond(errors: Floats, degrees: int, level: float = 0.95) -> float:
    """Share of flights beyond the chi-square quantile of one; 1 - level of an honest filter."""
    from scipy.stats import chi2

    return float(np.mean(errors > chi2.ppf(level, degrees))) if len(errors) else float("nan")


def judge_mean(mean: float, lower: float, upper: float) -> str:
    """Word for a mean normalised error: one of VERDICTS."""
    if not np.isfinite(mean):
        return "unknown"
    return "optimistic" if mean > upper else "pessimistic" if mean < lower else "consistent"


def is_aided(ds: Dataset) -> bool:
    """Whether a filter ran on any flight of an ensemble."""
    return any(name in ds and bool(np.isfinite(ds[name]).any()) for name in MOMENTS.values())


def consistency(ds: Dataset, *, confidence: float = 0.95) -> Dataset:
    """Hold the filter of an ensemble against its own covariance.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`.
    confidence : float [1]
        Of the range of chance.

    Returns
    -------
    Dataset
        For each moment (contact, ignition): mean(moment) of the normalised error squared,
        chance(moment, bound) of an honest filter, beyond(moment): share of flights beyond its
        95 % point, flights(moment), verdict(moment). innovation_mean, innovation_count and
        refused_count over all flights.

    Raises
    ------
    UserMistake
        If the ensemble is swept, weighted or empty.
    """
    import xarray as xr

    check_share("confidence", confidence)
    check_flat(ds)
    means, chances, beyond, counts, verdicts = [], [], [], [], []
    for name in MOMENTS.values():
        errors = ds[name].to_numpy() if name in ds else np.empty(0)
        known = errors[np.isfinite(errors)]
        mean = float(known.mean()) if len(known) else float("nan")
        low, high = mean_bounds(len(known), DEGREES, confidence)
        means.append(mean)
        chances.append([low, high])
        beyond.append(share_beyond(known, DEGREES))
        counts.append(len(known))
        verdicts.append(VERDICTS.index(judge_mean(mean, low, high)))

    def total(name: str) -> float:
        return float(np.nansum(ds[name].to_numpy())) if name in ds else 0.0

    readings = total("innovation_count")
    innovation = total("normalised_innovation_sum") / readings if readings else float("nan")
    entries: dict[str, Any] = {
        "mean": (
            ("moment",), means,
            {"units": "1", "long_name": "mean normalised error squared of place and velocity"},
        ),
        "chance": (
            ("moment", "bound"), chances,
            {"units": "1", "long_name": "range of that mean for an honest filter",
             "method": "chi-square, 6 degrees of freedom a flight"},
        ),
        "beyond": (
            ("moment",), beyond,
            {"units": "1", "long_name": "share of flights beyond the 95 % point of chi-square"},
        ),
        "flights": (("moment",), counts, {"units": "1"}),
        "verdict": (
            ("moment",), np.array(verdicts, dtype=np.int8),
            {"flag_values": np.arange(len(VERDICTS), dtype=np.int8),
             "flag_meanings": " ".join(VERDICTS)},
        ),
        "innovation_mean": (
            (), innovation, {"units": "1", "long_name": "mean normalised innovation squared"}
        ),
        "innovation_count": ((), readings, {"units": "1", "long_name": "readings compared"}),
        "refused_count": (
            (), total("refused_count"), {"units": "1", "long_name": "readings beyond the gate"}
        ),
    }  # fmt: skip
    coords = {"moment": list(MOMENTS), "bound": ["lower", "upper"]}
    attrs = {"title": "consistency of the navigation filter", "confidence": confidence}
    return xr.Dataset(entries, coords=coords, attrs=attrs)
