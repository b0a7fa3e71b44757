"""Equations of motion of one vehicle: six degrees of freedom, servo, throttle and wheels.

The integrated point is the centre of gravity of the moment, which creeps through the body as
propellant burns; its velocity is that of the material there. What changes slowly (mass, inertia,
thrust, air density, wind profile) is taken once a step, in the middle of the step: see Loads.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.lanes import add_scaled, any_lane, clamp, diff2, fma, part, sum2, sum3, where
from sim.physics.aerodynamics import air_loads
from sim.physics.frames import at_unit_length, rotation_of, to_body, to_local


class State(NamedTuple):
    """What is integrated. Positions and velocities local (ENU), rates in body axes."""

    east: float  # m, centre of gravity
    north: float
    up: float
    velocity_east: float  # m/s
    velocity_north: float
    velocity_up: float
    q0: float  # attitude, body to local
    q1: float
    q2: float
    q3: float
    rate_x: float  # rad/s
    rate_y: float
    rate_z: float
    servo_y: float  # rad
    servo_y_rate: float
    servo_z: float
    servo_z_rate: float
    dip: float  # share of landing thrust that the plates take away
    wheel_x: float  # N m s, momentum of the wheels
    wheel_y: float
    wheel_z: float


class Loads(NamedTuple):
    """What one step sees as constant: the values in the middle of the step."""

    mass: float
    per_mass: float  # 1/kg
    cg_x: float
    cg_y: float
    cg_z: float
    cg_creep: float  # m/s, of the centre of gravity through the body, along x
    jxx: float  # kg m2, inertia tensor
    jyy: float
    jzz: float
    jxy: float
    jxz: float
    jyz: float
    ixx: float  # 1/(kg m2), its inverse
    iyy: float
    izz: float
    ixy: float
    ixz: float
    iyz: float
    jet_axial: float  # N m s, moment per rate that the leaving gas takes away
    jet_transverse: float
    jet_side: float  # kg m/s, the same for each metre that the centre of gravity is off the axis
    ascent_thrust: float  # N
    landing_thrust: float  # N, unobstructed
    half_density: float  # kg/m3
    gravity: float  # m/s2
    burning: float  # 1 where a motor burns


@part
def inverse_tensor(jxx, jyy, jzz, jxy, jxz, jyz):
    """Inverse of a symmetric tensor: xx, yy, zz, xy, xz, yz."""
    cxx, cxy, cxz = jyy * jzz - jyz * jyz, jxz * jyz - jxy * jzz, jxy * jyz - jxz * jyy
    scale = 1.0 / (jxx * cxx + jxy * cxy + jxz * cxz)
    return (
        cxx * scale,
        (jxx * jzz - jxz * jxz) * scale,
        (jxx * jyy - jxy * jxy) * scale,
        cxy * scale,
        cxz * scale,
        (jxy * jxz - jxx * jyz) * scale,
    )


@part
def mount_angle(servo, slack, backlash):
    """Angle of the motor mount: it follows the servo within half the backlash."""
    return clamp(slack, servo - 0.5 * backlash, servo + 0.5 * backlash)


@part
def thrust_along(thrust, side_y, side_z, y, z, arm_x, arm_y, arm_z):
    """Force and moment of a thrust along (1, z, -y), for small turns y and z of its line.

    Exact to the fourth order; with what it pushes sideways besides. The arm is from the centre of
    gravity.
    """
    x = thrust * (1.0 - 0.5 * sum2(y, y, z, z))
    y, z = fma(thrust, z, side_y), fma(-thrust, y, side_z)
    return x, y, z, diff2(arm_y, z, arm_z, y), diff2(arm_z, x, arm_x, z), diff2(arm_x, y, arm_y, x)


@part
def ascent_push(gimbal_y, gimbal_z, loads, p, w):
    """Force [N] and moment [N m] of the ascent motor, body axes."""
    zero = 0.0 * gimbal_y
    y = fma(gimbal_y, w.stage_attached, p.ascent_angle_y)
    z = fma(gimbal_z, w.stage_attached, p.ascent_angle_z)
    return thrust_along(
        loads.ascent_thrust, zero, zero, y, z, p.ascent_pivot_x - loads.cg_x,
        p.ascent_offset_y - loads.cg_y, p.ascent_offset_z - loads.cg_z,
    )  # fmt: skip


@part
def landing_push(gimbal_y, gimbal_z, dip, loads, p, w):
    """Force [N] and moment [N m] of the landing motor behind its throttle, body axes."""
    # behind a stage that hangs on, or not slid into its mount yet, it fires down a tube
    recessed = where(w.landing_ahead > 0.0, 1.0, w.stage_attached)
    in_mount = 1.0 - recessed
    y = p.landing_angle_y + sum2(gimbal_y, in_mount, p.recess_angle_y, recessed)
    z = p.landing_angle_z + sum2(gimbal_z, in_mount, p.recess_angle_z, recessed)
    full = loads.landing_thrust
    thrust = full * w.ground_factor * fma(-dip, w.dip_depth, 1.0)
    aside = full * dip
    return thrust_along(
        thrust, aside * p.throttle_side_y, aside * p.throttle_side_z, y, z,
        p.landing_pivot_x - loads.cg_x, p.landing_offset_y - loads.cg_y,
        p.landing_offset_z - loads.cg_z,
    )  # fmt: skip


@part
def rates_of_change(state, loads, air_table, p, w):
    """Rates of change of the state in flight.

    Parameters
    ----------
    state : State
    loads : Loads
    air_table : float64[n]
        See sim.physics.aerodynamics.tabled_loads; empty to go by geometry.
    p, w : records
        Inputs and carry of the flight.

    Returns
    -------
    State
        Each field's derivative.

    Notes
    -----
    Translation: m v' = F with the material velocity of the moving centre of gravity. Rotation:
    J w' = M - w x (J w + h) - (J' + mu l^2) w, with the momentum h of the wheels and the jet
    damping of Thomson, Introduction to Space Dynamics (1961), ch. 8.
    """
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z

    # air
    above = state.up - w.wind_z
    air_u, air_v, air_w = to_body(
        r,
        state.velocity_east - fma(w.wind_slope_east, above, w.wind_east),
        state.velocity_north - fma(w.wind_slope_north, above, w.wind_north),
        state.velocity_up - w.wind_up,
    )
    force_x, force_y, force_z, moment_y, moment_z = air_loads(
        air_u,
        air_v,
        air_w,
        wy,
        wz,
        loads.cg_x,
        loads.half_density,
        loads.burning,
        air_table,
        p,
        w,
    )

    # thrust
    gimbal_y = mount_angle(state.servo_y, w.slack_y, w.servo_backlash)
    gimbal_z = mount_angle(state.servo_z, w.slack_z, w.servo_backlash)
    zero = 0.0 * wx
    push = zero, zero, zero, zero, zero, zero
    lit = loads.ascent_thrust > 0.0
    if any_lane(lit):
        push = where(lit, ascent_push(gimbal_y, gimbal_z, loads, p, w), push)
    lit = loads.landing_thrust > 0.0
    if any_lane(lit):
        more = landing_push(gimbal_y, gimbal_z, state.dip, loads, p, w)
        push = where(lit, add_scaled(push, 1.0 + zero, more), push)  # their sum
    moment_x, moment_y, moment_z = push[3], moment_y + push[4], moment_z + push[5]

    # servo, second order with a limit on its rate; the swinging motor reacts on the body
    y_rate = clamp(state.servo_y_rate, -w.servo_rate, w.servo_rate)
    z_rate = clamp(state.servo_z_rate, -w.servo_rate, w.servo_rate)
    # its pull is limited, and stiff cables pull back to the middle (actuators.py)
    pull_y = clamp(w.goal_y - state.servo_y, -w.servo_band, w.servo_band)
    pull_z = clamp(w.goal_z - state.servo_z, -w.servo_band, w.servo_band)
    pull_y, pull_z = pull_y - w.servo_cable * state.servo_y, pull_z - w.servo_cable * state.servo_z
    y_acceleration = diff2(w.servo_stiffness, pull_y, w.servo_drag, y_rate)
    z_acceleration = diff2(w.servo_stiffness, pull_z, w.servo_drag, z_rate)
    # a servo at its rate limit does not wind up
    y_acceleration = where(
        (state.servo_y_rate - y_rate) * y_acceleration > 0.0, 0.0, y_acceleration
    )
    z_acceleration = where(
        (state.servo_z_rate - z_rate) * z_acceleration > 0.0, 0.0, z_acceleration
    )
    swing = w.servo_swing_mass * w.servo_swing_arm
    reaction = swing * (w.servo_swing_arm + loads.cg_x - w.servo_pivot_x)
    moment_y = fma(-reaction, y_acceleration, moment_y)
    moment_z = fma(-reaction, z_acceleration, moment_z)

    # wheels
    moment_x = moment_x + w.wheel_goal_x
    moment_y = moment_y + w.wheel_goal_y
    moment_z = moment_z + w.wheel_goal_z
    hx = sum3(loads.jxx, wx, loads.jxy, wy, loads.jxz, wz) + state.wheel_x
    hy = sum3(loads.jxy, wx, loads.jyy, wy, loads.jyz, wz) + state.wheel_y
    hz = sum3(loads.jxz, wx, loads.jyz, wy, loads.jzz, wz) + state.wheel_z
    moment_x = fma(-loads.jet_axial, wx, moment_x - diff2(wy, hz, wz, hy))
    moment_y = fma(-loads.jet_transverse, wy, moment_y - diff2(wz, hx, wx, hz))
    moment_z = fma(-loads.jet_transverse, wz, moment_z - diff2(wx, hy, wy, hx))
    # off the axis, what the grain loses and what the gas takes away do not quite cancel
    side_y, side_z = loads.jet_side * loads.cg_y, loads.jet_side * loads.cg_z
    moment_x = moment_x - sum2(side_y, wy, side_z, wz)
    moment_y, moment_z = fma(-side_y, wx, moment_y), fma(-side_z, wx, moment_z)

    per_mass = loads.per_mass
    creep = loads.cg_creep
    east, north, up = to_local(
        r,
        (force_x + push[0]) * per_mass,
        sum2(force_y + push[1], per_mass, wz, creep),
        diff2(force_z + push[2], per_mass, wy, creep),
    )
    return State(
        fma(r.xx, creep, state.velocity_east),
        fma(r.yx, creep, state.velocity_north),
        fma(r.zx, creep, state.velocity_up),
        east,
        north,
        up - loads.gravity,
        -0.5 * sum3(state.q1, wx, state.q2, wy, state.q3, wz),
        0.5 * fma(state.q0, wx, diff2(state.q2, wz, state.q3, wy)),
        0.5 * fma(state.q0, wy, diff2(state.q3, wx, state.q1, wz)),
        0.5 * fma(state.q0, wz, diff2(state.q1, wy, state.q2, wx)),
        sum3(loads.ixx, moment_x, loads.ixy, moment_y, loads.ixz, moment_z),
        sum3(loads.ixy, moment_x, loads.iyy, moment_y, loads.iyz, moment_z),
        sum3(loads.ixz, moment_x, loads.iyz, moment_y, loads.izz, moment_z),
        y_rate,
        y_acceleration,
        z_rate,
        z_acceleration,
        (w.dip_goal - state.dip) * p.throttle_quickness,
        -w.wheel_goal_x,
        -w.wheel_goal_y,
        -w.wheel_goal_z,
    )


@part
def runge_kutta(state, h, loads, air_table, p, w):
    """One classical fourth-order step of length h [s], which may differ from lane to lane."""
    sixth, third = h * (1.0 / 6.0), h * (1.0 / 3.0)
    point, after = state, state
    for stage in range(4):  # a loop: four copies of the equations would be four times the code
        k = rates_of_change(point, loads, air_table, p, w)
        weight, ahead = third, 0.5 * h
        if stage == 0 or stage == 3:
            weight = sixth
        if stage == 2:
            ahead = h
        after = add_scaled(after, weight, k)
        point = add_scaled(state, ahead, k)
    return unit_attitude(after)


@part
def unit_attitude(s):
    """The same state with its quaternion at length one."""
    q = at_unit_length(s.q0, s.q1, s.q2, s.q3)
    return State(
        s.east, s.north, s.up, s.velocity_east, s.velocity_north, s.velocity_up,
        q.q0, q.q1, q.q2, q.q3, s.rate_x, s.rate_y, s.rate_z,
        s.servo_y, s.servo_y_rate, s.servo_z, s.servo_z_rate, s.dip,
        s.wheel_x, s.wheel_y, s.wheel_z,
    )  # fmt: skip
