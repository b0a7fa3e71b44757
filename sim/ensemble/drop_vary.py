"""One number of legs, ground or vehicle at several levels, the same drops at each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs, outcome_dataset
from sim.ensemble.drop import make_rig
from sim.ensemble.drop_release import Release
from sim.ensemble.drop_summary import load_values, stands, unharmed
from sim.ensemble.registry import OUTCOMES
from sim.ensemble.vary import Vary, level_value
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Scenario

SHOWN = ("hops", "peak_strut_force", "peak_stroke", "peak_deceleration", "slide_distance")
STATIC, KINETIC = "surface.friction_static", "surface.friction_kinetic"
PARTS = ("legs.", "surface.", "vehicle.", "site.", "landing_motor.", "aerodynamics.", "petals.")


def fly_vary(
    scenario: Scenario,
    motor: str,
    release: Release,
    vary: Vary,
    *,
    flights: int,
    confidence: float = 0.95,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Dataset:
    """Drop the vehicle at each level of one number, with the same draws at every level.

    Parameters
    ----------
    scenario : Scenario
        As loaded, with legs.
    motor : {"spent", "full"}
    release : Release
    vary : Vary
        A number of the legs, the ground or the vehicle. At a level it has no scatter, but for what
        differs from foot to foot. Sliding friction keeps its ratio to static friction.
    flights : int
        Drops at each level.
    confidence, seed, workers, progress
        As elsewhere.

    Returns
    -------
    Dataset
        Over level: standing(bound), unharmed(bound) [1], mean_hops [1], and each of
        SHOWN(statistic, bound) with statistics median and p95. Attributes say which level is best,
        by which measure, which comes next, and the p-value of their difference.

    Raises
    ------
    UserMistake
        The number does not matter on a drop rig, or a level is not allowed.

    Notes
    -----
    The best level is the one that stands most often; of equals the one with the least median
    strut force. It is held against the next by McNemar's exact test, or for equals by the sign test
    of the strut force drop by drop, and is beyond noise if the p-value is below the risk
    divided by the number of comparisons a level has (Bonferroni), since the best was picked.
    """
    import xarray as xr

    from sim.analysis.flights import BOUND
    from sim.analysis.order_statistics import quantile_table
    from sim.analysis.proportions import clopper_pearson

    if not vary.key.startswith(PARTS):
        raise UserMistake(
            f"--vary {vary.key}: it does not matter on a drop rig; vary a number of the legs, the "
            "surface or the vehicle, as legs.damping"
        )
    scenarios = [at_level(scenario, vary.key, level) for level in vary.levels]
    levels, unit = zip(*(level_value(s, vary.key) for s in scenarios), strict=True)
    rigs = [make_rig(s, motor) for s in scenarios]
    runs = first_runs(flights)
    let_go = release.drawn(seed, runs)
    campaign = Campaign(seed, fly=rigs[0].fly, workers=workers, progress=progress)
    found = [
        outcome_dataset(outcomes, runs, seed)
        for outcomes in campaign.fly([Batch(rig.scenario, runs, let_go) for rig in rigs])
    ]
    entries: dict[str, Any] = {}
    for name, test in (("standing", stands), ("unharmed", unharmed)):
        rows = [clopper_pearson(int(test(ds).sum()), flights, confidence) for ds in found]
        entries[name] = (("level", "bound"), np.array(rows), {"units": "1"})
    for name in SHOWN:
        tables = [
            quantile_table(load_values(ds, name), (0.5, 0.95), confidence, lowest=0.0)
            for ds in found
        ]
        about = {"units": OUTCOMES[name].units, "long_name": OUTCOMES[name].long_name}
        entries[name] = (("level", "statistic", "bound"), np.array(tables), about)
    mean_hops = [float(load_values(ds, "hops").mean()) for ds in found]
    entries["mean_hops"] = (("level",), mean_hops, {"units": "1"})
    coords = {
        "level": ("level", list(levels), {"units": unit[0]}), "bound": list(BOUND),
        "statistic": ["median", "p95"],
    }  # fmt: skip
    attrs: dict[str, Any] = {
        "title": f"{scenario.title}: {vary.key}", "vehicle": scenario.title,
        "scenario_key": vary.key, "flights": flights, "confidence": confidence, "seed": seed,
        "landing_motor": motor, "surface": str(scenario.choices["surface.kind"]),
        "strut": str(scenario.choices["legs.strut"]),
    }  # fmt: skip
    return xr.Dataset(entries, coords=coords, attrs=attrs | _best(found, confidence))


def at_level(scenario: Scenario, key: str, level: str) -> Scenario:
    """Set one number; sliding friction goes with static friction, in the ratio that they have.

    Raises
    ------
    UserMistake
        There is no such number, or the level is not allowed.
    """
    if key != STATIC:
        return scenario.with_values({key: level})
    ratio = scenario.numbers[KINETIC].value / max(scenario.numbers[STATIC].value, 1e-9)
    trial = scenario.with_values({STATIC: level, KINETIC: 0.0})
    return trial.with_values({KINETIC: float(ratio * trial.numbers[STATIC].value)})


def _best(found: list[Dataset], confidence: float) -> dict[str, Any]:
    """Name the best level and the next, and hold them against one another."""
    from sim.analysis.proportions import mcnemar_exact

    good = [stands(ds) for ds in found]
    force = [load_values(ds, "peak_strut_force") for ds in found]
    order = sorted(
        range(len(found)),
        key=lambda i: (-int(good[i].sum()), float(np.quantile(force[i], 0.5, method="lower"))),
    )
    first, second = order[0], order[1]
    only_first = int(np.count_nonzero(good[first] & ~good[second]))
    only_second = int(np.count_nonzero(good[second] & ~good[first]))
    by = "standing" if good[first].sum() != good[second].sum() else "peak_strut_force"
    if by == "standing":
        chance = mcnemar_exact(only_first, only_second)
    else:
        less = int(np.count_nonzero(force[first] < force[second]))
        more = int(np.count_nonzero(force[first] > force[second]))
        chance = mcnemar_exact(less, more) if less > more else 1.0
    told_apart = chance < (1.0 - confidence) / max(len(found) - 1, 1)
    return {
        "best": first, "next": second, "by": by, "p_value": chance,
        "told_apart": int(told_apart), "only_best": only_first, "only_next": only_second,
    }  # fmt: skip
