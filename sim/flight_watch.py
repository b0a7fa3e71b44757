"""What is written down of a flight, as it happens: milestones, extremes, the first touch, a trace.

Nothing here acts on the flight.
"""

from __future__ import annotations

import numpy as np

from sim.flight_records import ON_THE_PAD, TOUCHED, TRACE
from sim.lanes import (
    absolute,
    any_lane,
    load,
    maximum,
    minimum,
    not_,
    part,
    room,
    sqrt,
    store,
    where,
)
from sim.physics import motor
from sim.physics.frames import multiply, rotation_of, to_local
from sim.physics.motor import INFINITE
from sim.physics.standing import FORCE, ROWS, STROKE

BURN_OUT_SHARE = 0.999  # of a motor's impulse: then it counts as burned out


@room
def start_outcomes(o):
    """Nothing has happened yet: every number is nan, or the least of what it will be."""
    o.lift_off_time = o.ascent_burn_out_time = np.nan
    o.apogee_time = o.apogee_height = o.apogee_tilt_cosine = np.nan
    o.ignition_height = o.ignition_sink_rate = o.failed_time = np.nan
    o.ignition_navigation_error_east = o.ignition_navigation_error_north = np.nan
    o.ignition_navigation_error_up = np.nan
    o.maximum_speed = o.maximum_acceleration = o.maximum_dynamic_pressure = 0.0
    o.least_upright_climb = o.least_upright_burn = 1.0
    o.gimbal_travel = 0.0
    o.ending = 1.0 * ON_THE_PAD
    o.contact_point = 0.0
    o.contact_time = o.landing_east = o.landing_north = np.nan
    o.touchdown_speed = o.sink_rate = o.lateral_speed = np.nan
    o.tilt = o.tilt_direction_east = o.tilt_direction_north = o.tilt_rate = o.roll_rate = np.nan
    o.thrust_to_weight_at_contact = o.burn_left_at_contact = o.throttle_at_contact = np.nan
    o.mass_at_contact = o.ground_is_pad = np.nan
    o.navigation_error_east = o.navigation_error_north = o.navigation_error_up = np.nan
    o.navigation_velocity_error_east = o.navigation_velocity_error_north = np.nan
    o.navigation_velocity_error_up = np.nan
    o.attitude_error_east = o.attitude_error_north = o.attitude_error_up = np.nan
    o.believed_landing_error_east = o.believed_landing_error_north = np.nan
    o.rest_time = o.rest_east = o.rest_north = o.rest_tilt_cosine = np.nan
    o.hops = o.slide_distance = o.peak_strut_force = o.peak_stroke = np.nan
    o.peak_deceleration = o.feet_on_pad = o.feet_down = np.nan
    o.frame_struck = o.rests_on_frame = np.nan
    o.parachute_time = o.parachute_height = o.parachute_speed = o.parachute_load = np.nan
    o.normalised_error_at_contact = o.normalised_error_at_ignition = np.nan
    o.normalised_innovation_sum = o.innovation_count = o.refused_count = np.nan


@part
def place_of(state, r, loads, x, y, z):
    """Where a point of the body is, and how fast: place [m] and velocity [m/s], local."""
    dx, dy, dz = x - loads.cg_x, y - loads.cg_y, z - loads.cg_z
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    east, north, up = to_local(r, dx, dy, dz)
    ve, vn, vu = to_local(r, wy * dz - wz * dy, wz * dx - wx * dz, wx * dy - wy * dx)
    return (
        state.east + east, state.north + north, state.up + up,
        state.velocity_east + ve, state.velocity_north + vn, state.velocity_up + vu,
    )  # fmt: skip


@part
def feet_x(p, w):
    """Body coordinate of the plane of the feet [m]."""
    return where(w.legs_open > 0.5, p.feet_x, p.folded_feet_x)


@room
def watch_apogee(moved, now, h, before, after, o):
    """Time, height and attitude where the vertical speed passes through zero from above."""
    top = moved & (before.velocity_up > 0.0) & (after.velocity_up <= 0.0)
    top = top & not_(o.apogee_time >= 0.0)
    if any_lane(top):
        share = before.velocity_up / (before.velocity_up - after.velocity_up)
        rise = 0.5 * before.velocity_up * share * h
        o.apogee_time = where(top, now + share * h, o.apogee_time)
        o.apogee_height = where(top, before.up + rise, o.apogee_height)
        r = rotation_of(before.q0, before.q1, before.q2, before.q3)
        o.apogee_tilt_cosine = where(top, r.zx, o.apogee_tilt_cosine)


