"""The drop rig: the touchdown alone, flown through the real flight loop from just above the ground.

The vehicle is as it lands: stage gone, legs and petals open, nobody at the controls, still air.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs, outcome_dataset
from sim.ensemble.draws import draw_numbers
from sim.ensemble.drop_inputs import MOTORS, Fall, fall_of, release_inputs
from sim.ensemble.drop_release import PREFIX, Release
from sim.ensemble.fly_one import NOMINAL, Flight, tilt_of
from sim.ensemble.fly_runs import WIDTH
from sim.ensemble.protocols import Floats, Fly, Runs
from sim.ensemble.registry import OUTCOMES, TRACES
from sim.errors import RunFailure, UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Scenario

LEFT_BEHIND = ("stage", "ascent_motor", "landing_motor")
# what has no nominal value but none: dips, soft and slippery spots, broken latches
EVEN = (
    "surface.roughness", "surface.stiffness_patches", "surface.friction_patches",
    "legs.latch_failure", "legs.stays_folded",
)  # fmt: skip


@dataclass(frozen=True)
class Rig:
    """What is dropped.

    Attributes
    ----------
    scenario : Scenario
        Of the vehicle as it lands; from `make_rig`.
    motor : {"spent", "full"}
    """

    scenario: Scenario
    motor: str

    @property
    def fly(self) -> Fly:
        """The rig as a campaign flies it: releases travel with the drawn values."""
        return partial(fly_drops, motor=self.motor)


def make_rig(scenario: Scenario, motor: str = "spent") -> Rig:
    """Put a vehicle on the drop rig.

    Parameters
    ----------
    scenario : Scenario
        With legs.
    motor : {"spent", "full"}
        Landing motor burnt out, or unlit with all its propellant.

    Raises
    ------
    UserMistake
        The vehicle has no legs, or there is no such motor.
    """
    if not scenario.has("legs"):
        raise UserMistake(
            f"{scenario.path}: the vehicle has no legs to drop it on; add a [legs] section"
        )
    if motor not in MOTORS:
        raise UserMistake(f'motor "{motor}"; write {" or ".join(MOTORS)}')
    if motor == "full" and not scenario.has("landing_motor"):
        raise UserMistake("--motor full: the scenario has no [landing_motor]")
    choices = {**scenario.choices, "flight_computer.kind": "none", "start.mode": "free"}
    parts = scenario.parts.difference(LEFT_BEHIND)
    return Rig(replace(scenario, choices=choices, parts=parts), motor)


def fly_drops(
    scenario: Scenario, seed: int, runs: Runs, values: Mapping[str, Floats],
    width: int = WIDTH, *, motor: str = "spent",
) -> dict[str, Floats]:  # fmt: skip
    """Drop these runs; as `sim.ensemble.fly_runs.fly_runs`, for a scenario of `make_rig`.

    Parameters
    ----------
    values : mapping of str to ndarray (n,)
        Drawn numbers of the scenario, and the release by the names with `drop_release.PREFIX`.
    motor : {"spent", "full"}

    Returns
    -------
    dict of str to ndarray (n,)
        Outcomes by the names of the registry.
    """
    from sim.ensemble.fly_runs import finished

    release = {name: v for name, v in values.items() if name.startswith(PREFIX)}
    drawn = {name: v for name, v in values.items() if not name.startswith(PREFIX)}
    raw, _, _ = _dropped(scenario, seed, runs, drawn, release, width, motor, traced=False)
    return finished(raw, scenario, drawn)


def _dropped(
    scenario: Scenario, seed: int, runs: Runs, values: Mapping[str, Floats],
    release: Mapping[str, Floats], width: int, motor: str, *, traced: bool,
) -> tuple[dict[str, Floats], Floats, Fall]:  # fmt: skip
    """Fly the fall, then what comes after the first touch; outcomes as the kernel writes them."""
    from sim.ensemble.fly_runs import fly_inputs, load_computer
    from sim.ensemble.prepare import flight_inputs
    from sim.flight_records import INPUTS, TRACE

    loaded, count = load_computer(scenario), len(runs)
    inputs = flight_inputs(values, scenario, count)
    fields = dict(zip(INPUTS, inputs, strict=True))
    for name, row in release_inputs(fields, release, loaded.tables.legs, motor).items():
        inputs[INPUTS.index(name)] = row
    fall = fall_of(release, fields["gravity"])
    longest = 3.0 * float(np.max(fall.time)) + 2.0
    plan = loaded.plan._replace(most_ticks=int(np.ceil(longest / loaded.plan.interval)))
    rows = (plan.most_ticks + plan.most_settle_ticks + 2) * len(TRACE) if traced else 0
    raw, traces = fly_inputs(
        loaded, plan, seed, runs, inputs, width, trace_rows=rows, to_rest=True
    )
    return raw, traces, fall


def even_ground(count: int) -> dict[str, Floats]:
    """Numbers of a nominal drop (count,): each foot on the same ground, every latch holding."""
    return {name: np.zeros(count) for name in EVEN}


def drop_one(
    rig: Rig, release: Release, *, run: int | None = None, seed: int = 1, width: int = WIDTH
) -> Flight:
    """Drop once and keep the trace.

    Parameters
    ----------
    rig : Rig
    release : Release
    run : int, optional
        Drop of the ensemble of that seed, as `drop_many` makes it; without it the nominal one:
        every number at its nominal value, on even ground.
    seed : int
    width : int
        Drops in lock step of the kernel used. Same bits.

    Returns
    -------
    Flight
        Its times count from the moment of letting go.

    Raises
    ------
    RunFailure
        If the drop gave no trace.
    """
    from sim.ensemble.fly_runs import NOMINAL_RUN, finished
    from sim.flight_records import TRACE

    number = np.array([NOMINAL_RUN if run is None else run], dtype=np.int64)
    values = even_ground(1) if run is None else draw_numbers(rig.scenario, seed, number)
    let_go = release.nominal() if run is None else release.drawn(seed, number)
    raw, traces, fall = _dropped(
        rig.scenario, seed, number, values, let_go, width, rig.motor, traced=True
    )
    found = finished(raw, rig.scenario, values)
    table = traces[:, 0].reshape(-1, len(TRACE))
    table = table[table[:, TRACE.index("mass")] > 0.0]
    if not len(table):
        raise RunFailure("the drop left no trace: it failed at once; check the scenario")
    series = {name: table[:, i].copy() for i, name in enumerate(TRACE)}
    series["tilt"] = tilt_of(*(series[f"quaternion_{i}"] for i in range(4)))
    outcomes = {
        name: float(found[name][0]) if name in found else float(row.missing or 0.0)
        for name, row in OUTCOMES.items()
    }
    trace = {name: series[name] for name in TRACES if name in series}
    told = about(rig, seed, run) | {"release_height": float(fall.height[0])}
    return Flight(NOMINAL if run is None else run, outcomes, trace, told)


def about(rig: Rig, seed: int, run: int | None = None) -> dict[str, Any]:
    """Global attributes of a drop's file."""
    from sim.ensemble.versions import libraries, processor, setdown_version

    what = "nominal drop" if run is None else f"drop {run}"
    return {
        "title": f"{rig.scenario.title}: {what}",
        "source": f"setdown {setdown_version()}, simulation of the touchdown alone",
        "setdown_version": setdown_version(),
        "scenario": rig.scenario.text,
        "scenario_digest": rig.scenario.digest,
        "seed": seed,
        "flight": what,
        "time_origin": "the moment of letting go",
        "landing_motor": rig.motor,
        "processor": processor(),
        "libraries": libraries(),
    }


