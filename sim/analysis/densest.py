"""The smallest area that takes a share of scattered points, whatever its shape.

Source: R. J. Hyndman, The American Statistician 50 (1996) 120 (highest-density regions), from
memory; the density is a histogram smoothed by a normal kernel whose width follows D. W. Scott,
Multivariate Density Estimation (1992), from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_FACTORS = (0.25, 4.0)  # least and most, of the width of a kernel


class Density(NamedTuple):
    """Density on a grid: edges (cells + 1,), `cells` (east, north), its level of each share."""

    edges_east: Floats
    edges_north: Floats
    cells: Floats
    levels: Floats


def densest(
    east: Floats, north: Floats, half: float, *, shares: Sequence[float], cells: int = 120
) -> Density | None:
    """Density of points in a square about the origin, and the levels that enclose shares of them.

    Parameters
    ----------
    east, north : ndarray (n,) [m]
        Finite.
    half : float [m]
        Half the side of the square.
    shares : sequence of float [1]
        Of all points, those outside the square counted.
    cells : int
        Along a side.

    Returns
    -------
    Density or None
        Where the density is at least a level lies that share of the points; a share that the
        square does not hold has level 0. None for fewer than 20 points, or points without spread.
    """
    size = len(east)
    spread = np.array([east.std(), north.std()]) if size >= 20 else np.zeros(2)
    if not (spread > 0.0).all():
        return None
    edges = np.linspace(-half, half, cells + 1)
    smooth = _adaptive(east, north, edges, spread * size ** (-1.0 / 6.0))
    here = np.zeros(size)  # outside the square it is nothing
    column, row = (np.searchsorted(edges, axis, side="right") - 1 for axis in (east, north))
    inside = (column >= 0) & (column < cells) & (row >= 0) & (row < cells)
    here[inside] = smooth[column[inside], row[inside]]
    levels = np.quantile(here, 1.0 - np.asarray(shares), method="lower")
    return Density(edges, edges, smooth, levels)


def _adaptive(east: Floats, north: Floats, edges: Floats, width: Floats) -> Floats:
    """Smooth points by kernels that widen where points are few.

    The width is that of a first, even smoothing, times the density there to the power -1/2; points
    of about the same width are smoothed together.
    """
    from scipy.ndimage import gaussian_filter

    side = edges[1] - edges[0]
    counts, _, _ = np.histogram2d(east, north, bins=[edges, edges])
    pilot = np.maximum(gaussian_filter(counts, width / side, mode="constant"), 1e-6)
    inside = counts > 0.0
    if not inside.any():
        return counts
    middle = np.exp(np.average(np.log(pilot[inside]), weights=counts[inside]))
    factor = np.clip(np.sqrt(middle / pilot), *_FACTORS)
    steps = np.round(np.log2(factor) * 2.0)  # widths apart by half an octave
    smooth = np.zeros_like(counts)
    for step in np.unique(steps[inside]):
        sigma = np.maximum(width * 2.0 ** (step / 2.0) / side, 0.7)
        smooth += gaussian_filter(np.where(steps == step, counts, 0.0), sigma, mode="constant")
    return smooth