@room
def watch_burns(flying, state, r, loads, p, w, o):
    """Burn-out of the ascent motor, and height and sink rate where the landing motor lights."""
    given = motor.impulse_now(
        w.tick_end, w.ascent_piece_start, w.ascent_thrust, w.ascent_slope, w.ascent_impulse
    )
    out = flying & (given > BURN_OUT_SHARE * p.ascent_total) & not_(o.ascent_burn_out_time >= 0.0)
    if any_lane(out):
        o.ascent_burn_out_time = where(out, w.tick_end, o.ascent_burn_out_time)
    unknown = not_(o.ignition_sink_rate == o.ignition_sink_rate)
    lit = flying & (w.landing_light <= w.tick_end) & unknown
    if any_lane(lit):
        _, _, feet, _, _, down = place_of(state, r, loads, p.feet_x, 0.0, 0.0)
        o.ignition_height = where(lit, feet - p.pad_up, o.ignition_height)
        o.ignition_sink_rate = where(lit, -down, o.ignition_sink_rate)


@room
def watch_parachute(flying, time, state, pressure, p, w, o):
    """When, how high and how fast a parachute begins to fill, and the largest pull of its line."""
    out = flying & (w.chute_open > 0.0)
    first = out & not_(o.parachute_time >= 0.0)
    o.parachute_time = where(first, time, o.parachute_time)
    o.parachute_height = where(first, state.up - p.pad_up, o.parachute_height)
    speed = sqrt(
        state.velocity_east * state.velocity_east
        + state.velocity_north * state.velocity_north
        + state.velocity_up * state.velocity_up
    )
    o.parachute_speed = where(first, speed, o.parachute_speed)
    pull = pressure * p.chute_area * w.chute_open
    larger = out & not_(pull <= o.parachute_load)
    o.parachute_load = where(larger, pull, o.parachute_load)


@room
def watch_ignition_navigation(belief, w, o):
    """Navigation error at the tick that commands the landing motor."""
    now = (w.landing_commanded_at < INFINITE) & not_(
        o.ignition_navigation_error_up == o.ignition_navigation_error_up
    )
    if any_lane(now):
        east, north, up = navigation_error(belief, w)
        o.ignition_navigation_error_east = where(now, east, o.ignition_navigation_error_east)
        o.ignition_navigation_error_north = where(now, north, o.ignition_navigation_error_north)
        o.ignition_navigation_error_up = where(now, up, o.ignition_navigation_error_up)


@part
def navigation_error(belief, w):
    """Believed less true place of the inertial unit at this tick [m], from where it stood."""
    return (
        belief.east - (w.unit_east - w.unit_start_east),
        belief.north - (w.unit_north - w.unit_start_north),
        belief.up - (w.unit_up - w.unit_start_up),
    )


@room
def watch_extremes(flying, state, r, felt2, pressure, w, o):
    """Largest speed, felt acceleration, dynamic pressure, tilt; how busy the gimbal is.

    Of speed and acceleration the squares, until the flight is over.
    """
    airborne = flying & (w.off_pad > 0.5)
    speed2 = (
        state.velocity_east * state.velocity_east
        + state.velocity_north * state.velocity_north
        + state.velocity_up * state.velocity_up
    )
    o.maximum_speed = where(airborne, maximum(o.maximum_speed, speed2), o.maximum_speed)
    o.maximum_acceleration = where(
        airborne, maximum(o.maximum_acceleration, felt2), o.maximum_acceleration
    )
    o.maximum_dynamic_pressure = where(
        airborne, maximum(o.maximum_dynamic_pressure, pressure), o.maximum_dynamic_pressure
    )
    climbing = airborne & (o.apogee_time != o.apogee_time)
    o.least_upright_climb = where(
        climbing, minimum(o.least_upright_climb, r.zx), o.least_upright_climb
    )
    burning = airborne & (w.landing_light < w.tick_end)
    o.least_upright_burn = where(burning, minimum(o.least_upright_burn, r.zx), o.least_upright_burn)
    thrust = burning | (airborne & (w.ascent_thrust > 0.0))
    swing = absolute(state.servo_y - w.gimbal_y) + absolute(state.servo_z - w.gimbal_z)
    o.gimbal_travel = o.gimbal_travel + where(thrust, swing, 0.0)
    at_stop = (absolute(w.goal_y) >= w.servo_travel) | (absolute(w.goal_z) >= w.servo_travel)
    w.burn_ticks = w.burn_ticks + where(thrust, 1.0, 0.0)
    w.stop_ticks = w.stop_ticks + where(thrust & at_stop, 1.0, 0.0)
    w.gimbal_y, w.gimbal_z = state.servo_y, state.servo_z


