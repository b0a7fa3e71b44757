"""Fly numbered runs of a scenario: draws in, outcomes out. The one caller of the flight kernel."""

from __future__ import annotations

import os
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import lcm
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.air_table import air_table
from sim.ensemble.flight_order import FlightOrder
from sim.ensemble.thrust_curves import reduced_curve
from sim.lanes.compiler import is_off

if TYPE_CHECKING:
    from sim.flight_work import Plan, Queue, Tables
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Outcomes = dict[str, NDArray[np.float64]]


def natural_width() -> int:
    """Flights in lock step: as SETDOWN_WIDTH says, else 8 with 512-bit vectors, else 4.

    Plain Python (NUMBA_DISABLE_JIT=1) flies one at a time.

    The bits are the same at every width. With 256-bit vectors the flight kernel is no slower at
    width 4 than at 8, where values no longer fit the registers, and it compiles quicker.
    """
    if is_off():
        return 1
    chosen = os.environ.get("SETDOWN_WIDTH", "")
    if chosen in ("1", "2", "4", "8", "16"):
        return int(chosen)
    import llvmlite.binding as llvm

    features = os.environ.get("NUMBA_CPU_FEATURES") or llvm.get_host_cpu_features().flatten()
    return 8 if "+avx512f" in features else 4


WIDTH = natural_width()
PROFILE_TOP = 2000.0  # m

LEANING_TILT = np.deg2rad(30.0)  # at rest on the airframe: beyond it, it has tipped
TUMBLED_TILT = np.deg2rad(60.0)  # at the first touch: no leg can save it


@dataclass(frozen=True)
class Loaded:
    """What a scenario's flights have in common, ready for the kernel."""

    plan: Plan
    tables: Tables
    settings: Floats
    order: FlightOrder = field(default_factory=FlightOrder)


_loaded: dict[str, Loaded] = {}
_loading = threading.Lock()


def load_computer(scenario: Scenario) -> Loaded:
    """Everything that is the same for all flights of a scenario; kept by its digest.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Loaded
    """
    with _loading:
        if scenario.digest not in _loaded:
            if len(_loaded) > 64:
                _loaded.clear()
            _loaded[scenario.digest] = _load(scenario)
        return _loaded[scenario.digest]


def _load(scenario: Scenario) -> Loaded:
    from sim.avionics.computer import SETTINGS
    from sim.ensemble.prepare_legs import design_of
    from sim.ensemble.settings import computer_settings
    from sim.flight_work import Plan, Tables

    numbers, choices = scenario.numbers, scenario.choices
    told, tables = computer_settings(scenario)
    interval = 1.0 / numbers["flight_computer.control_rate"].value
    rate = numbers["inertial.rate"].value
    every = max(1, round(1.0 / (rate * interval))) if rate > 0.0 else 1
    plan = Plan(
        interval=interval,
        # a step that rounding makes a hair shorter than the tick would need another one
        longest_step=(1.0 + 1e-9) * interval / int(choices["flight.steps_per_tick"]),
        most_ticks=int(np.ceil(numbers["flight.longest"].value / interval)),
        most_settle_ticks=int(np.ceil(numbers["flight.settle_longest"].value / interval)) + 3,
        period=turns_of(every),
        inertial_every=every,
        trace_every=1,
        built_in=choices["flight_computer.kind"] == "built_in",
        design=design_of(scenario, interval),
    )
    east, north = _profile(scenario)
    return Loaded(
        plan=plan,
        tables=Tables(
            ascent_curve=_curve("ascent_motor", scenario),
            landing_curve=_curve("landing_motor", scenario),
            legs=_azimuths(scenario),
            wind_east=east,
            wind_north=north,
            air=air_table(scenario),
            ignition=np.ascontiguousarray(tables["ignition_height"], dtype=np.float64),
            push=np.ascontiguousarray(tables["landing_push"], dtype=np.float64),
        ),
        settings=np.array([told[name] for name in SETTINGS], dtype=np.float64),
    )


def turns_of(inertial_every: int) -> int:
    """Ticks after which all that the loop does once in so many ticks is at the same turn again.

    Flights whose clocks differ by a multiple of it fly side by side with the bits they have alone.
    """
    from sim.avionics.filter import FILTER_TICKS
    from sim.avionics.filter_memory import PAST
    from sim.avionics.memory import RING
    from sim.avionics.sensors import DRIFT_SAMPLES
    from sim.physics.wind import REFRESH

    return lcm(DRIFT_SAMPLES * inertial_every, REFRESH, RING, FILTER_TICKS * PAST)


