"""Ignition and throttle: success and touchdown speed over ignition height and authority."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs, outcome_dataset
from sim.ensemble.protocols import Fly
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Scenario

AUTHORITY = "throttle.authority"
AUTHORITIES = (0.0, 0.10, 0.20, 0.30)
# what says when to light, by the ignition law; steps about the scenario's value
KEYS = {
    "table": ("flight_computer.ignition_margin", (-0.5, -0.25, 0.0, 0.25, 0.5, 1.0), False),
    "height": ("flight_computer.ignition_height", (0.8, 0.9, 1.0, 1.1, 1.2), True),
    "time": ("flight_computer.ignition_time", (0.9, 0.95, 1.0, 1.05, 1.1), True),
}


def fly_ignition(
    scenario: Scenario,
    *,
    levels: Sequence[float] = (),
    authorities: Sequence[float] = AUTHORITIES,
    flights: int = 500,
    confidence: float = 0.95,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> Dataset:
    """Fly a grid of ignition setting and throttle authority, the same draws at each point.

    Parameters
    ----------
    scenario : Scenario
        With a landing motor and the built-in flight computer.
    levels : sequence of float [m] or [s]
        Of the setting that says when to light; about the scenario's own if empty.
    authorities : sequence of float [1]
        Largest share of thrust taken away; the scenario's own is added.
    flights : int
        At each point.
    confidence : float [1]
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Dataset
        Over level and authority: success(bound), touchdown_speed(percent, bound) [m/s],
        ignition_height [m] and burn_left [1], medians.

    Raises
    ------
    UserMistake
        The scenario has no landing motor.
    """
    import xarray as xr

    from sim.analysis.flights import BOUND, came_down, successes, worst_if_absent
    from sim.analysis.order_statistics import quantile_table
    from sim.analysis.proportions import clopper_pearson

    if not scenario.has("landing_motor"):
        raise UserMistake("the scenario has no [landing_motor], so there is no ignition to choose")
    key, steps, relative = KEYS[str(scenario.choices["flight_computer.ignition"])]
    now = float(scenario.numbers[key].value)
    usual = [now * s if relative else now + s for s in steps]
    first = sorted({round(x, 6) for x in (levels or usual)})
    has = scenario.has("throttle")
    own = float(scenario.numbers[AUTHORITY].value) if has else 0.0
    second = sorted({*authorities, own}) if has else [0.0]
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    runs = first_runs(flights)
    points = [(level, share) for level in first for share in second]
    scenarios = [
        scenario.with_values({key: level} | ({AUTHORITY: share} if has else {}))
        for level, share in points
    ]
    success, speed, height, left = [], [], [], []
    for outcomes in campaign.fly([Batch(s, runs) for s in scenarios]):
        ds = outcome_dataset(outcomes, runs, seed)
        success.append(clopper_pearson(int(successes(ds).sum()), flights, confidence))
        fast = worst_if_absent(ds, "touchdown_speed", came_down(ds))
        speed.append(quantile_table(fast, (0.5, 0.95), confidence, lowest=0.0))
        height.append(_median(ds, "ignition_height"))
        left.append(_median(ds, "burn_left_at_contact"))
    size = (len(first), len(second))
    where = ("level", "authority")
    entries: dict[str, Any] = {
        "success": ((*where, "bound"), np.reshape(success, (*size, 3)), {"units": "1"}),
        "touchdown_speed": (
            (*where, "percent", "bound"), np.reshape(speed, (*size, 2, 3)), {"units": "m s-1"},
        ),
        "ignition_height": (
            where, np.reshape(height, size),
            {"units": "m", "long_name": "median height of the feet at light"},
        ),
        "burn_left": (
            where, np.reshape(left, size),
            {"units": "1", "long_name": "median share of the impulse left at contact"},
        ),
    }  # fmt: skip
    coords = {
        "level": ("level", first, {"units": scenario.numbers[key].unit}),
        "authority": ("authority", second, {"units": "1"}), "percent": [50.0, 95.0],
        "bound": list(BOUND),
    }  # fmt: skip
    attrs = {
        "title": "ignition and throttle", "vehicle": scenario.title, "scenario_key": key,
        "level_now": now, "authority_now": own, "flights": flights, "confidence": confidence,
        "seed": seed,
    }  # fmt: skip
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def _median(ds: Dataset, name: str) -> float:
    values = ds[name].to_numpy() if name in ds else np.empty(0)
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else float("nan")
