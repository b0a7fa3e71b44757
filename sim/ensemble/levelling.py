"""What to do before flight: nine ways to align and to zero, flown on the same draws."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs
from sim.ensemble.protocols import Fly, ScenarioLike

if TYPE_CHECKING:
    from xarray import Dataset

ATTITUDES = ("plumb", "levelled", "measured")
ZEROINGS = ("none", "nose_axis", "all_axes")


def fly_levelling(
    scenario: ScenarioLike,
    *,
    flights: int = 2_000,
    confidence: float = 0.95,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> Dataset:
    """Fly the nine combinations of alignment and zeroing.

    Parameters
    ----------
    scenario : Scenario
        What it chooses itself is replaced, and named in the attributes.
    flights : int
        Of each combination, the same draws for all.
    confidence : float [1]
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Dataset
        success(attitude, zeroing, bound), miss_distance(attitude, zeroing, percent, bound) [m], and
        p_value(attitude, zeroing) of McNemar's test of success against the best combination.
    """
    import xarray as xr

    from sim.analysis.flights import BOUND, successes, worst_if_absent
    from sim.analysis.order_statistics import quantile_table
    from sim.analysis.proportions import clopper_pearson, mcnemar_exact
    from sim.ensemble.batches import outcome_dataset
    from sim.ensemble.tolerance import scenario_choice

    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    runs = first_runs(flights)
    batches = [
        Batch(scenario.with_values({"alignment.attitude": a, "alignment.zeroing": z}), runs)
        for a in ATTITUDES
        for z in ZEROINGS
    ]
    good, success, miss = [], [], []
    for outcomes in campaign.fly(batches):
        ds = outcome_dataset(outcomes, runs, seed)
        met = successes(ds)
        good.append(met)
        success.append(clopper_pearson(int(met.sum()), flights, confidence))
        far = worst_if_absent(ds, "miss_distance", np.isfinite(ds["miss_distance"].to_numpy()))
        miss.append(quantile_table(far, (0.5, 0.95), confidence, lowest=0.0))
    best = good[int(np.argmax([met.sum() for met in good]))]
    p_values = [mcnemar_exact(int(np.sum(best & ~m)), int(np.sum(m & ~best))) for m in good]
    grid = (len(ATTITUDES), len(ZEROINGS))
    where = ("attitude", "zeroing")
    entries: dict[str, Any] = {
        "success": ((*where, "bound"), np.reshape(success, (*grid, 3)), {"units": "1"}),
        "miss_distance": (
            (*where, "percent", "bound"), np.reshape(miss, (*grid, 2, 3)), {"units": "m"},
        ),
        "p_value": (where, np.reshape(p_values, grid), {"units": "1", "method": "McNemar, exact"}),
        "flights": ((), flights, {"units": "1", "long_name": "flights of each combination"}),
    }  # fmt: skip
    coords = {
        "attitude": list(ATTITUDES), "zeroing": list(ZEROINGS), "percent": [50.0, 95.0],
        "bound": list(BOUND),
    }  # fmt: skip
    attrs = {
        "title": "alignment and zeroing", "vehicle": scenario.title, "confidence": confidence,
        "alignment": scenario_choice(scenario, "alignment.attitude"),
        "zeroing": scenario_choice(scenario, "alignment.zeroing"), "seed": seed,
    }  # fmt: skip
    return xr.Dataset(entries, coords=coords, attrs=attrs)
