"""Rank correlations of inputs with outcomes: a first, cheap look at what matters.

Source: E. C. Fieller, H. O. Hartley and E. S. Pearson, Biometrika 44 (1957) 470, for the scatter of
the transformed coefficient, from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from scipy import special

from sim.analysis.flights import came_down

if TYPE_CHECKING:
    from collections.abc import Sequence

    from xarray import Dataset

Floats = NDArray[np.float64]


def rank_correlations(inputs: Floats, outcome: Floats) -> Floats:
    """Spearman's coefficient of each input with an outcome.

    Parameters
    ----------
    inputs : ndarray (inputs, n)
    outcome : ndarray (n,)
        Finite.

    Returns
    -------
    ndarray (inputs,) [1]
        NaN for an input, or for all if the outcome, does not vary.
    """
    ranks = np.array([_ranks(row) for row in inputs]).reshape(inputs.shape)
    ranks -= ranks.mean(axis=1, keepdims=True)
    target = _ranks(outcome)
    target -= target.mean()
    scale = np.sqrt((ranks**2).sum(axis=1) * (target**2).sum())
    with np.errstate(invalid="ignore", divide="ignore"):
        found: Floats = np.where(scale > 0.0, ranks @ target / scale, np.nan)
    return found


def _ranks(values: Floats) -> Floats:
    """Ranks from 1; equal values share the middle of theirs.

    By hand because scipy.stats takes seconds to load.
    """
    _, place, counts = np.unique(values, return_inverse=True, return_counts=True)
    ranks: Floats = (np.cumsum(counts) - 0.5 * (counts - 1))[place]
    return ranks


def noise_level(flights: int, tried: int, confidence: float = 0.95) -> float:
    """Coefficient that none of so many unrelated inputs reaches, with this confidence.

    Parameters
    ----------
    flights, tried : int
    confidence : float [1]
        Of all together (Bonferroni).

    Returns
    -------
    float [1]
        1 if the flights are too few to say.
    """
    if flights < 10:
        return 1.0
    score = float(special.ndtri(1.0 - 0.5 * (1.0 - confidence) / max(tried, 1)))
    return float(np.tanh(score * np.sqrt(1.06 / (flights - 3))))


def ranked_inputs(
    ds: Dataset,
    outcomes: Sequence[str] = ("miss_east", "miss_north", "touchdown_speed", "tilt"),
    *,
    confidence: float = 0.95,
    most: int = 20_000,
) -> Dataset:
    """Rank correlation of every drawn input with some outcomes.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`; drawn inputs have the attribute `scenario_key`.
    outcomes : sequence of str
        Those that the ensemble lacks, or that have a value on fewer than ten flights, are left out.
    confidence : float [1]
        Of the level of noise, over all inputs and outcomes together.
    most : int
        Flights read, from the first.

    Returns
    -------
    Dataset
        correlation(input, quantity), noise(quantity), flights(quantity). Only flights that came
        down with a value are ranked.
    """
    import xarray as xr

    part = ds.isel(run=slice(0, most))
    names = [
        str(name) for name, v in part.data_vars.items()
        if "scenario_key" in v.attrs and v.dims == ("run",)
    ]  # fmt: skip
    keys = [str(ds[name].attrs["scenario_key"]) for name in names]
    down = came_down(part)
    there = [name for name in outcomes if name in part]
    known = {name: down & np.isfinite(part[name].to_numpy()) for name in there}
    told = [name for name, mask in known.items() if int(mask.sum()) >= 10 and names]
    table = np.array([part[name].to_numpy() for name in names]).reshape(
        len(names), part.sizes["run"]
    )
    columns = [
        rank_correlations(table[:, known[name]], part[name].to_numpy()[known[name]])
        for name in told
    ]
    counts = [int(known[name].sum()) for name in told]
    tried = len(names) * len(told)
    data: dict[str, Any] = {
        "correlation": (
            ("input", "quantity"), np.array(columns).reshape(len(told), len(names)).T,
            {"units": "1", "method": "Spearman"},
        ),
        "noise": ("quantity", [noise_level(n, tried, confidence) for n in counts], {"units": "1"}),
        "flights": ("quantity", counts, {"units": "1"}),
    }  # fmt: skip
    coords = {"input": keys, "quantity": told}
    return xr.Dataset(data, coords=coords, attrs={"confidence": confidence})
