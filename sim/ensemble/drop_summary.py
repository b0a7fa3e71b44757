"""What many drops say: standing, outcomes and loads, each with its confidence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.protocols import Floats
from sim.ensemble.registry import OUTCOME_MEANINGS, OUTCOMES

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from xarray import Dataset

    from sim.scenario import Scenario

LOADS = (
    "peak_strut_force", "peak_stroke", "peak_deceleration", "touchdown_speed", "hops",
    "slide_distance", "rest_tilt",
)  # fmt: skip
UNHARMED = ("standing", "off_landing_pad")
"""Outcomes of a vehicle that stands and of which nothing was asked beyond what it is made for."""


def stands(ds: Dataset) -> NDArray[np.bool_]:
    """Drops after which the vehicle is at rest upright on its feet, whatever the loads."""
    return np.asarray(ds["standing"].to_numpy() == 1)


def unharmed(ds: Dataset) -> NDArray[np.bool_]:
    """Drops after which it stands, with no load, speed or touch beyond what it is made for."""
    wanted = [OUTCOME_MEANINGS.index(name) for name in UNHARMED]
    return np.asarray(np.isin(ds["outcome"].to_numpy(), wanted) & stands(ds))


def load_values(ds: Dataset, name: str) -> Floats:
    """Values of a load; what has none (a drop that failed) counts as infinitely large."""
    values = ds[name].to_numpy().astype(np.float64)
    return np.where(np.isfinite(values), values, np.inf)


def drop_summary(ds: Dataset, *, confidence: float = 0.95) -> Dataset:
    """Probabilities and percentiles of many drops.

    Parameters
    ----------
    ds : Dataset
        From `sim.ensemble.drop.drop_many`.
    confidence : float [1]
        Of each bound by itself.

    Returns
    -------
    Dataset
        standing(bound), unharmed(bound), outcome_probability(outcome, bound),
        outcome_count(outcome) of the outcomes that came, and each of LOADS(statistic, bound) with
        statistics median and p95.

    Notes
    -----
    Probabilities: Clopper-Pearson. Percentiles: order statistics, free of any law.
    """
    import xarray as xr

    from sim.analysis.flights import BOUND
    from sim.analysis.order_statistics import quantile_table
    from sim.analysis.proportions import clopper_pearson

    count = ds.sizes["run"]
    values = ds["outcome"].to_numpy().astype(int)
    names = [name for i, name in enumerate(OUTCOME_MEANINGS) if np.any(values == i)]
    counts = [int(np.sum(values == OUTCOME_MEANINGS.index(name))) for name in names]
    names = [name for _, name in sorted(zip(counts, names, strict=True), reverse=True)]
    counts.sort(reverse=True)
    entries: dict[str, Any] = {
        "flights": ((), count, {"units": "1"}),
        "outcome_count": (("outcome",), counts, {"units": "1"}),
        "outcome_probability": (
            ("outcome", "bound"), [clopper_pearson(k, count, confidence) for k in counts],
            {"units": "1", "method": "Clopper-Pearson"},
        ),
    }  # fmt: skip
    for name, found in (("standing", stands(ds)), ("unharmed", unharmed(ds))):
        share = clopper_pearson(int(found.sum()), count, confidence)
        entries[name] = (("bound",), list(share), {"units": "1", "method": "Clopper-Pearson"})
        entries[f"{name}_count"] = ((), int(found.sum()), {"units": "1"})
    for name in LOADS:
        table = quantile_table(load_values(ds, name), (0.5, 0.95), confidence, lowest=0.0)
        entries[name] = (
            ("statistic", "bound"), table,
            {"units": OUTCOMES[name].units, "long_name": OUTCOMES[name].long_name},
        )  # fmt: skip
    coords = {"outcome": names, "bound": list(BOUND), "statistic": ["median", "p95"]}
    attrs = {"confidence": confidence, "seed": ds.attrs["seed"], "title": ds.attrs["title"]}
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def made_for(scenario: Scenario) -> dict[str, float]:
    """What legs and frame are made for, SI, by the names of LOADS."""
    return {
        "peak_strut_force": float(scenario.numbers["legs.strut_strength"].value),
        "peak_stroke": float(scenario.numbers["legs.stroke"].value),
        "peak_deceleration": float(scenario.numbers["legs.airframe_limit"].value),
        "touchdown_speed": float(scenario.numbers["legs.rated_speed"].value),
    }
