"""One whole flight, from the launch pad to the ground: world and flight computer in one loop.

This is the place to start reading. A flight goes through ticks of the flight computer. In each:

1. the inertial unit reports what it felt since its last sample,
2. the flight computer thinks and commands,
3. actuators, igniters and latches take the commands,
4. the world moves on to the next tick, in Runge-Kutta steps that end where something happens:
   a knot of a thrust curve, a motor lighting, a stage parting, lift-off, the first touch.

The source is written over lanes (sim.lanes): compiled at width 1 it is one flight, at width 8 it is
eight in lock step, with the same bits. A condition is a mask, `where` chooses lane by lane.

Three records travel through it: `p`, the numbers drawn for this flight, which never change; `w`,
what the world remembers from tick to tick; `o`, what is written down.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim.avionics import computer, sensors
from sim.avionics.memory import MEMORY, SETTINGS
from sim.avionics.seam import AT_REST, BELIEF, COMMAND, SAMPLE
from sim.flight_records import (
    CARRY,
    IN_THE_AIR,
    INPUTS,
    ON_THE_PAD,
    OUTCOMES,
    belief_record,
    carry_record,
    command_record,
    input_record,
    memory_record,
    outcome_record,
    rest_record,
    sample_record,
    settings_record,
)
from sim.flight_step import check_sound, move_to, step_loads, take_configuration
from sim.flight_watch import (
    finish_outcomes,
    start_outcomes,
    watch_burns,
    watch_extremes,
    watch_ignition_navigation,
    write_trace,
)
from sim.lanes import (
    any_lane,
    clamp,
    kernel,
    load,
    part,
    room,
    spread,
    sqrt,
    store,
    where,
)
from sim.physics import (
    actuators,
    air,
    dropped_stage,
    launch_pad,
    parting,
    wind,
)
from sim.physics.frames import rotation_of, to_body
from sim.physics.motor import INFINITE
from sim.physics.unit import felt, keep_sample_point, place_unit


class Plan(NamedTuple):
    """Numbers that are the same for all flights of a call."""

    interval: float  # s, tick of the flight computer
    longest_step: float  # s, of integration; a little over the tick for one step a tick
    most_ticks: int
    inertial_every: int  # ticks between samples of the inertial unit
    trace_every: int  # ticks between rows of a trace
    built_in: bool  # the built-in flight computer flies, or one that only keeps time


class Tables(NamedTuple):
    """Curves and tables that are the same for all flights of a call; float64, one-dimensional."""

    ascent_curve: np.ndarray  # s then N, see sim.physics.motor
    landing_curve: np.ndarray
    legs: np.ndarray  # sines then cosines of the feet's azimuths
    wind_east: np.ndarray  # measured wind profile, see sim.physics.wind
    wind_north: np.ndarray
    air: np.ndarray  # forces of the air, see sim.physics.aerodynamics.tabled_loads
    ignition: np.ndarray  # what the flight computer was told, see sim.avionics.computer
    push: np.ndarray


class Work(NamedTuple):
    """Scratch of one call, float64 (fields, width) each."""

    inputs: np.ndarray
    carry: np.ndarray
    outcomes: np.ndarray
    rest: np.ndarray
    sample: np.ndarray
    command: np.ndarray
    belief: np.ndarray
    settings: np.ndarray
    memory: np.ndarray


def work_arrays(width):
    """Scratch arrays for one call of `fly` at a width."""
    names = (INPUTS, CARRY, OUTCOMES, AT_REST, SAMPLE, COMMAND, BELIEF, SETTINGS, MEMORY)
    return Work(*(np.zeros((len(fields), width)) for fields in names))


# ---- before the flight ---------------------------------------------------------------------------


@room
def prepare_world(seed, flight, p, w):
    """Configuration, motors and records as they are when the countdown ends."""
    w.stage_attached = p.has_stage
    w.separation_at = w.legs_at = w.petals_at = INFINITE
    w.ascent_light = w.ascent_piece_end = INFINITE
    w.landing_light = w.landing_piece_end = INFINITE
    w.separated_at = w.landing_commanded_at = np.nan
    w.stage_time = w.stage_speed = np.nan
    w.stage_closest = -1.0
    w.flying = 1.0
    w.off_pad = p.start_free
    w.gap = w.limit = INFINITE
    w.ground_factor = w.dip_depth = 1.0
    w.legs_open, w.petals_open = p.legs_open_at_start, p.petals_open_at_start
    wind.start_turbulence(seed, flight, w)


# ---- one group of flights ------------------------------------------------------------------------


@part
def airspeed(state, w):
    """Speed through the air of the last tick [m/s]."""
    east, north = state.velocity_east - w.wind_east, state.velocity_north - w.wind_north
    up = state.velocity_up
    return sqrt(east * east + north * north + up * up)


@room
def fly_group(
    lanes, seed, flight, plan, tables, traces, p, w, o, rest, sample, command, belief,
    settings, memory_array, memory,
):  # fmt: skip
    """Fly one group of flights from the launch pad to the first touch.

    Parameters
    ----------
    lanes : family of lane types
    seed, flight : uint64, U lanes
        Keys of the noise.
    plan : Plan
        Numbers that are the same for all flights: tick, limits, which computer flies.
    tables : Tables
        Curves and tables that are the same for all flights.
    traces : float64[samples * len(TRACE), width]
        Where to write a trace; no rows for none.
    p, w, o, rest, sample, command, belief, settings, memory : records
    memory_array : float64[len(MEMORY), width]
    """
    ascent_curve, landing_curve, legs = tables.ascent_curve, tables.landing_curve, tables.legs
    interval = plan.interval
    prepare_world(seed, flight, p, w)
    start_outcomes(o)
    take_configuration(p, w)
    loads = step_loads(0.0 * p.air_density, p.air_density, p.gravity, p, w)
    w.cg_x, w.cg_y, w.cg_z = loads.cg_x, loads.cg_y, loads.cg_z
    state = launch_pad.standing(loads.cg_x, loads.cg_y, loads.cg_z, p)
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    place_unit(state, r, w.cg_x, w.cg_y, w.cg_z, p, w)
    keep_sample_point(w)
    w.unit_start_east, w.unit_start_north = w.unit_east, w.unit_north
    w.unit_start_up = w.unit_up
    gravity = air.gravity_at(state.up, p)
    upward = to_body(r, 0.0, 0.0, gravity)
    sensors.at_rest(lanes, seed, flight, upward, p, w, rest)
    if plan.built_in:
        computer.start(lanes, rest, settings, memory_array, memory)

    count = 0
    while count < plan.most_ticks and any_lane(w.flying > 0.5):
        time = count * interval
        w.tick_end = spread(lanes, time)
        gravity = air.gravity_at(state.up, p)

        # 1. feel
        sample.time = spread(lanes, time)
        sample.inertial_valid = spread(lanes, 0.0)
        burning = (w.ascent_thrust * w.stage_attached > 0.0) | (w.landing_thrust > 0.0)
        if count % plan.inertial_every == 0:
            rate, force = felt(plan.inertial_every * interval, gravity, w)
            vibration = where(burning, p.vibration_level, 0.0)
            sensors.inertial_sample(
                lanes, seed, flight, count // plan.inertial_every,
                plan.inertial_every * interval, rate, force, vibration, p, w, sample,
            )  # fmt: skip
            keep_sample_point(w)
        sample.stage_attached = w.stage_attached
        sample.legs_open, sample.petals_open = w.legs_open, w.petals_open
        sample.ascent_continuity = where(w.ascent_light < INFINITE, 0.0, 1.0)
        sample.landing_continuity = where(w.landing_light < INFINITE, 0.0, 1.0)

        # 2. think
        if plan.built_in:
            computer.tick(
                lanes, count, sample, settings, tables.ignition, tables.push,
                memory_array, memory, command, belief,
            )  # fmt: skip
        else:
            computer.idle_tick(lanes, sample, settings, command, belief)

        # 3. take the commands
        parting.take_igniters(time, command, p, w)
        parting.take_orders(time, command, p, w)
        watch_ignition_navigation(belief, w, o)
        actuators.take_gimbal(command, w)
        actuators.take_throttle(seed, flight, count, w.landing_thrust > 0.0, command, p, w)
        actuators.take_wheels(command, state.wheel_x, state.wheel_y, state.wheel_z, interval, p, w)

        if len(traces) > 0 and count % plan.trace_every == 0:
            write_trace(traces, count // plan.trace_every, time, state, r, loads, belief, p, w)

        # 4. the world moves on
        speed = airspeed(state, w)
        middle = state.up + 0.5 * interval * state.velocity_up
        wind.wind_tick(
            seed, flight, count, time, interval, middle, speed, p, w,
            tables.wind_east, tables.wind_north,
        )  # fmt: skip
        density = air.density_at(middle, p)
        gravity = air.gravity_at(middle, p)
        tail = state.up - p.ground_reach
        w.ground_factor = 1.0 + p.ground_effect * clamp(1.0 - tail / p.ground_reach, 0.0, 1.0)
        flying = w.flying > 0.5
        state, loads = move_to(
            time + interval, time, plan.longest_step, state, loads, density, gravity, legs,
            ascent_curve, landing_curve, tables.air, belief, p, w, o,
        )  # fmt: skip
        w.tick_end = spread(lanes, time + interval)
        if any_lane(w.stage_falling > 0.5):
            dropped_stage.stage_step(time, interval, density, tables, p, w)
            dropped_stage.stage_distance(state, p, w)
        r = rotation_of(state.q0, state.q1, state.q2, state.q3)
        place_unit(state, r, w.cg_x, w.cg_y, w.cg_z, p, w)
        watch_burns(flying, state, r, loads, p, w, o)
        pull = sqrt(force[0] * force[0] + force[1] * force[1] + force[2] * force[2])
        watch_extremes(flying, state, r, pull, loads.half_density * speed * speed, w, o)
        check_sound(time + interval, state, w, o)
        count += 1

    aloft = w.flying > 0.5
    ending = where(w.off_pad > 0.5, 1.0 * IN_THE_AIR, 1.0 * ON_THE_PAD)
    o.ending = where(aloft, ending, o.ending)
    # a stage that is still falling when the vehicle is down
    while count < plan.most_ticks and any_lane(w.stage_falling > 0.5):
        density = air.density_at(w.stage_up, p)
        dropped_stage.stage_step(count * interval, interval, density, tables, p, w)
        count += 1
    finish_outcomes(w, o)


# ---- many groups: what Python calls --------------------------------------------------------------


@part
def take_columns(source, columns, target):
    """Copy these columns of an array side by side, one a lane."""
    for lane in range(len(columns)):
        for row in range(source.shape[0]):
            target[row, lane] = source[row, columns[lane]]


@part
def put_columns(source, columns, target):
    """Copy lanes to these columns of an array."""
    for lane in range(len(columns)):
        for row in range(source.shape[0]):
            target[row, columns[lane]] = source[row, lane]


@part
def clear(lanes, array):
    """Set every number of a work array to zero."""
    for row in range(array.shape[0]):
        store(array, row, spread(lanes, 0.0))


@kernel
def fly(lanes, seed, groups, runs, inputs, settings_column, plan, tables, outcomes, traces, work):
    """Fly groups of flights and write down their outcomes.

    Parameters
    ----------
    lanes : family of lane types
        Its width is the number of flights in a group.
    seed : uint64
    groups : int64[n, width]
        Columns of `inputs` and `outcomes` that fly together.
    runs : uint64[n, width]
        Their run numbers, which key the noise.
    inputs : float64[len(INPUTS), flights]
        What was drawn for each flight.
    settings_column : float64[len(SETTINGS)]
        What the flight computer was told, the same for all.
    plan, tables : Plan, Tables
    outcomes : float64[len(OUTCOMES), flights]
        Written.
    traces : float64[samples * len(TRACE), width]
        Written for the last group; no rows for none.
    work : Work
        Scratch, see work_arrays; one set a thread.
    """
    width = lanes.width
    p_array, w_array, o_array = work.inputs, work.carry, work.outcomes
    rest_array, sample_array, command_array = work.rest, work.sample, work.command
    belief_array, settings_array, memory_array = work.belief, work.settings, work.memory
    for row in range(settings_array.shape[0]):
        for column in range(width):
            settings_array[row, column] = settings_column[row]
    p, w = input_record(lanes, p_array), carry_record(lanes, w_array)
    o, rest = outcome_record(lanes, o_array), rest_record(lanes, rest_array)
    sample, command = sample_record(lanes, sample_array), command_record(lanes, command_array)
    belief = belief_record(lanes, belief_array)
    settings = settings_record(lanes, settings_array)
    memory = memory_record(lanes, memory_array)
    for i in range(len(groups)):
        take_columns(inputs, groups[i], p_array)
        clear(lanes, w_array)
        clear(lanes, sample_array)
        clear(lanes, command_array)
        clear(lanes, belief_array)
        fly_group(
            lanes, seed, load(lanes, runs, i), plan, tables, traces, p, w, o, rest, sample,
            command, belief, settings, memory_array, memory,
        )  # fmt: skip
        put_columns(o_array, groups[i], outcomes)
