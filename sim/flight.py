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
    FAILED,
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
from sim.flight_watch import (
    finish_outcomes,
    start_outcomes,
    watch_apogee,
    watch_burns,
    watch_extremes,
    watch_ignition_navigation,
    write_contact,
    write_trace,
)
from sim.lanes import (
    absolute,
    any_lane,
    clamp,
    kernel,
    load,
    maximum,
    minimum,
    not_,
    part,
    room,
    spread,
    sqrt,
    store,
    where,
)
from sim.physics import (
    actuators,
    aerodynamics,
    air,
    contact,
    dropped_stage,
    launch_pad,
    mass,
    motor,
    parting,
    wind,
)
from sim.physics.frames import multiply, normalised, rotation_of, to_body, to_local
from sim.physics.motor import INFINITE
from sim.physics.rigid_body import Loads, inverse_tensor, mount_angle, runge_kutta

GAP_TOLERANCE = 1e-7  # m, how exactly the first touch is found
LEAST_STEP = 1e-7  # s, below which no step is tried again
NET_TOLERANCE = 1e-7  # share of weight, how exactly lift-off is found
MOST_STEPS = 1000  # within a tick; a guard that no sound flight comes near
RUNNING = 0.05  # N, thrust above which a motor counts as burning
SOUND = 1e9  # a state beyond this, or nan, is a numerical failure


class Plan(NamedTuple):
    """Numbers that are the same for all flights of a call."""

    interval: float  # s, tick of the flight computer
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
    wind.start_turbulence(seed, flight, p, w)


@part
def take_configuration(p, w):
    """Body, servo and shape for the flags of the configuration."""
    mass.configure(p, w)
    actuators.choose_servo(p, w)
    aerodynamics.choose_shape(p, w)


# ---- 1. what the inertial unit feels -------------------------------------------------------------


@part
def place_unit(state, r, cg_x, cg_y, cg_z, p, w):
    """True place and velocity of the inertial unit at this tick."""
    dx, dy, dz = p.unit_x - cg_x, p.unit_y - cg_y, p.unit_z - cg_z
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    east, north, up = to_local(r, dx, dy, dz)
    ve, vn, vu = to_local(r, wy * dz - wz * dy, wz * dx - wx * dz, wx * dy - wy * dx)
    w.unit_east, w.unit_north = state.east + east, state.north + north
    w.unit_up = state.up + up
    w.unit_velocity_east = state.velocity_east + ve
    w.unit_velocity_north = state.velocity_north + vn
    w.unit_velocity_up = state.velocity_up + vu
    w.tick_0, w.tick_1, w.tick_2, w.tick_3 = state.q0, state.q1, state.q2, state.q3


@part
def keep_sample_point(w):
    """The next sample's interval begins here."""
    w.last_velocity_east = w.unit_velocity_east
    w.last_velocity_north = w.unit_velocity_north
    w.last_velocity_up = w.unit_velocity_up
    w.last_0, w.last_1, w.last_2, w.last_3 = w.tick_0, w.tick_1, w.tick_2, w.tick_3


@room
def felt(interval, gravity, w):
    """True mean turning rate and specific force at the unit since its last sample.

    Parameters
    ----------
    interval : float [s]
    gravity : lanes [m/s2]
    w : record

    Returns
    -------
    rate : tuple of three lanes [rad/s]
        Rotation vector over the interval, body axes, over its length.
    force : tuple of three lanes [m/s2]
        Mean specific force, in the body axes of mid interval.

    Notes
    -----
    A unit that samples much faster inside and hands out increments corrected for coning and
    sculling (Savage, JGCD 21 (1998); from memory): exact, so that every error is one of its model.
    """
    turn = multiply(
        w.last_0, -w.last_1, -w.last_2, -w.last_3, w.tick_0, w.tick_1, w.tick_2, w.tick_3
    )
    sign = where(turn.q0 < 0.0, -2.0, 2.0)
    sine2 = turn.q1 * turn.q1 + turn.q2 * turn.q2 + turn.q3 * turn.q3  # of half the angle
    # angle / (2 sine of half of it), the series of the arc sine
    stretch = 1.0 + sine2 * (1.0 / 6.0 + sine2 * (3.0 / 40.0 + sine2 * (15.0 / 336.0)))
    scale = sign * stretch / interval
    same = where(turn.q0 < 0.0, -1.0, 1.0)
    middle = normalised(
        w.last_0 + same * w.tick_0,
        w.last_1 + same * w.tick_1,
        w.last_2 + same * w.tick_2,
        w.last_3 + same * w.tick_3,
    )
    r = rotation_of(middle.q0, middle.q1, middle.q2, middle.q3)
    per_second = 1.0 / interval
    force = to_body(
        r,
        (w.unit_velocity_east - w.last_velocity_east) * per_second,
        (w.unit_velocity_north - w.last_velocity_north) * per_second,
        (w.unit_velocity_up - w.last_velocity_up) * per_second + gravity,
    )
    return (scale * turn.q1, scale * turn.q2, scale * turn.q3), force


