"""The last second: from the first touch until the vehicle is at rest, tipped, or out of time.

The ticks of the flight computer go on as in the air. Within a tick the body moves in much finer
steps, with the forces of the ground on feet and airframe added to those of flight. Nothing of it is
in the way of a flight in the air: sim.flight calls it for flights that have touched.
"""

from __future__ import annotations

import numpy as np

from sim.flight_records import AT_REST, FAILED, OUT_OF_TIME, TIPPED
from sim.flight_step import SOUND, happen, next_event, step_loads
from sim.lanes import (
    absolute,
    any_lane,
    diff2,
    fma,
    load,
    maximum,
    not_,
    part,
    room,
    sqrt,
    store,
    sum3,
    where,
)
from sim.physics.frames import at_unit_length, rotation_of, to_local
from sim.physics.ground import surface_of
from sim.physics.motor import INFINITE
from sim.physics.rigid_body import State, mount_angle, rates_of_change
from sim.physics.standing import (
    AWAY,
    FORCE,
    ON_PAD,
    ROWS,
    TOUCHES,
    lay_ground,
    press,
    press_frame,
    start_points,
)
from sim.physics.struts import RIGID

TIPPED_COSINE = 0.5  # a long axis more than 60 deg from vertical does not come back
STILL_SPEED, STILL_RATE = 0.02, 0.05  # m/s, rad/s: a rocking of a few milliradians is rest
LIFTED = 0.06  # s, for which a foot that lifts at rest still counts as standing
HOP_TIME = 0.02  # s, off the ground, that make a hop