def drop_many(
    rig: Rig, release: Release, flights: int, *, seed: int = 1, workers: int | None = None,
    progress: Progress | None = None,
) -> Dataset:  # fmt: skip
    """Drop the vehicle many times: vehicle, legs, ground and release drawn anew each time.

    Parameters
    ----------
    rig : Rig
    release : Release
    flights : int
        Drops.
    seed, workers, progress
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Dataset
        Every outcome, dimension `run`, and what was drawn for the release.
    """
    runs = first_runs(flights)
    campaign = Campaign(seed, fly=rig.fly, workers=workers, progress=progress)
    let_go = release.drawn(seed, runs)
    outcomes = campaign.fly_one(Batch(rig.scenario, runs, let_go))
    ds = outcome_dataset(outcomes, runs, seed)
    for name, values in let_go.items():
        ds["release_" + name.removeprefix(PREFIX)] = ("run", values, {"units": _unit(name)})
    ds.attrs |= about(rig, seed) | {"flights": flights, "title": f"{rig.scenario.title}: drops"}
    return ds


def _unit(name: str) -> str:
    from sim.ensemble.drop_release import NUMBERS
    from sim.scenario.dimensions import DIMENSIONS

    return str(DIMENSIONS[NUMBERS[name.removeprefix(PREFIX)][0]].unit)


def write_drops(path: Path, ds: Dataset) -> None:
    """Write many drops as netCDF, whole or not at all.

    Raises
    ------
    RunFailure
        The file cannot be written.
    """
    from sim.ensemble.store import put_in_place

    unfinished = path.with_name(f".{path.name}.tmp")
    packed = {str(name): {"zlib": True, "complevel": 1} for name in ds.data_vars}
    try:
        ds.assign_attrs(Conventions="CF-1.11").to_netcdf(
            unfinished, engine="netcdf4", encoding=packed
        )
        put_in_place(unfinished, path, durable=False)
    except (OSError, RuntimeError) as problem:  # the netCDF library raises both
        unfinished.unlink(missing_ok=True)
        reason = getattr(problem, "strerror", None) or str(problem)
        raise RunFailure(
            f"{path} could not be written: {reason}. Make room or give another place with -o; what "
            "was there before is unharmed."
        ) from problem