# ---- 4. the world moves on -----------------------------------------------------------------------


@part
def next_event(w):
    """Time of the next thing that is already sure to happen [s]."""
    soon = minimum(w.ascent_piece_end, w.landing_piece_end)
    return minimum(minimum(soon, w.separation_at), minimum(w.legs_at, w.petals_at))


@part
def step_loads(middle, density, gravity, p, w):
    """What a Runge-Kutta step sees as constant: mass, inertia, thrust and air in its middle.

    Parameters
    ----------
    middle : lanes [s]
        Time in the middle of the step.
    density, gravity : lanes [kg/m3], [m/s2]
    p, w : records

    Returns
    -------
    Loads
    """
    attached = w.stage_attached
    ascent = attached * motor.thrust_now(
        middle, w.ascent_piece_start, w.ascent_thrust, w.ascent_slope
    )
    landing = motor.thrust_now(middle, w.landing_piece_start, w.landing_thrust, w.landing_slope)
    ascent_share = motor.impulse_now(
        middle, w.ascent_piece_start, w.ascent_thrust, w.ascent_slope, w.ascent_impulse
    ) / p.ascent_total
    landing_share = motor.impulse_now(
        middle, w.landing_piece_start, w.landing_thrust, w.landing_slope, w.landing_impulse
    ) / p.landing_total
    m = mass.mass_properties(
        attached * p.ascent_propellant * (1.0 - ascent_share),
        p.landing_propellant * (1.0 - landing_share),
        p,
        w,
    )
    ascent_flow = p.ascent_propellant * ascent / p.ascent_total
    landing_flow = p.landing_propellant * landing / p.landing_total
    ascent_arm, landing_arm = p.ascent_propellant_x - m.x, p.landing_propellant_x - m.x
    ascent_exit, landing_exit = p.ascent_exit_x - m.x, p.landing_exit_x - m.x
    # -dJ/dt of the burning grains, and what the gas takes away at the nozzle
    jet_transverse = ascent_flow * (
        ascent_exit * ascent_exit - ascent_arm * ascent_arm - p.ascent_gyration_transverse
    ) + landing_flow * (
        landing_exit * landing_exit - landing_arm * landing_arm - p.landing_gyration_transverse
    )
    jet_axial = ascent_flow * (p.ascent_exit_gyration - p.ascent_gyration_axial) + landing_flow * (
        p.landing_exit_gyration - p.landing_gyration_axial
    )
    creep = -(ascent_flow * ascent_arm + landing_flow * landing_arm) / m.mass
    ixx, iyy, izz, ixy, ixz, iyz = inverse_tensor(m.jxx, m.jyy, m.jzz, m.jxy, m.jxz, m.jyz)
    return Loads(
        m.mass, m.x, m.y, m.z, creep, m.jxx, m.jyy, m.jzz, m.jxy, m.jxz, m.jyz,
        ixx, iyy, izz, ixy, ixz, iyz, jet_axial, jet_transverse, ascent, landing,
        0.5 * density, gravity, where(ascent + landing > RUNNING, 1.0, 0.0),
    )  # fmt: skip


