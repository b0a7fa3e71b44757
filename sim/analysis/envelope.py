"""Envelopes: percentiles over many flights at each moment of time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]


class Envelope(NamedTuple):
    """Percentiles at each moment, (shares, moments); and how many flights they are of."""

    time: Floats
    rows: Floats
    flying: NDArray[np.int64]


def envelope(
    times: Sequence[Floats],
    values: Sequence[Floats],
    *,
    shares: Sequence[float] = (0.05, 0.50, 0.95),
    step: float = 0.05,
    least: int = 20,
) -> Envelope:
    """Percentiles over the flights that are still under way.

    Parameters
    ----------
    times, values : sequences of ndarray (samples,)
        Of each flight; lengths may differ. A flight counts from its first to its last sample.
    shares : sequence of float [1]
    step : float
        Between moments, in the unit of time.
    least : int
        The envelope ends where fewer flights are under way.

    Returns
    -------
    Envelope
        NaN values of a flight are left out at their moments. Empty if there are too few flights.

    Notes
    -----
    Sample percentiles by linear interpolation; between samples of a flight likewise.
    """
    last = max((float(time[-1]) for time in times if len(time)), default=0.0)
    moments = np.arange(0.0, last + 0.5 * step, step)
    table = np.full((len(times), len(moments)), np.nan)
    for row, time, series in zip(table, times, values, strict=True):
        if len(time):
            row[:] = np.interp(moments, time, series, left=np.nan, right=np.nan)
    flying = np.count_nonzero(np.isfinite(table), axis=0)
    enough = flying >= max(1, least)
    kept = table[:, enough]
    rows = np.nanquantile(kept, list(shares), axis=0) if kept.size else np.empty((len(shares), 0))
    return Envelope(moments[enough], rows, flying[enough])


def edge_holds(flights: int, share: float, confidence: float = 0.95) -> tuple[float, float]:
    """Between which shares of all flights the percentile of a small sample really lies.

    Parameters
    ----------
    flights : int
        Of the sample.
    share : float [1]
        Which percentile of it.
    confidence : float [1]

    Returns
    -------
    lower, upper : float [1]

    Notes
    -----
    The share below the k-th of n ordered values is Beta(k, n + 1 - k), whatever the law
    (distribution of order statistics; common practice). k = share (n - 1) + 1, as interpolated.
    """
    rank = share * (flights - 1) + 1.0
    tail = 0.5 * (1.0 - confidence)
    low, high = (
        float(special.betaincinv(rank, flights + 1.0 - rank, p)) for p in (tail, 1.0 - tail)
    )
    return low, high
