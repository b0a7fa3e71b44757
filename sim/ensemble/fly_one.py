"""Flying one flight, with its trace and its events."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.draws import draw_numbers
from sim.ensemble.fly_runs import WIDTH
from sim.ensemble.protocols import FlyTrace
from sim.ensemble.registry import OUTCOMES, TRACES, attributes
from sim.ensemble.traces import Trace, write_trace_file
from sim.errors import RunFailure, UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Scenario

Floats = NDArray[np.float64]

NOMINAL = -1
"""Run number that the nominal flight has in files."""

# outcome with the time of an event -> what it is called
EVENTS = {
    "lift_off_time": "lift-off",
    "ascent_burn_out_time": "ascent burn-out",
    "separation_time": "ascent stage free",
    "swap_time": "landing motor in its place",
    "apogee_time": "apogee",
    "ignition_command_time": "landing ignition command",
    "landing_light_time": "landing motor lights",
    "contact_time": "first contact",
}


@dataclass(frozen=True)
class Event:
    """State of the vehicle at an event; nan for what the trace does not hold.

    Attributes
    ----------
    name : str
        The outcome with its time.
    label : str
    time : float [s]
        Since the ascent igniter was commanded.
    height_feet : float [m]
        Of the feet above the landing pad.
    velocity_up : float [m/s]
        Of the centre of gravity.
    speed : float [m/s]
        Of the centre of gravity.
    tilt : float [rad]
        Of the long axis from the vertical.
    distance : float [m]
        Of the centre of gravity from the launch point, along the ground.
    """

    name: str
    label: str
    time: float
    height_feet: float
    velocity_up: float
    speed: float
    tilt: float
    distance: float


@dataclass(frozen=True)
class Flight:
    """One flight in plain arrays.

    Attributes
    ----------
    run : int
        Run number, `NOMINAL` for the nominal flight.
    outcomes : dict of str to float
        Every outcome of the registry.
    trace : dict of str to ndarray (samples,)
        By the names of the registry.
    about : dict
        Title, scenario, seed and versions.
    """

    run: int
    outcomes: dict[str, float]
    trace: dict[str, Floats]
    about: dict[str, Any]


def fly(
    scenario: Scenario,
    *,
    run: int | None = None,
    seed: int = 1,
    width: int = WIDTH,
    every: int = 1,
    fly_trace: FlyTrace | None = None,
) -> tuple[Dataset, Dataset]:
    """Fly one flight and keep its trace.

    Parameters
    ----------
    scenario : Scenario
    run : int, optional
        Flight of the ensemble of that seed, as `disperse` flies it with random draws. Without it,
        the nominal flight: every number at its nominal value, with sensor noise and turbulence.
    seed : int
        Of the draws and of the noise.
    width : int
        Flights in lock step of the kernel used: 8 is the one that ensembles share, 1 the plain one.
        The result is the same, bit for bit.
    every : int
        Control ticks between samples of the trace.
    fly_trace : callable, optional
        As `sim.ensemble.fly_runs.fly_trace`, which is used if not given.

    Returns
    -------
    outcomes : Dataset
        Dimension `run`, of size 1, like an ensemble of one.
    trace : Dataset
        Dimension `time` [s].

    Raises
    ------
    UserMistake
        A run or seed below zero, or a scenario that cannot be flown.
    RunFailure
        If the flight gave no trace.
    """
    import xarray as xr

    flight = fly_arrays(
        scenario, run=run, seed=seed, width=width, every=every, fly_trace=fly_trace
    )
    data: dict[str, Any] = {
        name: ("run", np.array([flight.outcomes[name]]).astype(row.dtype), attributes(row))
        for name, row in OUTCOMES.items()
    }
    outcomes = xr.Dataset(data, coords={"run": [flight.run]}, attrs=flight.about)
    lines = {
        name: ("time", series, attributes(TRACES[name])) for name, series in flight.trace.items()
    }
    time = lines.pop("time")
    return outcomes, xr.Dataset(lines, coords={"time": time}, attrs=flight.about)


def fly_arrays(
    scenario: Scenario,
    *,
    run: int | None = None,
    seed: int = 1,
    width: int = WIDTH,
    every: int = 1,
    fly_trace: FlyTrace | None = None,
) -> Flight:
    """Fly one flight, as `fly` does, without the wait for xarray.

    Returns
    -------
    Flight
    """
    if run is not None and run < 0:
        raise UserMistake(f"run {run}; runs are numbered from 0")
    if not 0 <= seed < 2**63:
        raise UserMistake(f"seed {seed}; give a whole number from 0 to 2^63 - 1")
    values = {} if run is None else draw_numbers(scenario, seed, [run])
    found, series = _flown(scenario, seed, run, values, width, every, fly_trace)
    if not len(series.get("time", ())):
        raise RunFailure("the flight left no trace: it failed at once; check the scenario")
    outcomes = {
        name: float(np.ravel(found[name])[0]) if name in found else _missing(row.missing)
        for name, row in OUTCOMES.items()
    }
    trace = {name: series[name] for name in TRACES if name in series}
    return Flight(NOMINAL if run is None else run, outcomes, trace, _about(scenario, seed, run))


def _missing(value: float | None) -> float:
    return math.nan if value is None else value


def _flown(
    scenario: Scenario, seed: int, run: int | None, values: Mapping[str, Floats], width: int,
    every: int, fly_trace: FlyTrace | None,
) -> tuple[Mapping[str, Any], dict[str, Floats]]:  # fmt: skip
    found: Mapping[str, Any]
    trace: Mapping[str, Any]
    if fly_trace is None:
        from sim.ensemble.fly_runs import fly_trace as kernel

        found, trace = kernel(scenario, seed, run, values, every=every, width=width)
    else:
        found, trace = fly_trace(scenario, seed, NOMINAL if run is None else run, dict(values))
    series = {name: np.asarray(line) for name, line in trace.items()}
    if "tilt" not in series and "quaternion_0" in series:
        series["tilt"] = tilt_of(*(series[f"quaternion_{i}"] for i in range(4)))
    return found, series


def tilt_of(q0: Floats, q1: Floats, q2: Floats, q3: Floats) -> Floats:
    """Angle [rad] of the long axis from the vertical, from the attitude body to local."""
    return np.asarray(np.arccos(np.clip(2.0 * (q1 * q3 - q0 * q2), -1.0, 1.0)))


def _about(scenario: Scenario, seed: int, run: int | None) -> dict[str, Any]:
    from sim.ensemble.versions import libraries, processor, setdown_version

    return {
        "title": f"{scenario.title}: " + ("nominal flight" if run is None else f"flight {run}"),
        "source": f"setdown {setdown_version()}, simulation of whole flights",
        "setdown_version": setdown_version(),
        "scenario": scenario.text,
        "scenario_digest": scenario.digest,
        "seed": seed,
        "flight": "nominal" if run is None else f"run {run}",
        "processor": processor(),
        "libraries": libraries(),
    }


def events(flight: Flight) -> list[Event]:
    """List the events of a flight in the order of time, with the state there.

    Only those that came.
    """
    found = [
        _event(name, label, flight.outcomes[name], flight.trace)
        for name, label in EVENTS.items()
        if math.isfinite(flight.outcomes[name])
    ]
    return sorted(found, key=lambda event: event.time)


def _event(name: str, label: str, at: float, trace: Mapping[str, Floats]) -> Event:
    def value(line: str) -> float:
        return float(np.interp(at, trace["time"], trace[line])) if line in trace else math.nan

    east, north, up = (value(f"velocity_{axis}") for axis in ("east", "north", "up"))
    return Event(
        name=name, label=label, time=at, height_feet=value("height_feet"), velocity_up=up,
        speed=math.hypot(east, north, up), tilt=value("tilt"),
        distance=math.hypot(value("east"), value("north")),
    )  # fmt: skip


def write_trace(path: Path, flight: Flight) -> None:
    """Write the trace of one flight, whole or not at all.

    Parameters
    ----------
    path : Path
        netCDF file, replaced if it is there.
    flight : Flight
        Its outcomes that are numbers become attributes of the file.

    Raises
    ------
    RunFailure
        The disk is full, or the place cannot be written.
    """
    from sim.ensemble.store import put_in_place

    about = flight.about | {n: v for n, v in flight.outcomes.items() if math.isfinite(v)}
    unfinished = path.with_name(f".{path.name}.tmp")
    try:
        write_trace_file(unfinished, [Trace(flight.run, flight.trace)], about)
        put_in_place(unfinished, path, durable=False)
    except (OSError, RuntimeError) as problem:  # the netCDF library raises both
        unfinished.unlink(missing_ok=True)
        reason = getattr(problem, "strerror", None) or str(problem)
        raise RunFailure(
            f"{path} could not be written: {reason}. Make room or give another place with -o; what "
            "was there before is unharmed."
        ) from problem