@room
def happen(due, now, state, density, gravity, p, w, ascent_curve, landing_curve):
    """Let happen what is due now: knots and lighting, the stage parting, petals, legs.

    Returns the state, told for the centre of gravity of the new configuration.
    """
    motor.walk_curves(due, now, p, w, ascent_curve, landing_curve)
    parts = due & (w.separation_at <= now)
    legs = due & (w.legs_at <= now)
    petals = due & (w.petals_at <= now)
    if any_lane(parts | legs | petals):
        w.stage_attached = where(parts, 0.0, w.stage_attached)
        w.legs_open = where(legs, 1.0, w.legs_open)
        w.petals_open = where(petals, 1.0, w.petals_open)
        w.separation_at = where(parts, INFINITE, w.separation_at)
        w.legs_at = where(legs, INFINITE, w.legs_at)
        w.petals_at = where(petals, INFINITE, w.petals_at)
        take_configuration(p, w)
        new = step_loads(now, density, gravity, p, w)
        r = rotation_of(state.q0, state.q1, state.q2, state.q3)
        moved = parting.moved_cg(
            state, r, new.cg_x - w.cg_x, new.cg_y - w.cg_y, new.cg_z - w.cg_z
        )
        changed = parts | legs | petals
        state = where(changed, moved, state)
        w.cg_x = where(changed, new.cg_x, w.cg_x)
        w.cg_y = where(changed, new.cg_y, w.cg_y)
        w.cg_z = where(changed, new.cg_z, w.cg_z)
        if any_lane(parts):
            state = parting.free_stage(parts, now, state, new, p, w)
    return state


@room
def lift_off(held, h, now, state, loads, w):
    """Whether the thrust exceeds the weight within this step, and where.

    Returns
    -------
    beyond, lifts : masks
        The step went too far; the step ends at lift-off.
    limit : lanes [s]
        Step that ends at lift-off, where it went too far.
    """
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    weight = loads.mass * loads.gravity
    # thrust is a straight line within a step
    first = w.ascent_thrust + w.ascent_slope * (now - w.ascent_piece_start)
    last = first + w.ascent_slope * h
    net_first, net_last = first * r.zx - weight, last * r.zx - weight
    rising = held & (net_last > 0.0)
    beyond = rising & (net_first < 0.0) & (net_last > NET_TOLERANCE * weight)
    limit = where(beyond, h * net_first / (net_first - net_last), INFINITE)
    return beyond, rising & not_(beyond), limit