def _curve(part: str, scenario: Scenario) -> Floats:
    """Knots of a thrust curve: times, then thrusts."""
    reduced = reduced_curve(scenario, part)
    if reduced is None:
        return np.array([0.0, 1.0, 0.0, 0.0])
    knots = reduced.knots
    return np.ascontiguousarray(np.concatenate([knots[:, 0], knots[:, 1]]))


def _azimuths(scenario: Scenario) -> Floats:
    """Sines, then cosines, of the feet's azimuths; one point on the axis without legs."""
    count = int(scenario.choices["legs.count"]) if scenario.has("legs") else 0
    first = scenario.numbers["legs.first_azimuth"].value
    angles = first + 2.0 * np.pi * np.arange(count) / max(count, 1)
    return np.concatenate([np.sin(angles), np.cos(angles)])


def _profile(scenario: Scenario) -> tuple[Floats, Floats]:
    """A measured wind profile every metre of height, east and north [m/s]; zeros without one."""
    from sim.physics.wind import PROFILE_STEP

    if scenario.choices["wind.law"] != "profile":
        return np.zeros(2), np.zeros(2)
    height, speed, origin = scenario.curves["wind.profile"].T
    grid = np.arange(0.0, min(PROFILE_TOP, height[-1] + 2.0), PROFILE_STEP)
    east = np.interp(grid, height, -speed * np.sin(origin))
    return east, np.interp(grid, height, -speed * np.cos(origin))


def in_groups(columns: NDArray[np.int64], width: int) -> NDArray[np.int64]:
    """Columns in rows of the width; the last row is filled up with its last column again."""
    missing = -len(columns) % width
    return np.pad(columns, (0, missing), mode="edge").reshape(-1, width)


def in_turn(columns: NDArray[np.int64], ticks: NDArray[np.int64], period: int) -> Queue:
    """Columns by whose turn it is: by their tick of the first touch, over the period."""
    from sim.flight_work import Queue

    turn = ticks % period
    order = np.argsort(turn, kind="stable")
    ends = np.cumsum(np.bincount(turn, minlength=period))
    return Queue(columns[order], np.stack([np.r_[0, ends[:-1]], ends]))


def fly_runs(
    scenario: Scenario,
    seed: int,
    runs: NDArray[np.int64],
    values: Mapping[str, Floats],
    width: int = WIDTH,
) -> Outcomes:
    """Fly these runs.

    Parameters
    ----------
    scenario : Scenario
    seed : int
    runs : int64 array (n,)
        Run numbers: they key the noise in flight.
    values : mapping of str to float64 array (n,)
        What was drawn for them, by dotted name, SI.
    width : int
        Flights in lock step: 1, 2, 4, 8 or 16. The result is the same, bit for bit.

    Returns
    -------
    dict of str to float64 array (n,)
        Outcomes by the names of `sim.ensemble.registry`. A run's row depends on its number, the
        seed and its values alone.
    """
    outcomes, _ = _fly(scenario, seed, runs, values, width, trace_rows=0)
    return finished(outcomes, scenario, values)


def fly_trace(
    scenario: Scenario,
    seed: int,
    run: int | None,
    values: Mapping[str, Floats],
    *,
    every: int = 1,
    width: int = 1,
) -> tuple[Outcomes, Outcomes]:
    """Fly one run and keep its trace.

    Parameters
    ----------
    scenario : Scenario
    seed : int
    run : int or None
        Run number; None is the nominal flight, without noise drawn for any run of an ensemble.
    values : mapping of str to float64 array (1,)
    every : int
        Control ticks between samples of the trace.
    width : int
        1 is the plain kernel; 8 is the one that an ensemble has compiled already.

    Returns
    -------
    outcomes, trace : dict of str to float64 array
        Outcomes of shape (1,), trace of shape (samples,).
    """
    from sim.flight_records import TRACE

    number = np.array([NOMINAL_RUN if run is None else run], dtype=np.int64)
    plan = load_computer(scenario).plan
    most = (plan.most_ticks + plan.most_settle_ticks) // every + 2
    outcomes, traces = _fly(
        scenario, seed, number, values, width, trace_rows=most * len(TRACE), every=every
    )
    columns = traces[:, 0].reshape(-1, len(TRACE))
    end = np.flatnonzero(columns[:, TRACE.index("mass")] > 0.0)
    last = int(end[-1]) + 1 if len(end) else 0
    trace = {name: columns[:last, i].copy() for i, name in enumerate(TRACE)}
    return finished(outcomes, scenario, values), trace


NOMINAL_RUN = 2**62  # the noise of the nominal flight is that of no run of an ensemble


