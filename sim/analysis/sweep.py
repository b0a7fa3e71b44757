"""Success and touchdown speed along one or two swept inputs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.flights import (
    BOUND,
    came_down,
    check_weights,
    need,
    successes,
    swept_dimensions,
    units,
    worst_if_absent,
)
from sim.analysis.order_statistics import check_share, quantile_table
from sim.analysis.proportions import clopper_pearson
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

SHARES = (0.50, 0.95)


def sweep_summary(
    ds: Dataset, *, confidence: float = 0.95, quantity: str = "touchdown_speed"
) -> Dataset:
    """Success, and median and 95th percentile of one quantity, at each level of a sweep.

    Parameters
    ----------
    ds : Dataset
        Dimensions: `run` and one or two swept inputs.
    confidence : float [1]
        Of each bound at each level by itself. Levels share their draws, so neighbours err together.
    quantity : str
        touchdown_speed by default.

    Returns
    -------
    Dataset
        success(levels, bound), QUANTITY(levels, statistic, bound), came_down(levels). Flights that
        did not come down count as failures and as infinitely hard.

    Raises
    ------
    UserMistake
        If one or two inputs are not swept, or a variable is missing.
    """
    import xarray as xr

    check_share("confidence", confidence)
    swept = swept_dimensions(ds)
    if len(swept) not in (1, 2):
        raise UserMistake(f"a sweep has one or two swept inputs; this ensemble has {len(swept)}")
    need(ds, ["success", "miss_distance", quantity])
    check_weights(ds)
    laid = ds[["outcome", "success", "miss_distance", quantity]].transpose(*swept, "run")
    down = came_down(laid)
    shape, runs = down.shape[:-1], down.shape[-1]
    if runs == 0:
        raise UserMistake("the ensemble holds no flights")
    passed = np.count_nonzero(successes(laid), axis=-1)
    hard = worst_if_absent(laid, quantity, down)
    share = np.empty((*shape, 3))
    spread = np.empty((*shape, len(SHARES), 3))
    for level in np.ndindex(shape):
        share[level] = clopper_pearson(int(passed[level]), runs, confidence)
        spread[level] = quantile_table(hard[level], SHARES, confidence)
    entries: dict[str, Any] = {
        "success": ((*swept, "bound"), share, {"units": "1", "method": "Clopper-Pearson"}),
        quantity: (
            (*swept, "statistic", "bound"),
            spread,
            {"units": units(ds, quantity), "method": "order statistics, every flight counted"},
        ),
        "came_down": (swept, np.count_nonzero(down, axis=-1), {"units": "1"}),
        "flights": ((), runs, {"units": "1", "long_name": "flights at each level"}),
    }
    coords: dict[str, Any] = {"statistic": ["median", "p95"], "bound": list(BOUND)}
    coords |= {name: ds[name] for name in swept if name in ds.coords}
    attrs = {"title": "sweep", "confidence": confidence}
    return xr.Dataset(entries, coords=coords, attrs=attrs)
