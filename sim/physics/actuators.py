"""What moves on command: gimbal servo, throttle plates, reaction wheels.

One servo is alive at a time: the ascent motor's while the stage is attached, the landing motor's
afterwards. Thrust turned by (gimbal_y, gimbal_z) about body y and z points along (1, z, -y).

A servo is a second-order lag, angle'' = wn^2 (goal - angle) - 2 zeta wn angle'. Where cables pull
the mount back to its middle by a torque k angle, the servo's own torque counts: it grows with what
is missing to the goal, to its largest, Q, at the band b, and stays there:

    angle'' = wn^2 (clamp(goal - angle, -b, b) - (k b / Q) angle) - 2 zeta wn angle'

At rest the angle is goal / (1 + k b / Q), or Q / k where that is beyond the servo's reach.
"""

from __future__ import annotations

from sim.lanes import (
    any_lane,
    clamp,
    floor,
    maximum,
    minimum,
    normal_quad,
    part,
    room,
    sqrt,
    where,
)

INPUTS = (
    # one servo for each gimbal; the delay is a weight for each of the last five commands
    "ascent_travel", "ascent_servo_rate", "ascent_servo_frequency", "ascent_servo_damping",
    "ascent_zero_y", "ascent_zero_z", "ascent_backlash", "ascent_resolution",
    "ascent_delay_0", "ascent_delay_1", "ascent_delay_2", "ascent_delay_3", "ascent_delay_4",
    "ascent_swing_mass", "ascent_swing_arm",
    "ascent_servo_band", "ascent_servo_cable",  # rad, b; k b / Q; no limit and 0 without cables
    "landing_travel", "landing_servo_rate", "landing_servo_frequency", "landing_servo_damping",
    "landing_zero_y", "landing_zero_z", "landing_backlash", "landing_resolution",
    "landing_delay_0", "landing_delay_1", "landing_delay_2", "landing_delay_3", "landing_delay_4",
    "landing_swing_mass", "landing_swing_arm",
    "landing_servo_band", "landing_servo_cable",
    # throttle plates on the landing motor
    "throttle_authority", "throttle_quickness", "throttle_gain",  # share, 1/s (1 / lag), 1
    "throttle_wander", "throttle_wander_keep",  # share; share of the wander kept over a tick
    "throttle_side_y", "throttle_side_z",  # side force over thrust taken away
    # wheels
    "wheel_torque_x", "wheel_torque_yz", "wheel_momentum",  # N m, N m, N m s
)  # fmt: skip

CARRY = (
    # the servo that is alive
    "servo_travel", "servo_rate", "servo_stiffness", "servo_drag",  # rad, rad/s, 1/s2, 1/s
    "servo_zero_y", "servo_zero_z", "servo_backlash", "servo_pivot_x",
    "servo_resolution", "servo_per_resolution",
    "servo_delay_0", "servo_delay_1", "servo_delay_2", "servo_delay_3", "servo_delay_4",
    "servo_swing_mass", "servo_swing_arm",
    "servo_gain", "servo_stop_y",  # 1, rad
    "servo_band", "servo_cable",  # rad, 1
    # commands of this tick and the four before it
    "asked_y_0", "asked_y_1", "asked_y_2", "asked_y_3", "asked_y_4",
    "asked_z_0", "asked_z_1", "asked_z_2", "asked_z_3", "asked_z_4",
    "goal_y", "goal_z",  # rad, what the servo steers to
    "slack_y", "slack_z",  # rad, where the mount is, within the backlash of the servo
    "gimbal_y", "gimbal_z",  # rad, turn of the thrust line now, for the record
    "dip_goal", "wander",  # share of thrust to be taken away; wander of the plates, unit variance
    "dip_depth",  # 1, what a dip really takes away over its nominal share
    "wheel_goal_x", "wheel_goal_y", "wheel_goal_z",  # N m on the body in this tick
)  # fmt: skip

NO_LIMIT = 1e30  # rad
SOURCE = 13  # number of the throttle's noise stream


@room
def choose_servo(p, w):
    """Take over the numbers of the gimbal that is alive in this configuration."""
    ascent = w.stage_attached > 0.5
    w.servo_travel = where(ascent, p.ascent_travel, p.landing_travel)
    w.servo_rate = where(ascent, p.ascent_servo_rate, p.landing_servo_rate)
    frequency = where(ascent, p.ascent_servo_frequency, p.landing_servo_frequency)
    damping = where(ascent, p.ascent_servo_damping, p.landing_servo_damping)
    w.servo_stiffness = frequency * frequency
    w.servo_drag = 2.0 * damping * frequency
    w.servo_zero_y = where(ascent, p.ascent_zero_y, p.landing_zero_y)
    w.servo_zero_z = where(ascent, p.ascent_zero_z, p.landing_zero_z)
    w.servo_backlash = where(ascent, p.ascent_backlash, p.landing_backlash)
    w.servo_resolution = where(ascent, p.ascent_resolution, p.landing_resolution)
    w.servo_per_resolution = 1.0 / maximum(w.servo_resolution, 1e-12)
    w.servo_pivot_x = where(ascent, p.ascent_pivot_x, p.landing_pivot_x)
    w.servo_delay_0 = where(ascent, p.ascent_delay_0, p.landing_delay_0)
    w.servo_delay_1 = where(ascent, p.ascent_delay_1, p.landing_delay_1)
    w.servo_delay_2 = where(ascent, p.ascent_delay_2, p.landing_delay_2)
    w.servo_delay_3 = where(ascent, p.ascent_delay_3, p.landing_delay_3)
    w.servo_delay_4 = where(ascent, p.ascent_delay_4, p.landing_delay_4)
    w.servo_swing_mass = where(ascent, p.ascent_swing_mass, p.landing_swing_mass)
    w.servo_swing_arm = where(ascent, p.ascent_swing_arm, p.landing_swing_arm)
    w.servo_band = where(ascent, p.ascent_servo_band, p.landing_servo_band)
    w.servo_cable = where(ascent, p.ascent_servo_cable, p.landing_servo_cable)
    w.servo_gain = where(ascent, p.ascent_gimbal_gain, p.landing_gimbal_gain)
    w.servo_stop_y = where(ascent, minimum(p.ascent_stop_y, w.servo_travel), w.servo_travel)


