"""The most probable point at which a limit is passed, from noisy values of the limit state.

First-order reliability: in a space of independent standard normal numbers the most probable point
of failure is the one of the limit nearest to the origin. For a linear limit state its distance is
the mean margin over its standard deviation. Sources (from memory): A. M. Hasofer and N. C. Lind, J.
Engineering Mechanics Division ASCE 100 (1974) 111; R. Rackwitz and B. Fiessler, Computers and
Structures 9 (1978) 489. The gradient is a linear regression over flights about the point, which
averages over the noise in flight; a coefficient that cannot be told from noise counts as zero.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
LimitState = Callable[[Floats], Floats]
"""Margin (n,) at points (n, d): negative is failure; NaN where it has no value."""

SPREAD = 0.4  # of the flights about a point, in standard deviations
LEAST_T = 3.0  # coefficients of which the ratio to their standard error is smaller are dropped
FARTHEST = 6.0  # standard deviations; a point beyond is no likely way of failing
LONGEST_STEP = 0.5  # of a number that costs nothing, in one iteration


class DesignPoint(NamedTuple):
    """Most probable point of failure.

    Attributes
    ----------
    point : ndarray (d,)
        In standard deviations.
    distance : float
        From the origin, without the numbers that cost nothing.
    margin : float
        Left there on average; near zero once the search has converged.
    """

    point: Floats
    distance: float
    margin: float


class Plane(NamedTuple):
    """Linear fit: value at the middle, gradient, and the gradient over its standard error."""

    value: float
    gradient: Floats
    t: Floats


def fit_plane(offsets: Floats, values: Floats) -> Plane:
    """Least squares fit of values to a plane.

    Parameters
    ----------
    offsets : ndarray (n, d)
        From the middle.
    values : ndarray (n,)
        NaN is left out.

    Returns
    -------
    Plane

    Raises
    ------
    ValueError
        Fewer values than unknowns.
    """
    known = np.isfinite(values)
    x = np.column_stack([np.ones(int(known.sum())), offsets[known]])
    y = values[known]
    if len(y) <= x.shape[1] + 1:
        raise ValueError(f"{len(y)} values cannot give {x.shape[1]} coefficients")
    found, *_ = np.linalg.lstsq(x, y, rcond=None)
    rest = y - x @ found
    variance = float(rest @ rest) / (len(y) - x.shape[1])
    inverse = np.linalg.pinv(x.T @ x)
    errors = np.sqrt(np.maximum(variance * np.diag(inverse), 1e-300))[1:]
    gradient = np.asarray(found[1:], dtype=np.float64)
    return Plane(float(found[0]), gradient, gradient / errors)


def nearest_on(plane: Plane, point: Floats, free: Mask) -> Floats:
    """Nearest point to the origin on a fitted limit, the next one of the search.

    Parameters
    ----------
    plane : Plane
        Fitted about `point`.
    point : ndarray (d,)
    free : ndarray of bool (d,)
        Numbers that cost nothing (directions): they are moved towards failure by a bounded step.

    Returns
    -------
    ndarray (d,)
    """
    gradient = np.where(np.abs(plane.t) >= LEAST_T, plane.gradient, 0.0)
    paid = np.where(free, 0.0, gradient)
    size = float(paid @ paid)
    following = np.zeros_like(point) if size > 0.0 else np.where(free, 0.0, point)
    if size > 0.0:
        following = paid * (paid @ point - plane.value) / size
    length = float(np.linalg.norm(gradient))
    if length > 0.0:
        step = np.clip(-gradient / length, -1.0, 1.0) * LONGEST_STEP
        following = np.where(free, np.clip(point + step, -2.5, 2.5), following)
    else:
        following = np.where(free, point, following)
    far = float(np.linalg.norm(following[~free]))
    return np.where(free, following, following * min(1.0, FARTHEST / max(far, 1e-12)))


def find_design_point(
    limit_state: LimitState,
    start: Floats,
    *,
    free: Mask | None = None,
    flights: int = 600,
    iterations: int = 6,
    random: np.random.Generator,
) -> DesignPoint:
    """Search for the most probable point of failure.

    Parameters
    ----------
    limit_state : callable
    start : ndarray (d,)
    free : ndarray of bool (d,), optional
        Numbers that cost nothing.
    flights : int
        At each iteration; more than there are numbers.
    iterations : int
    random : Generator

    Returns
    -------
    DesignPoint
    """
    cost_free = np.zeros(len(start), dtype=bool) if free is None else free
    point, margin = start, np.nan
    for _ in range(iterations):
        offsets = SPREAD * random.standard_normal((flights, len(start)))
        plane = fit_plane(offsets, limit_state(point + offsets))
        margin = plane.value
        point = nearest_on(plane, point, cost_free)
    return DesignPoint(point, float(np.linalg.norm(point[~cost_free])), margin)