@room
def start_settling(
    lanes, starting, seed, flight, state, density, gravity, legs, points, air_table, p, w, o
):  # fmt: skip
    """Take over the flights that touched in this tick."""
    start_points(lanes, starting, seed, flight, len(legs) // 2, points, p, w)
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    lay_ground(lanes, starting, legs, points, state, r, p, w)
    # what has not opened by now is barred by the ground
    w.legs_at = where(starting, INFINITE, w.legs_at)
    w.legs_barred = where(starting, 1.0, w.legs_barred)
    loads = step_loads(o.contact_time, density, gravity, p, w)
    rates = rates_of_change(state, loads, air_table, p, w)
    w.push_east = where(starting, rates.velocity_east, w.push_east)
    w.push_north = where(starting, rates.velocity_north, w.push_north)
    w.push_up = where(starting, rates.velocity_up, w.push_up)
    w.turn_x = where(starting, rates.rate_x, w.turn_x)
    w.turn_y = where(starting, rates.rate_y, w.turn_y)
    w.turn_z = where(starting, rates.rate_z, w.turn_z)
    w.aloft_for, w.still_for = where(starting, 0.0, w.aloft_for), where(starting, 0.0, w.still_for)
    o.hops = where(starting, 0.0, o.hops)
    o.slide_distance = where(starting, 0.0, o.slide_distance)
    o.peak_strut_force = where(starting, 0.0, o.peak_strut_force)
    o.peak_stroke = where(starting, 0.0, o.peak_stroke)
    o.peak_deceleration = where(starting, 0.0, o.peak_deceleration)
    o.frame_struck = where(starting, where(o.contact_point > 1.5, 1.0, 0.0), o.frame_struck)


@part
def forward(state, h, w):
    """Place after a step, with the velocities foreseen there.

    Rolling, on feet that hold far from the axis of a slender body, is stiff. Its rate is foreseen
    unchanged, and goes by the trapezoidal rule made linear there (see sim.physics.standing.press).
    """
    half = 0.5 * h
    ve = fma(half, w.push_east, state.velocity_east)
    vn = fma(half, w.push_north, state.velocity_north)
    vu = fma(half, w.push_up, state.velocity_up)
    wx = state.rate_x
    wy, wz = fma(half, w.turn_y, state.rate_y), fma(half, w.turn_z, state.rate_z)
    q = at_unit_length(
        fma(-half, sum3(state.q1, wx, state.q2, wy, state.q3, wz), state.q0),
        fma(half, fma(state.q0, wx, diff2(state.q2, wz, state.q3, wy)), state.q1),
        fma(half, fma(state.q0, wy, diff2(state.q3, wx, state.q1, wz)), state.q2),
        fma(half, fma(state.q0, wz, diff2(state.q1, wy, state.q2, wx)), state.q3),
    )
    return State(
        fma(h, ve, state.east), fma(h, vn, state.north), fma(h, vu, state.up),
        fma(half, w.push_east, ve), fma(half, w.push_north, vn), fma(half, w.push_up, vu),
        q.q0, q.q1, q.q2, q.q3,
        wx, fma(half, w.turn_y, wy), fma(half, w.turn_z, wz),
        state.servo_y, state.servo_y_rate, state.servo_z, state.servo_z_rate, state.dip,
        state.wheel_x, state.wheel_y, state.wheel_z,
    )  # fmt: skip


@part
def corrected(state, h, rates, push, w):
    """The foreseen state with its velocities by the mean of the accelerations at both ends."""
    half = 0.5 * h
    y_rate, z_rate = (
        fma(h, rates.servo_y_rate, state.servo_y_rate),
        fma(h, rates.servo_z_rate, state.servo_z_rate),
    )
    quicker = half * (push[3] + w.turn_x)
    turned = 0.5 * half * quicker  # half the angle by which it has rolled farther than foreseen
    return State(
        fma(h, rates.east - state.velocity_east, state.east),
        fma(h, rates.north - state.velocity_north, state.north),
        fma(h, rates.up - state.velocity_up, state.up),
        fma(half, push[0] - w.push_east, state.velocity_east),
        fma(half, push[1] - w.push_north, state.velocity_north),
        fma(half, push[2] - w.push_up, state.velocity_up),
        fma(-turned, state.q1, state.q0), fma(turned, state.q0, state.q1),
        fma(turned, state.q3, state.q2), fma(-turned, state.q2, state.q3),
        state.rate_x + quicker,
        fma(half, push[4] - w.turn_y, state.rate_y),
        fma(half, push[5] - w.turn_z, state.rate_z),
        fma(h, y_rate, state.servo_y), y_rate, fma(h, z_rate, state.servo_z), z_rate,
        fma(h, rates.dip, state.dip),
        fma(h, rates.wheel_x, state.wheel_x), fma(h, rates.wheel_y, state.wheel_y),
        fma(h, rates.wheel_z, state.wheel_z),
    )  # fmt: skip


@room
def settle_tick(
    lanes, interval, now, state, density, gravity, legs, design, points, ascent_curve,
    landing_curve, air_table, p, w, o,
):  # fmt: skip
    """Move vehicles that have touched on to the end of the tick.

    Parameters
    ----------
    interval : lanes [s]
        What is left of the tick.
    now : lanes [s]
    state : State
    density, gravity : lanes [kg/m3], [m/s2]
    legs : float64[2 n]
    design : Design
    points : float64[POINTS * ROWS, width]
    ascent_curve, landing_curve, air_table : float64[n]
    p, w, o : records

    Returns
    -------
    state, loads

    Notes
    -----
    Velocity Verlet: second order, and true to the energy of springs (Hairer, Lubich and Wanner,
    Acta Numerica 12 (2003)); forces that depend on velocity see it foreseen by the last
    acceleration.
    """
    h = interval / design.steps
    w.strut_now, w.stroke_now, w.ground_load = 0.0 * h, 0.0 * h, 0.0 * h
    for point in range(len(points) // ROWS):
        store(points, point * ROWS + FORCE, 0.0 * h)
    ground = surface_of(p)
    middle = now + 0.5 * interval
    loads = step_loads(middle, density, gravity, p, w)
    per_inertia = 1.0 / p.leg_inertia
    slid_east, slid_north = 0.0 * h, 0.0 * h
    for step in range(design.steps):
        begun = now + step * h
        due = next_event(w) <= begun
        if any_lane(due):
            state = happen(
                due, begun, state, density, gravity, p, w, legs, ascent_curve, landing_curve
            )
            loads = where(due, step_loads(middle, density, gravity, p, w), loads)
        ahead = forward(state, h, w)
        r = rotation_of(ahead.q0, ahead.q1, ahead.q2, ahead.q3)
        push = press(
            lanes, design, h, legs, points, ahead, r, loads.cg_x, loads.cg_y, loads.cg_z,
            per_inertia, ground, p, w,
        )  # fmt: skip
        push = press_frame(
            lanes, h, points, ahead, r, loads.cg_x, loads.cg_y, loads.cg_z, push, ground, p, w
        )
        rates = rates_of_change(ahead, loads, air_table, p, w)
        per_mass = loads.per_mass
        turn_x = rates.rate_x + sum3(loads.ixx, push.x, loads.ixy, push.y, loads.ixz, push.z)
        roll_yield = 0.5 * h * loads.ixx * push.roll_yield
        all_push = (
            fma(push.east, per_mass, rates.velocity_east),
            fma(push.north, per_mass, rates.velocity_north),
            fma(push.up, per_mass, rates.velocity_up),
            (turn_x - roll_yield * w.turn_x) / (1.0 + roll_yield),
            rates.rate_y + sum3(loads.ixy, push.x, loads.iyy, push.y, loads.iyz, push.z),
            rates.rate_z + sum3(loads.ixz, push.x, loads.iyz, push.y, loads.izz, push.z),
        )
        state = corrected(ahead, h, rates, all_push, w)
        w.push_east, w.push_north, w.push_up = all_push[0], all_push[1], all_push[2]
        w.turn_x, w.turn_y, w.turn_z = all_push[3], all_push[4], all_push[5]
        w.cg_x = loads.cg_x
        ve, vn = watch_ground(h, state, r, loads, push, p, w, o)
        slid_east, slid_north = slid_east + h * ve, slid_north + h * vn
    o.slide_distance = o.slide_distance + sqrt(slid_east * slid_east + slid_north * slid_north)
    w.cg_y, w.cg_z = loads.cg_y, loads.cg_z
    if design.strut == RIGID:
        for leg in range(len(legs) // 2):
            w.strut_now = maximum(w.strut_now, sqrt(load(lanes, points, leg * ROWS + FORCE)))
    w.ground_load = sqrt(w.ground_load)
    o.peak_strut_force = maximum(o.peak_strut_force, w.strut_now)
    o.peak_stroke = maximum(o.peak_stroke, w.stroke_now)
    o.peak_deceleration = maximum(o.peak_deceleration, w.ground_load)
    w.slack_y = mount_angle(state.servo_y, w.slack_y, w.servo_backlash)
    w.slack_z = mount_angle(state.servo_z, w.slack_z, w.servo_backlash)
    return state, loads


@room
def watch_ground(h, state, r, loads, push, p, w, o):
    """Hops and the load of the ground, step by step.

    Returns
    -------
    east, north : lanes [m/s]
        Velocity of the point of the axis between the feet; zero off the ground.
    """
    force2 = sum3(push.east, push.east, push.north, push.north, push.up, push.up)
    w.ground_load = maximum(w.ground_load, force2 * loads.per_mass * loads.per_mass)
    down = (w.feet_down > 0.5) | (w.frame_down > 0.5)
    before = w.aloft_for
    w.aloft_for = where(down, 0.0, before + h)
    hop = (before < HOP_TIME) & (w.aloft_for >= HOP_TIME)
    o.hops = o.hops + where(hop, 1.0, 0.0)
    o.frame_struck = maximum(o.frame_struck, w.frame_down)
    dx = p.feet_x - loads.cg_x
    ve, vn, _ = to_local(r, 0.0 * dx, state.rate_z * dx, -state.rate_y * dx)
    ve, vn = ve + state.velocity_east, vn + state.velocity_north
    return where(down, ve, 0.0), where(down, vn, 0.0)


@room
def watch_rest(lanes, time, interval, state, r, legs, points, p, w, o):
    """Whether the vehicles are at rest, tipped or out of time at the end of a tick.

    Returns
    -------
    mask
        Flights that are over.
    """
    speed2 = (
        state.velocity_east * state.velocity_east + state.velocity_north * state.velocity_north
        + state.velocity_up * state.velocity_up
    )  # fmt: skip
    rate2 = (
        state.rate_x * state.rate_x + state.rate_y * state.rate_y + state.rate_z * state.rate_z
    )
    burning = (w.landing_thrust > 0.0) | (w.ascent_thrust * w.stage_attached > 0.0)
    still = (speed2 < STILL_SPEED * STILL_SPEED) & (rate2 < STILL_RATE * STILL_RATE)
    # balanced on two feet is no rest, however slowly it leaves it; a foot that a rigid leg has just
    # lifted by less than a hair still counts
    lately = 0.0 * state.up
    for leg in range(len(legs) // 2):
        base = leg * ROWS
        touches = load(lanes, points, base + TOUCHES) > 0.5
        away = where(touches, 0.0, load(lanes, points, base + AWAY) + interval)
        store(points, base + AWAY, away)
        lately = lately + where(away < LIFTED, 1.0, 0.0)
    supported = (lately > 2.5) | (w.frame_down > 0.5)
    still = still & not_(burning) & supported
    w.still_for = where(still, w.still_for + interval, 0.0)
    rest = w.still_for >= p.still_time - 1e-9
    tipped = r.zx < TIPPED_COSINE
    late = time > o.contact_time + p.settle_longest
    total = absolute(state.east) + absolute(state.north) + absolute(state.up) + speed2 + rate2
    failed = not_(total < SOUND)
    over = rest | tipped | late | failed
    if any_lane(over):
        ending = where(rest, 1.0 * AT_REST, 1.0 * OUT_OF_TIME)
        ending = where(tipped, 1.0 * TIPPED, ending)
        o.ending = where(failed, 1.0 * FAILED, ending)
        o.failed_time = where(failed, time, o.failed_time)
        o.rest_time = where(rest & not_(tipped), time - p.still_time, np.nan)
        dx = p.feet_x - w.cg_x
        o.rest_east, o.rest_north = state.east + r.xx * dx, state.north + r.yx * dx
        o.rest_tilt_cosine = r.zx
        on_pad = 0.0 * state.up
        for leg in range(len(legs) // 2):
            base = leg * ROWS
            down = load(lanes, points, base + TOUCHES) * load(lanes, points, base + ON_PAD)
            on_pad = on_pad + down
        o.feet_on_pad, o.feet_down = on_pad, w.feet_down
        o.rests_on_frame = w.frame_down
    return over