@room
def move_to(end, time, state, density, gravity, legs, ascent_curve, landing_curve, belief, p, w, o):
    """Move the world on to the end of the tick, event by event; each lane at its own pace.

    Parameters
    ----------
    end, time : float [s]
        Where the tick ends and began.
    state : State
    density, gravity : lanes [kg/m3], [m/s2]
    legs, ascent_curve, landing_curve : float64[n]
        Azimuths of the feet and thrust curves, see sim.physics.contact and sim.physics.motor.
    belief, p, w, o : records

    Returns
    -------
    state : State
    loads : Loads
        Of the last step.
    """
    now = time + 0.0 * state.up
    moving = w.flying > 0.5
    loads = step_loads(now, density, gravity, p, w)
    steps = 0
    while any_lane(moving) and steps < MOST_STEPS:
        steps += 1
        due = moving & (next_event(w) <= now)
        if any_lane(due):
            state = happen(due, now, state, density, gravity, p, w, ascent_curve, landing_curve)
        stop = minimum(end, next_event(w))
        h = where(moving, maximum(minimum(stop - now, w.limit), 0.0), 0.0)
        loads = step_loads(now + 0.5 * h, density, gravity, p, w)
        after = runge_kutta(state, h, loads, p, w)

        held = moving & (w.off_pad < 0.5)
        lifts, beyond, limit = held & not_(held), held & not_(held), 0.0 * h + INFINITE
        if any_lane(held):
            after = where(held, launch_pad.held(state, after), after)
            beyond, lifts, limit = lift_off(held, h, now, state, loads, w)

        # first touch: a step that goes through the ground is tried again, shorter
        near = moving & (w.off_pad > 0.5) & (after.up < p.reach)
        gap, point = 0.0 * h + INFINITE, 0.0 * h
        if any_lane(near):
            r = rotation_of(after.q0, after.q1, after.q2, after.q3)
            gap, point = contact.lowest_point(
                r, after, loads.cg_x, loads.cg_y, loads.cg_z,
                w.stage_attached, w.legs_open, legs, p,
            )  # fmt: skip
            gap = where(near, gap, INFINITE)
            # (where legs open close to the ground a foot may be under it at once: that is the touch)
            through = (gap < -GAP_TOLERANCE) & (h > LEAST_STEP)
            beyond = beyond | through
            limit = where(through, h * w.gap / (w.gap - gap), limit)

        w.limit = limit
        accepted = moving & not_(beyond)
        watch_apogee(accepted & (w.off_pad > 0.5), now, h, state, after, o)
        w.gap = where(accepted, gap, w.gap)
        w.cg_x = where(accepted, loads.cg_x + 0.5 * h * loads.cg_creep, w.cg_x)
        w.cg_y, w.cg_z = where(accepted, loads.cg_y, w.cg_y), where(accepted, loads.cg_z, w.cg_z)
        now = where(accepted, where(h < stop - now, now + h, stop), now)
        state = where(accepted, after, state)
        if any_lane(lifts):
            state = where(lifts, launch_pad.released(state, p), state)
            w.off_pad = where(lifts, 1.0, w.off_pad)
            o.lift_off_time = where(lifts, now, o.lift_off_time)
        touched = accepted & near & (gap <= GAP_TOLERANCE)
        if any_lane(touched):
            r = rotation_of(state.q0, state.q1, state.q2, state.q3)
            write_contact(touched, now, state, r, loads, point, belief, p, w, o)
            w.flying = where(touched, 0.0, w.flying)
        moving = (w.flying > 0.5) & (now < end)
    w.slack_y = mount_angle(state.servo_y, w.slack_y, w.servo_backlash)
    w.slack_z = mount_angle(state.servo_z, w.slack_z, w.servo_backlash)
    return state, loads


@room
def check_sound(time, state, w, o):
    """A flight that turned to nan, or to impossible numbers, ends here as a failure."""
    total = (
        absolute(state.east) + absolute(state.north) + absolute(state.up)
        + absolute(state.velocity_east) + absolute(state.velocity_north)
        + absolute(state.velocity_up) + absolute(state.rate_x) + absolute(state.rate_y)
        + absolute(state.rate_z) + absolute(state.q0) + absolute(state.q1) + absolute(state.q2)
        + absolute(state.q3) + absolute(state.dip) + absolute(state.servo_y)
        + absolute(state.servo_z)
    )  # fmt: skip
    failed = (w.flying > 0.5) & not_(total < SOUND)
    if any_lane(failed):
        o.ending = where(failed, 1.0 * FAILED, o.ending)
        o.failed_time = where(failed, time, o.failed_time)
        w.flying = where(failed, 0.0, w.flying)
        w.stage_falling = where(failed, 0.0, w.stage_falling)


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
            time + interval, time, state, density, gravity, legs, ascent_curve, landing_curve,
            belief, p, w, o,
        )  # fmt: skip
        w.tick_end = spread(lanes, time + interval)
        if any_lane(w.stage_falling > 0.5):
            dropped_stage.stage_step(time, interval, density, tables, p, w)
            dropped_stage.stage_distance(state, p, w)
        r = rotation_of(state.q0, state.q1, state.q2, state.q3)
        place_unit(state, r, w.cg_x, w.cg_y, w.cg_z, p, w)
        watch_burns(state, r, loads, p, w, o)
        pull = sqrt(force[0] * force[0] + force[1] * force[1] + force[2] * force[2])
        watch_extremes(flying, state, r, pull, loads.half_density * speed * speed, w, o)
        check_sound(time + interval, state, w, o)
        if len(traces) > 0 and count % plan.trace_every == 0:
            write_trace(traces, count // plan.trace_every, time, state, r, loads, belief, p, w)
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
    for row in range(len(SETTINGS)):
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