@room
def write_contact(touched, now, state, r, loads, point, belief, p, w, o):
    """State at the first touch, and what the flight computer believed at the tick before it."""
    east, north, _, ve, vn, vu = place_of(state, r, loads, feet_x(p, w), 0.0, 0.0)
    lateral = sqrt(ve * ve + vn * vn)
    o.ending = where(touched, 1.0 * TOUCHED, o.ending)
    o.contact_point = where(touched, point, o.contact_point)
    o.contact_time = where(touched, now, o.contact_time)
    o.landing_east = where(touched, east, o.landing_east)
    o.landing_north = where(touched, north, o.landing_north)
    o.touchdown_speed = where(touched, sqrt(lateral * lateral + vu * vu), o.touchdown_speed)
    o.sink_rate = where(touched, -vu, o.sink_rate)
    o.lateral_speed = where(touched, lateral, o.lateral_speed)
    o.tilt = where(touched, r.zx, o.tilt)
    o.tilt_direction_east = where(touched, r.xx, o.tilt_direction_east)
    o.tilt_direction_north = where(touched, r.yx, o.tilt_direction_north)
    turning = sqrt(state.rate_y * state.rate_y + state.rate_z * state.rate_z)
    o.tilt_rate = where(touched, turning, o.tilt_rate)
    o.roll_rate = where(touched, state.rate_x, o.roll_rate)
    share = 1.0 - state.dip * w.dip_depth
    thrust = loads.ascent_thrust + loads.landing_thrust * share * w.ground_factor
    o.thrust_to_weight_at_contact = where(
        touched, thrust / (loads.mass * maximum(loads.gravity, 1e-9)), o.thrust_to_weight_at_contact
    )
    o.throttle_at_contact = where(touched, share, o.throttle_at_contact)
    given = motor.impulse_now(
        now, w.landing_piece_start, w.landing_thrust, w.landing_slope, w.landing_impulse
    )
    left = 1.0 - given / maximum(p.landing_total, 1e-9)
    o.burn_left_at_contact = where(touched, left, o.burn_left_at_contact)
    o.mass_at_contact = where(touched, loads.mass, o.mass_at_contact)
    de, dn = east - p.pad_east, north - p.pad_north
    inside = de * de + dn * dn <= p.pad_radius * p.pad_radius
    o.ground_is_pad = where(touched, where(inside, 1.0, 0.0), o.ground_is_pad)
    write_navigation(touched, belief, p, w, o)


@room
def write_navigation(touched, belief, p, w, o):
    """Believed less true at the last tick before the touch."""
    east, north, up = navigation_error(belief, w)
    o.navigation_error_east = where(touched, east, o.navigation_error_east)
    o.navigation_error_north = where(touched, north, o.navigation_error_north)
    o.navigation_error_up = where(touched, up, o.navigation_error_up)
    o.navigation_velocity_error_east = where(
        touched, belief.velocity_east - w.unit_velocity_east, o.navigation_velocity_error_east
    )
    o.navigation_velocity_error_north = where(
        touched, belief.velocity_north - w.unit_velocity_north, o.navigation_velocity_error_north
    )
    o.navigation_velocity_error_up = where(
        touched, belief.velocity_up - w.unit_velocity_up, o.navigation_velocity_error_up
    )
    # believed attitude = small turn * true attitude, the turn in local axes
    turn = multiply(
        belief.quaternion_0, belief.quaternion_1, belief.quaternion_2, belief.quaternion_3,
        w.tick_0, -w.tick_1, -w.tick_2, -w.tick_3,
    )  # fmt: skip
    twice = where(turn.q0 < 0.0, -2.0, 2.0)
    o.attitude_error_east = where(touched, twice * turn.q1, o.attitude_error_east)
    o.attitude_error_north = where(touched, twice * turn.q2, o.attitude_error_north)
    o.attitude_error_up = where(touched, twice * turn.q3, o.attitude_error_up)
    # true point between the feet at that tick, from the unit's place
    r = rotation_of(w.tick_0, w.tick_1, w.tick_2, w.tick_3)
    de, dn, _ = to_local(r, feet_x(p, w) - p.unit_x, 0.0 - p.unit_y, 0.0 - p.unit_z)
    o.believed_landing_error_east = where(
        touched, belief.landing_east - (w.unit_east + de), o.believed_landing_error_east
    )
    o.believed_landing_error_north = where(
        touched, belief.landing_north - (w.unit_north + dn), o.believed_landing_error_north
    )