@part
def stepped(angle, resolution, per_resolution):
    """An angle in whole steps of the servo's resolution, zero for none."""
    return where(resolution > 0.0, resolution * floor(angle * per_resolution + 0.5), angle)


@part
def delayed(now, one, two, three, four, w):
    """The command as it reaches the servo: weights over the last five ticks."""
    return (
        w.servo_delay_0 * now
        + w.servo_delay_1 * one
        + w.servo_delay_2 * two
        + w.servo_delay_3 * three
        + w.servo_delay_4 * four
    )


@room
def take_gimbal(command, p, w):
    """Shift the delay line by one tick and set what the servo steers to in this one."""
    w.asked_y_4, w.asked_y_3, w.asked_y_2 = w.asked_y_3, w.asked_y_2, w.asked_y_1
    w.asked_z_4, w.asked_z_3, w.asked_z_2 = w.asked_z_3, w.asked_z_2, w.asked_z_1
    w.asked_y_1, w.asked_y_0 = w.asked_y_0, command.gimbal_y
    w.asked_z_1, w.asked_z_0 = w.asked_z_0, command.gimbal_z
    set_goals(p, w)


@part
def set_goals(p, w):
    """What the servo that is alive steers to, from the commands that have reached it."""
    y = delayed(w.asked_y_0, w.asked_y_1, w.asked_y_2, w.asked_y_3, w.asked_y_4, w)
    z = delayed(w.asked_z_0, w.asked_z_1, w.asked_z_2, w.asked_z_3, w.asked_z_4, w)
    y = stepped(w.servo_gain * y, w.servo_resolution, w.servo_per_resolution)
    z = stepped(w.servo_gain * z, w.servo_resolution, w.servo_per_resolution)
    jammed = w.jammed > 0.5
    goal = clamp(y + w.servo_zero_y, -w.servo_travel, w.servo_stop_y)
    w.goal_y = where(jammed, p.jam_y, goal)
    goal = clamp(z + w.servo_zero_z, -w.servo_travel, w.servo_travel)
    w.goal_z = where(jammed, p.jam_z, goal)
    # a mount that is jammed is held by more than its servo
    w.servo_cable = where(jammed, 0.0, w.servo_cable)
    w.servo_band = where(jammed, NO_LIMIT, w.servo_band)


@room
def take_throttle(seed, flight, count, landing_lit, command, p, w):
    """Set the plates' goal from the command, and let their effect wander.

    The wander is a first-order Gauss-Markov process, exact in discrete time.
    """
    asked = clamp(1.0 - command.throttle, 0.0, p.throttle_authority)
    w.dip_goal = where(w.throttle_stuck > 0.5, p.throttle_stuck_at, asked * p.throttle_gain)
    if any_lane(landing_lit):
        fresh, _, _, _ = normal_quad(seed, flight, SOURCE, count)
        keep = p.throttle_wander_keep
        wander = keep * w.wander + sqrt(1.0 - keep * keep) * fresh
        w.wander = where(landing_lit, wander, w.wander)
        w.dip_depth = 1.0 + p.throttle_wander * w.wander / maximum(p.throttle_authority, 1e-9)


@room
def take_wheels(command, momentum_x, momentum_y, momentum_z, interval, p, w):
    """Torque of the wheels on the body in this tick, within torque and momentum limits."""
    per_second = 1.0 / interval
    w.wheel_goal_x = wheel_torque(
        command.wheel_x, momentum_x, p.wheel_torque_x, p.wheel_momentum, per_second
    )
    w.wheel_goal_y = wheel_torque(
        command.wheel_y, momentum_y, p.wheel_torque_yz, p.wheel_momentum, per_second
    )
    w.wheel_goal_z = wheel_torque(
        command.wheel_z, momentum_z, p.wheel_torque_yz, p.wheel_momentum, per_second
    )


@part
def wheel_torque(asked, momentum, torque_limit, momentum_limit, per_second):
    """Torque on the body [N m]; the wheel takes up the opposite momentum until it saturates."""
    torque = clamp(asked, -torque_limit, torque_limit)
    most = maximum((momentum + momentum_limit) * per_second, 0.0)
    least = minimum((momentum - momentum_limit) * per_second, 0.0)
    return clamp(torque, least, most)
