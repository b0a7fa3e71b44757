"""Error budget: how much of an outcome's scatter each source causes, alone and with the others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.flights import BOUND, Floats, came_down, need, units
from sim.analysis.order_statistics import check_share
from sim.analysis.sensitivity import sobol_indices, sobol_replicates
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

BASES = ("A", "B")


def budget(
    ds: Dataset,
    *,
    quantity: str = "miss_distance",
    confidence: float = 0.95,
    resamples: int = 500,
    seed: int = 0,
) -> Dataset:
    """Sobol' indices of one outcome, as shares and in its own unit.

    Parameters
    ----------
    ds : Dataset
        Dimensions `draws` and `run`. The coordinate `draws` is "A" and "B" for two independent sets
        of draws, and for every source its name: the flights of A with that source's draws from B. A
        third dimension `replicate`, if there is one, holds independent randomisations of a designed
        draw (Latin hypercube, scrambled Sobol').
    quantity : str
        Outcome; it must have a value on every flight (`success` always has).
    confidence : float [1]
        Of each interval by itself.
    resamples, seed : int
        Of the bootstrap, where there are no replicates.

    Returns
    -------
    Dataset
        first(source, bound) and total(source, bound), shares of the variance; and from them, with
        the same bounds, in the quantity's unit: alone, with_interactions (square roots of these
        parts of the variance) and left_if_fixed, the scatter left on average if that source had
        none; spread is the scatter of all together.

    Raises
    ------
    UserMistake
        If a set is missing, the quantity lacks a value anywhere or does not vary.

    Notes
    -----
    Estimators and intervals: `sim.analysis.sensitivity`. A bound below zero is scatter of the
    estimate; in the quantity's unit it is shown as zero.
    """
    import xarray as xr

    check_share("confidence", confidence)
    need(ds, [quantity, "outcome", "miss_distance"])
    sources = _sources(ds)
    laid = ds[[quantity, "outcome", "miss_distance"]]
    replicated = "replicate" in laid.dims
    order = ("replicate", "draws", "run") if replicated else ("draws", "run")
    laid = laid.transpose(*order)
    if quantity == "success":
        values = ((laid[quantity].to_numpy() == 1) & came_down(laid)).astype(np.float64)
    else:
        values = np.where(came_down(laid), laid[quantity].to_numpy(), np.nan)
    names = [str(name) for name in laid["draws"].to_numpy()]
    a, b = (values[..., names.index(base), :] for base in BASES)
    mixed = values[..., [names.index(source) for source in sources], :]
    if replicated:
        found = sobol_replicates(a, b, mixed, confidence=confidence)
        method = "Student, over independent replicates"
    else:
        found = sobol_indices(a, b, mixed, confidence=confidence, resamples=resamples, seed=seed)
        method = "bootstrap over flights"
    where, share = ("source", "bound"), {"units": "1", "method": method}
    own = {"units": units(ds, quantity), "method": method}
    entries: dict[str, Any] = {
        "first": (where, found.first, share),
        "total": (where, found.total, share),
        "alone": (where, _root(found.first, found.variance), own),
        "with_interactions": (where, _root(found.total, found.variance), own),
        "left_if_fixed": (where, _root(1.0 - found.first[:, ::-1], found.variance), own),
        "spread": ((), float(np.sqrt(found.variance)), own | {"method": "standard deviation"}),
        "flights": ((), values.size, {"units": "1", "long_name": "flights of all sets"}),
    }
    attrs = {"title": f"error budget of {quantity}", "confidence": confidence}
    coords = {"source": sources, "bound": list(BOUND)}
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def _sources(ds: Dataset) -> list[str]:
    if "draws" not in ds.coords or "draws" not in ds.dims:
        raise UserMistake(
            "an error budget needs flights made for it: a dimension `draws` with A, B and one set "
            "for each source"
        )
    names = [str(name) for name in ds["draws"].to_numpy()]
    sources = [name for name in names if name not in BASES]
    if not set(BASES) <= set(names) or not sources or len(set(names)) < len(names):
        raise UserMistake(
            f"an error budget needs the sets A, B and one for each source; found {', '.join(names)}"
        )
    return sources


def _root(shares: Floats, variance: float) -> Floats:
    spread: Floats = np.sqrt(np.clip(shares, 0.0, None) * variance)
    return spread