@room
def finish_outcomes(w, o):
    """What is only known at the end."""
    o.maximum_speed, o.maximum_acceleration = sqrt(o.maximum_speed), sqrt(o.maximum_acceleration)
    o.separation_time, o.swap_time = w.separated_at, w.swapped_at
    o.ignition_command_time = w.landing_commanded_at
    lit = w.landing_light < INFINITE
    o.landing_light_time = where(lit, w.landing_light, np.nan)
    o.gimbal_saturation = w.stop_ticks / maximum(w.burn_ticks, 1.0)
    down = w.stage_time == w.stage_time
    o.stage_east = where(down, w.stage_east, np.nan)
    o.stage_north = where(down, w.stage_north, np.nan)
    o.stage_time, o.stage_speed = w.stage_time, w.stage_speed
    o.stage_closest = where(w.stage_closest < 0.0, np.nan, w.stage_closest)


@room
def write_trace(lanes, traces, sample, time, state, r, loads, belief, points, p, w):
    """One row of numbers for each name in TRACE, every lane.

    Lanes of flights that are over, or that have not joined yet, keep what is there.
    """
    row = sample * len(TRACE)
    _, _, feet, _, _, _ = place_of(state, r, loads, feet_x(p, w), 0.0, 0.0)
    zero = 0.0 * state.up
    values = (
        time + zero, state.east, state.north, state.up,
        state.velocity_east, state.velocity_north, state.velocity_up,
        state.q0, state.q1, state.q2, state.q3, state.rate_x, state.rate_y, state.rate_z,
        loads.mass, loads.ascent_thrust, loads.landing_thrust,
        1.0 - state.dip * w.dip_depth, state.servo_y, state.servo_z,
        state.wheel_x, state.wheel_y, state.wheel_z, w.wind_east, w.wind_north, feet,
        belief.east, belief.north, belief.up,
        belief.velocity_east, belief.velocity_north, belief.velocity_up,
        belief.quaternion_0, belief.quaternion_1, belief.quaternion_2, belief.quaternion_3,
        belief.phase, w.unit_east - w.unit_start_east, w.unit_north - w.unit_start_north,
        w.unit_up - w.unit_start_up, w.stage_east, w.stage_north, w.stage_up, w.flying,
        sqrt(load(lanes, points, FORCE)), sqrt(load(lanes, points, ROWS + FORCE)),
        sqrt(load(lanes, points, 2 * ROWS + FORCE)), sqrt(load(lanes, points, 3 * ROWS + FORCE)),
        sqrt(load(lanes, points, 4 * ROWS + FORCE)), sqrt(load(lanes, points, 5 * ROWS + FORCE)),
        load(lanes, points, STROKE), load(lanes, points, ROWS + STROKE),
        load(lanes, points, 2 * ROWS + STROKE), load(lanes, points, 3 * ROWS + STROKE),
        load(lanes, points, 4 * ROWS + STROKE), load(lanes, points, 5 * ROWS + STROKE),
        w.ground_load, belief.deviation_east, belief.deviation_north, belief.deviation_up,
        belief.deviation_velocity_east, belief.deviation_velocity_north,
        belief.deviation_velocity_up,
    )  # fmt: skip
    written = w.flying > 0.5
    for i in range(len(values)):
        store(traces, row + i, where(written, values[i], load(lanes, traces, row + i)))