def _fly(
    scenario: Scenario,
    seed: int,
    runs: NDArray[np.int64],
    values: Mapping[str, Floats],
    width: int,
    *,
    trace_rows: int,
    every: int = 1,
) -> tuple[Outcomes, Floats]:
    from sim.ensemble.prepare import flight_inputs

    loaded = load_computer(scenario)
    to_rest = scenario.choices["flight.ends_at"] == "rest" and scenario.has("legs")
    return fly_inputs(
        loaded, loaded.plan._replace(trace_every=every), seed, runs,
        flight_inputs(values, scenario, len(runs)), width, trace_rows=trace_rows,
        to_rest=to_rest,
    )  # fmt: skip


def fly_inputs(
    loaded: Loaded, plan: Plan, seed: int, runs: NDArray[np.int64], inputs: Floats, width: int, *,
    trace_rows: int, to_rest: bool,
) -> tuple[Outcomes, Floats]:  # fmt: skip
    """Fly to the first touch, then, each in the next free lane, to rest.

    Parameters
    ----------
    loaded : Loaded
    plan : Plan
    seed : int
    runs : int64 array (n,)
    inputs : float64 array (len(INPUTS), n)
    width : int
    trace_rows : int
    to_rest : bool
        False ends them at the first touch.

    Returns
    -------
    outcomes : dict of str to float64 array (n,)
        As the kernel writes them.
    traces : float64 array (trace_rows, width)
    """
    from sim.flight import fly
    from sim.flight_handing import handed_over
    from sim.flight_records import HANDED_ROWS, OUTCOMES, TOUCHED
    from sim.flight_work import work_arrays
    from sim.lanes import lane_types

    count = len(runs)
    written = np.empty((len(OUTCOMES), count))
    traces = np.zeros((trace_rows, width))
    handed, work = handed_over(count), work_arrays(width)  # type: ignore[no-untyped-call]
    keys = runs.astype(np.uint64)

    def call(first: NDArray[np.int64], queue: Queue, settling: bool) -> None:
        fly(  # type: ignore[no-untyped-call]
            lane_types(width), np.uint64(seed), in_groups(first, width), keys, inputs,
            loaded.settings, settling, queue, plan, loaded.tables, handed, written, traces, work,
        )  # fmt: skip

    nobody = np.empty(0, dtype=np.int64)
    call(loaded.order.of(inputs), in_turn(nobody, nobody, plan.period), False)
    down = written[OUTCOMES.index("ending")] == TOUCHED
    loaded.order.learn(inputs, np.where(down, handed[:, HANDED_ROWS - 1], plan.most_ticks))
    touched = np.flatnonzero(down)
    if to_rest and len(touched):
        ticks = handed[touched, HANDED_ROWS - 1].astype(np.int64)
        first = np.argsort(ticks % plan.period, kind="stable")[:width]  # that begin close together
        rest = np.delete(np.arange(len(touched)), first)
        call(touched[first], in_turn(touched[rest], ticks[rest], plan.period), True)
    return dict(zip(OUTCOMES, written, strict=True)), traces


# ---- from what the kernel wrote to what a person reads -------------------------------------------


