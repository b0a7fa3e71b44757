"""Attitude control: gimbal while a motor pushes, wheels between burns, a wheel for roll always.

Pitch and yaw by gimbal: the angular acceleration asked is

    wn^2 (e + ki * integral of e) - 2 zeta wn rate

with e the rotation vector from where the nose is to where it should be (twice the vector part of
the quaternion between, in body axes). It is turned into an angle by what the gimbal does: a turn
dy of the thrust line gives the torque -l T dy about y, so dy is the acceleration over
-(l m / I) f, where f = T / m is the push that the accelerometer feels: the gains are scheduled by
what is sensed. The integral unwinds by back-calculation when the gimbal is at its stop, with the
time constant sqrt(Ti Td) (Astrom and Hagglund, Advanced PID Control, 2006; R10.11), and starts at
zero with each motor.

In abort nothing is steered, or, where the settings say so, the nose is held upright: guidance is
silent then, so the lean wanted is none.

Wheels that held the nose against the air between the burns are left spinning. In a fast turn their
momentum h becomes a torque w x h about the axis, and a slender body rolls: the settings may ask
that it is given back while a motor pushes, whose gimbal takes the place of the wheels. What they
hold is reckoned from what was asked of them; no sensor tells.
"""

from sim.avionics.rotation import conjugate, multiply
from sim.avionics.seam import ABORT, CLIMB, DOWN, LANDING
from sim.lanes import clamp, copysign, maximum, not_, room, where

LEAST_PUSH = 3.0  # m/s2, the push below which a gimbal is no use


@room
def attitude_error(q, memory):
    """Rotation vector in body axes that would bring the nose to the lean wanted."""
    east, north = memory.steer_east, memory.steer_north
    leaned = east * east + north * north
    upward = 1.0 - leaned * (0.5 + leaned * (0.125 + 0.0625 * leaned))  # sqrt(1 - leaned)
    upright = memory.upright_0, memory.upright_1, memory.upright_2, memory.upright_3
    wanted = multiply((upward, -north, east, 0.0 * east), upright)
    off = multiply(conjugate(q), wanted)
    twice = copysign(2.0, off[0])  # the short way round
    return twice * off[1], twice * off[2], twice * off[3]


@room
def control(q, settings, memory, command):
    """Gimbal angles and wheel torques."""
    x, y, z = attitude_error(q, memory)
    phase = memory.phase
    levelling = (phase == ABORT) & (settings.abort_level > 0.5)
    fired = memory.ignition_time == memory.ignition_time
    climbing = (phase == CLIMB) | (levelling & not_(fired))
    lit = ((phase == LANDING) & (memory.light_time == memory.light_time)) | (levelling & fired)
    pushed = (climbing | lit) & (memory.force_x > LEAST_PUSH)

    usual = where(climbing, settings.ascent_push, settings.landing_push)
    push = where(settings.scheduled > 0.5, maximum(memory.force_x, LEAST_PUSH), usual)
    power = push * where(climbing, settings.ascent_leverage, settings.landing_leverage)
    per_power = -1.0 / power
    travel = where(climbing, settings.ascent_travel, settings.landing_travel)
    stiff, damped = settings.bandwidth_squared, settings.rate_gain
    ask_y = stiff * (y + settings.integral * memory.integral_y) - damped * memory.rate_y
    ask_z = stiff * (z + settings.integral * memory.integral_z) - damped * memory.rate_z
    turn_y = clamp(per_power * ask_y, -travel, travel)
    turn_z = clamp(per_power * ask_z, -travel, travel)
    unwind = settings.unwind
    grown_y = memory.integral_y + settings.tick * (y - unwind * (turn_y * power + ask_y))
    grown_z = memory.integral_z + settings.tick * (z - unwind * (turn_z * power + ask_z))
    memory.integral_y = where(pushed, grown_y, 0.0)
    memory.integral_z = where(pushed, grown_z, 0.0)
    command.gimbal_y = where(pushed, turn_y, 0.0)
    command.gimbal_z = where(pushed, turn_z, 0.0)

    steered = ((phase >= CLIMB) & (phase < DOWN)) | levelling
    limit = where(steered, settings.roll_limit, 0.0)
    ask = settings.roll_gain * x - settings.roll_rate_gain * memory.rate_x
    command.wheel_x = clamp(ask, -limit, limit)
    unloads = pushed & (settings.wheel_unload > 0.0)
    limit = where(pushed, 0.0, where(steered, settings.wheel_limit, 0.0))
    limit = where(unloads, settings.wheel_limit, limit)
    ask = settings.wheel_gain * y - settings.wheel_rate_gain * memory.rate_y
    ask = where(unloads, settings.wheel_unload * memory.wheel_given_y, ask)
    command.wheel_y = clamp(ask, -limit, limit)
    ask = settings.wheel_gain * z - settings.wheel_rate_gain * memory.rate_z
    ask = where(unloads, settings.wheel_unload * memory.wheel_given_z, ask)
    command.wheel_z = clamp(ask, -limit, limit)
    # a wheel takes up what it gives the body, the other way round, until it is full
    most = settings.wheel_momentum
    held_y = memory.wheel_given_y - settings.tick * command.wheel_y
    held_z = memory.wheel_given_z - settings.tick * command.wheel_z
    memory.wheel_given_y = clamp(held_y, -most, most)
    memory.wheel_given_z = clamp(held_z, -most, most)
