"""From a thrust curve as a test stand logged it to the few knots that a flight integrates.

A log has noise, an offset of the load cell and hundreds of samples; a flight needs a curve made of
straight pieces, with its steps split at the knots. The knots are chosen so that the impulse
delivered up to any moment stays within a small share of the log's, and the total is the log's.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BURN_SHARE = 0.05
"""Share of peak thrust that begins and ends the stated burn time (NFPA 1125; R7.2)."""

TOLERANCE = 0.003
"""Largest error of the impulse delivered so far, as a share of the total."""

FEWEST, MOST = 12, 24
"""Knots that are worth having anyway, and that only a curve beyond the tolerance exceeds."""


@dataclass(frozen=True)
class ThrustCurve:
    """A thrust curve of straight pieces.

    Parameters
    ----------
    knots : ndarray (k, 2) [s, N]
        Time since first thrust and thrust; first and last thrust zero, none negative.
    total_impulse : float [N s]
        Integral of the log, offset taken off, from first to last measurable thrust; that of the
        knots is the same.
    burn_time : float [s]
        Between the first and last crossing of 5 % of the peak of the log.
    average_thrust : float [N]
        Total impulse over burn time.
    peak_thrust : float [N]
        Of the log.
    offset : float [N]
        Reading of the unloaded stand that was taken off.
    first_thrust : float [s]
        Time of the first knot in the log.
    """

    knots: Array
    total_impulse: float
    burn_time: float
    average_thrust: float
    peak_thrust: float
    offset: float
    first_thrust: float


def reduce_curve(log: Array) -> ThrustCurve:
    """Reduce a logged thrust curve to a few knots.

    Parameters
    ----------
    log : ndarray (n, 2) [s, N]
        Times rising, ending near zero thrust; as checked by `load_scenario`.

    Returns
    -------
    ThrustCurve

    Notes
    -----
    Burn time, total impulse and average thrust as NFPA 1125 defines them (R7.2). Knot thrusts are
    the weighted least-squares fit of a linear spline with zero ends and the log's integral; knots
    are added one by one where a straight piece fits worst.
    """
    time, raw = log[:, 0], log[:, 1]
    offset, scatter = stand_reading(time, raw)
    thrust = raw - offset
    peak = float(thrust.max())
    # where the load cell's noise reaches 5 % of the peak, it must not be taken for thrust
    first, last = crossings(time, thrust, max(BURN_SHARE * peak, 5 * scatter))
    t, f = _burning(time, thrust, first, last)
    total = float(np.trapezoid(f, t))
    knots = _as_logged(t, f, total) if len(t) <= MOST else _fit(t, f, total)
    start = float(knots[0, 0])
    knots[:, 0] -= start
    burn = last - first
    return ThrustCurve(knots, total, burn, total / burn, peak, offset, start)


def crossings(time: Array, thrust: Array, level: float) -> tuple[float, float]:
    """First rise through, and last fall through, a level; interpolated between samples.

    Parameters
    ----------
    time, thrust : ndarray (n,) [s], [N]
    level : float [N]
        Between zero and the peak.

    Returns
    -------
    (float, float) [s]
        The first or last time of the log where it is above the level from the start or to the end.
    """
    above = np.flatnonzero(thrust >= level)
    i, j = int(above[0]), int(above[-1])
    rise, fall = float(time[i]), float(time[j])
    if i > 0:
        rise = _between(time, thrust, i - 1, level)
    if j + 1 < len(time):
        fall = _between(time, thrust, j, level)
    return rise, fall


def _between(time: Array, thrust: Array, i: int, level: float) -> float:
    """Time at which the piece after sample i passes the level."""
    share = (level - thrust[i]) / (thrust[i + 1] - thrust[i])
    return float(time[i] + share * (time[i + 1] - time[i]))


def stand_reading(time: Array, thrust: Array) -> tuple[float, float]:
    """Find how the unloaded stand reads, from the end of the log.

    Parameters
    ----------
    time, thrust : ndarray (n,) [s], [N]

    Returns
    -------
    offset, scatter : float [N]
        Mean and standard deviation of the later half of what follows the burn; both zero if that
        is short (under 20 samples) or not level (a tail-off that goes on), since then it says
        nothing of the stand.
    """
    smooth = thrust
    if len(thrust) >= 100:  # only to find the rest: single noisy samples are no thrust
        smooth = np.convolve(thrust, np.full(9, 1 / 9), mode="same")
    _, last = crossings(time, smooth, BURN_SHARE * float(smooth.max()))
    after = np.flatnonzero(time > last)
    rest = after[len(after) // 2 :]
    if len(rest) < 20:
        return 0.0, 0.0
    t, f = time[rest] - time[rest].mean(), thrust[rest]
    mean = float(f.mean())
    slope = float(t @ (f - mean) / (t @ t))
    scatter = float(np.sqrt(np.sum((f - mean - slope * t) ** 2) / (len(rest) - 2)))
    if abs(slope) * np.sqrt(t @ t) > 4 * scatter:  # four standard errors of the slope
        return 0.0, 0.0
    return mean, scatter


def _burning(time: Array, thrust: Array, first: float, last: float) -> tuple[Array, Array]:
    """Cut out first to last measurable thrust, with a zero at either end."""
    before = np.flatnonzero((time < first) & (thrust <= 0))
    after = np.flatnonzero((time > last) & (thrust <= 0))
    i = int(before[-1]) if len(before) else 0
    j = int(after[0]) if len(after) else len(time) - 1
    t, f = time[i : j + 1], thrust[i : j + 1]
    small = 0.02 * float(f.max())
    sample = float(np.median(np.diff(time)))
    if f[0] > small:  # the log begins under thrust: from zero at time zero, or a sample before it
        t, f = np.concatenate(([min(0.0, t[0] - sample)], t)), np.concatenate(([0.0], f))
    if f[-1] > small:
        t, f = np.concatenate((t, [t[-1] + sample])), np.concatenate((f, [0.0]))
    return t, f


def _as_logged(t: Array, f: Array, total: float) -> Array:
    """Take a curve of few points as it is, its own best reduction."""
    f = f.copy()
    f[0] = f[-1] = 0.0
    return np.column_stack([t, f * (total / float(np.trapezoid(f, t)))])


def _fit(t: Array, f: Array, total: float) -> Array:
    logged = _cumulative(t, f)
    marks = {0, int(np.argmax(f)), len(t) - 1}
    gap = float(t[-1] - t[0]) / 200  # knots that chase the noise would only shorten steps
    while True:
        index = np.array(sorted(marks))
        values = _least_squares(t, f, t[index], total)
        fitted = np.interp(t, t[index], values)
        error = float(np.abs(_cumulative(t, fitted) - logged).max()) / total
        good = error < 0.5 * TOLERANCE and len(index) >= FEWEST
        enough = error < TOLERANCE and len(index) >= MOST
        if good or enough:
            return np.column_stack([t[index], values])
        split = _best_split(t, f - fitted, index, gap)
        if split is None and gap == 0:  # every sample is a knot
            return np.column_stack([t[index], values])
        if split is None:
            gap = 0.0  # a curve with steps in it
        else:
            marks.add(split)


def _cumulative(t: Array, f: Array) -> Array:
    return np.concatenate(([0.0], np.cumsum(0.5 * (f[1:] + f[:-1]) * np.diff(t))))


def _least_squares(t: Array, f: Array, knots: Array, total: float) -> Array:
    """Thrusts at the knots: best fit with zero ends and the given integral, none negative."""
    hats = np.column_stack([np.interp(t, knots, row) for row in np.eye(len(knots))])[:, 1:-1]
    weight = np.gradient(t)
    area = 0.5 * (knots[2:] - knots[:-2])  # integral of each inner hat
    size = len(area)
    system = np.zeros((size + 1, size + 1))
    system[:size, :size] = hats.T @ (weight[:, None] * hats)
    system[:size, size] = system[size, :size] = area
    right = np.concatenate((hats.T @ (weight * f), [total]))
    values = np.maximum(np.linalg.solve(system, right)[:size], 0.0)
    values *= total / float(area @ values)
    return np.concatenate(([0.0], values, [0.0]))


def _best_split(t: Array, residual: Array, index: NDArray[np.int64], gap: float) -> int | None:
    """Sample at which to put a knot: where a piece gains most by being bent.

    A knot in a piece adds a kink to it; the gain is what the least-squares fit of the triangle
    with its corner at a sample takes off the squared residual. No knot comes nearer than `gap` to
    another.
    """
    best, best_gain = None, 0.0
    for a, b in pairwise(index):
        x, r = t[a : b + 1], residual[a : b + 1]
        inside = np.flatnonzero((x >= x[0] + gap) & (x <= x[-1] - gap) & (x > x[0]) & (x < x[-1]))
        if len(inside) == 0:
            continue
        corners = inside[np.linspace(0, len(inside) - 1, min(len(inside), 60)).astype(int)]
        c = x[corners, None]
        hats = np.minimum((x - x[0]) / (c - x[0]), (x[-1] - x) / (x[-1] - c))
        gains = (hats @ r) ** 2 / np.sum(hats * hats, axis=1)
        top = int(np.argmax(gains))
        if gains[top] > best_gain:
            best, best_gain = int(a + corners[top]), float(gains[top])
    return best