def finished(raw: Outcomes, scenario: Scenario, values: Mapping[str, Floats]) -> Outcomes:
    """Outcomes by their public names: angles, miss, classes and success.

    Parameters
    ----------
    raw : dict of str to float64 array (n,)
        By the names of `sim.flight_records.OUTCOMES`.
    scenario : Scenario
    values : mapping of str to float64 array (n,)

    Returns
    -------
    dict of str to float64 array (n,)
    """
    from sim.ensemble.judge import judge

    out = dict(raw)

    def value(name: str) -> Floats | float:
        return values[name] if name in values else scenario.numbers[name].value

    ending, unlit = out.pop("ending"), np.isnan(raw["landing_light_time"])
    out["miss_east"] = raw["landing_east"] - value("landing_pad.east")
    out["miss_north"] = raw["landing_north"] - value("landing_pad.north")
    out["rest_miss_east"] = raw["rest_east"] - value("landing_pad.east")
    out["rest_miss_north"] = raw["rest_north"] - value("landing_pad.north")
    out["miss_distance"] = np.hypot(out["miss_east"], out["miss_north"])
    out["guidance_error_east"] = out["miss_east"] + raw["believed_landing_error_east"]
    out["guidance_error_north"] = out["miss_north"] + raw["believed_landing_error_north"]
    out["tilt"] = np.arccos(np.clip(raw["tilt"], -1.0, 1.0))
    out["tilt_direction"] = np.arctan2(
        out.pop("tilt_direction_east"), out.pop("tilt_direction_north")
    )
    out["apogee_tilt"] = np.arccos(np.clip(out.pop("apogee_tilt_cosine"), -1.0, 1.0))
    out["maximum_tilt_climb"] = np.arccos(np.clip(out.pop("least_upright_climb"), -1.0, 1.0))
    out["maximum_tilt_burn"] = np.arccos(np.clip(out.pop("least_upright_burn"), -1.0, 1.0))
    radius = np.asarray(value("legs.foot_radius") if scenario.has("legs") else 0.0)
    room = value("landing_pad.radius") if scenario.has("landing_pad") else np.inf
    # all feet where it touches and, where it is followed, those that stand at the end
    slid_off = raw["feet_on_pad"] < raw["feet_down"]
    inside = (out["miss_distance"] + radius <= room) & ~slid_off
    out["inside_landing_pad"] = inside.astype(np.float64)
    del out["ground_is_pad"]
    late = ~(raw["contact_time"] > raw["landing_light_time"])
    unlit = (unlit | late) & scenario.has("landing_motor")
    out["rest_tilt"] = np.arccos(np.clip(out.pop("rest_tilt_cosine"), -1.0, 1.0))
    leaning = out.pop("rests_on_frame") > 0.5
    out["frame_struck"] = np.nan_to_num(out["frame_struck"])
    out["standing"] = (np.isfinite(out["rest_time"]) & ~leaning).astype(np.float64)
    limits = Limits(
        np.asarray(value("legs.strut_strength")), np.asarray(value("legs.airframe_limit")),
        np.asarray(value("legs.rated_speed")),
    )  # fmt: skip
    out["outcome"] = outcome_class(ending, out, unlit, limits)
    out["landing_light_time"] = np.where(late, np.nan, raw["landing_light_time"])
    out["stratum"] = np.zeros_like(ending)
    out["weight"] = np.ones_like(ending)
    out["success"] = judge(scenario.success, out).astype(np.float64)
    return out


@dataclass(frozen=True)
class Limits:
    """What legs and frame are made for: N, m/s2, m/s, each a number or one for each flight."""

    strut_strength: Floats
    airframe_limit: Floats
    rated_speed: Floats


def outcome_class(
    ending: Floats, out: Mapping[str, Floats], unlit: NDArray[np.bool_], limits: Limits
) -> Floats:
    """One class a flight: the last that holds in the order of OUTCOME_PRECEDENCE.

    Parameters
    ----------
    ending : float64 array (n,)
        As the kernel sees it.
    out : mapping of str to float64 array (n,)
    unlit : bool array (n,)
        The landing motor did not burn before the first touch.
    limits : Limits

    Returns
    -------
    float64 array (n,)
    """
    from sim.ensemble.registry import OUTCOME_MEANINGS, OUTCOME_PRECEDENCE
    from sim.flight_records import AT_REST, IN_THE_AIR, ON_THE_PAD, OUT_OF_TIME, TIPPED, TOUCHED
    from sim.flight_records import FAILED as KERNEL_FAILED
    from sim.physics.contact import FOOT

    followed = (ending == AT_REST) | (ending == TIPPED) | (ending == OUT_OF_TIME)
    down = (ending == TOUCHED) | followed
    fallen = (ending == AT_REST) & (out["standing"] < 0.5) & (out["rest_tilt"] > LEANING_TILT)
    tipped = (ending == TIPPED) | fallen
    holds = {
        "feet_first": down,
        "standing": out["standing"] > 0.5,
        "off_landing_pad": down & (out["inside_landing_pad"] < 0.5) & ~tipped,
        "unsettled": ending == OUT_OF_TIME,
        "tipped": tipped,
        "frame_struck": followed & (out["frame_struck"] > 0.5) & ~tipped,
        "leg_overloaded": followed & (out["peak_strut_force"] > limits.strut_strength),
        "frame_overloaded": followed & (out["peak_deceleration"] > limits.airframe_limit),
        "too_fast": followed & (out["touchdown_speed"] > limits.rated_speed),
        "airframe_first": down & (out["contact_point"] != FOOT),
        "tumbled": down & (out["tilt"] > TUMBLED_TILT),
        "landing_motor_unlit": down & unlit,
        "never_came_down": ending == IN_THE_AIR,
        "never_left_launch_pad": ending == ON_THE_PAD,
        "numerical_failure": ending == KERNEL_FAILED,
    }
    outcome = np.zeros(ending.shape)
    for name in OUTCOME_PRECEDENCE:
        outcome[holds[name]] = OUTCOME_MEANINGS.index(name)
    return outcome
