"""Where a vehicle stands and where it tips: sink rate against side speed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs
from sim.ensemble.drop import Rig, even_ground
from sim.ensemble.drop_release import PREFIX, Release, foot_direction
from sim.ensemble.protocols import Floats
from sim.ensemble.registry import OUTCOME_MEANINGS

if TYPE_CHECKING:
    from xarray import Dataset

SINK_RATES = "0..4 m/s/17"
SIDE_SPEEDS = "0..2.4 m/s/17"
WAYS = ("along a leg", "between two legs")
DRAWN, GIVEN = "any direction", "the direction given"


def fly_map(
    rig: Rig,
    release: Release,
    sink_rates: Sequence[float],
    side_speeds: Sequence[float],
    *,
    flights: int | None = None,
    direction_given: bool = False,
    tilt_direction_given: bool = False,
    confidence: float = 0.95,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Dataset:
    """Drop the vehicle at every sink rate and side speed of a grid.

    Parameters
    ----------
    rig : Rig
    release : Release
        Everything but sink rate and side speed.
    sink_rates, side_speeds : sequences of float [m/s]
        Ascending.
    flights : int, optional
        Drops in each cell, the same draws in all. Without it one nominal drop in each, on even
        ground: once along a leg and once between two legs, unless a direction was given; a lean
        whose direction was not given then goes the same way.
    direction_given, tilt_direction_given : bool
        A side direction, or a direction of the lean, was asked for.
    confidence, seed, workers, progress
        As elsewhere.

    Returns
    -------
    Dataset
        Over way, sink_rate and side_speed: standing(bound) [1], unharmed [1] and tipped [1]; no
        bounds of nominal drops.
    """
    import xarray as xr

    from sim.analysis.flights import BOUND
    from sim.analysis.proportions import clopper_pearson

    both = flights is None and not direction_given
    ways = WAYS if both else (GIVEN if direction_given else DRAWN,)
    each = flights or 1
    cells = [(a, b) for a in sink_rates for b in side_speeds]
    runs = first_runs(each)
    let_go = release.nominal(each) if flights is None else release.drawn(seed, runs)
    let_go.pop(PREFIX + "height", None)
    batches = []
    for way in ways:
        towards = dict(let_go)
        if both:
            angle = np.full(each, foot_direction(rig.scenario, between=way == WAYS[1]))
            towards[PREFIX + "side_direction"] = angle
            if not tilt_direction_given:
                towards[PREFIX + "tilt_direction"] = angle
        values = _over(cells, towards, each)
        drawn = flights is not None
        ground = {} if drawn else even_ground(len(cells))
        batches.append(Batch(rig.scenario, np.tile(runs, len(cells)), values | ground, drawn))
    found = Campaign(seed, fly=rig.fly, workers=workers, progress=progress).fly(batches)
    size = (len(ways), len(sink_rates), len(side_speeds), each)

    def counted(hit: Any) -> Any:
        return np.reshape([hit(outcomes) for outcomes in found], size).sum(axis=-1)

    standing = counted(lambda out: out["standing"] > 0.5)
    bounds = np.array([clopper_pearson(int(k), each, confidence) for k in standing.ravel()])
    if flights is None:
        bounds[:, [0, 2]] = np.nan  # one nominal drop says nothing of a chance
    over = OUTCOME_MEANINGS.index("tipped")
    sound = [OUTCOME_MEANINGS.index(name) for name in ("standing", "off_landing_pad")]
    where = ("way", "sink_rate", "side_speed")
    entries: dict[str, Any] = {
        "standing": ((*where, "bound"), bounds.reshape(*size[:3], 3), {"units": "1"}),
        "unharmed": (where, counted(lambda out: np.isin(out["outcome"], sound)) / each,
                     {"units": "1"}),
        "tipped": (where, counted(lambda out: out["outcome"] == over) / each, {"units": "1"}),
    }  # fmt: skip
    coords = {
        "way": list(ways), "sink_rate": ("sink_rate", list(sink_rates), {"units": "m s-1"}),
        "side_speed": ("side_speed", list(side_speeds), {"units": "m s-1"}), "bound": list(BOUND),
    }  # fmt: skip
    attrs = {
        "title": f"{rig.scenario.title}: where it stands", "vehicle": rig.scenario.title,
        "flights": each, "drawn": int(flights is not None), "confidence": confidence,
        "seed": seed, "landing_motor": rig.motor,
        "surface": str(rig.scenario.choices["surface.kind"]),
        "strut": str(rig.scenario.choices["legs.strut"]),
    }  # fmt: skip
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def _over(
    cells: Sequence[tuple[float, float]], let_go: Mapping[str, Floats], each: int
) -> dict[str, Floats]:
    """Release of every drop of every cell, cell after cell."""
    values = {name: np.tile(column, len(cells)) for name, column in let_go.items()}
    values[PREFIX + "sink_rate"] = np.repeat([sink for sink, _ in cells], each).astype(np.float64)
    values[PREFIX + "side_speed"] = np.repeat([side for _, side in cells], each).astype(np.float64)
    return values
