"""A small rigid-body world in numpy, eight flights side by side, true to the frame conventions.

Two motors with a gimbal, wheels, drag at the nose when the petals are open, nothing else. It is
there to close the loop around the avionics, not to be a model of a rocket.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from tests.avionics.heron_numbers import ASCENT_CURVE, LANDING_CURVE, heron
from tests.avionics.on_board import STEP, WIDTH, OnBoard
from tests.avionics.turning import UPRIGHT, cross, exponential, multiply, to_body, to_local

GRAVITY = np.array([[0.0], [0.0], [-9.807636571711571]])
STACK = SimpleNamespace(mass=1.57, cg=0.66, inertia=0.165, aft=1.22, pivot=1.06)
LANDER = SimpleNamespace(mass=1.286, cg=0.58, inertia=0.1006, aft=1.22, pivot=0.88)
UNIT, FEET, AXIAL, PETALS = 0.35, 1.10, 1.3e-3, 0.10
DRAG = 0.0149  # kg/m: half density times area
LAUNCH_HEIGHT = 0.15


def _thrust(curve, time):
    return np.interp(time, curve[:, 0], curve[:, 1], left=0.0, right=0.0)


def fly(scenario=None, longest=14.0, upset=(0.0, 0.0), **truth):
    """Fly until the feet touch; returns a namespace of what came out, arrays over lanes.

    truth: thrust (factor of the landing motor), ascent (factor), delay (of the landing light),
    misalignment (rad, of both motors about y), each a number or an array over lanes.
    """
    true = {"thrust": 1.0, "ascent": 1.0, "delay": 0.09, "misalignment": 0.0} | truth
    lane = np.ones(WIDTH)
    board = OnBoard(scenario or heron())
    q = UPRIGHT[:, None] * lane
    rate, velocity = np.zeros((3, WIDTH)), np.zeros((3, WIDTH))
    body = STACK
    position = np.zeros((3, WIDTH))
    position[2] = LAUNCH_HEIGHT + body.aft - body.cg  # of the cg, above the landing pad
    throttle, light = lane.copy(), np.full(WIDTH, 1e9)
    dropped = np.zeros(WIDTH, dtype=bool)
    flying = np.ones(WIDTH, dtype=bool)
    names = ("east", "north", "sink", "lateral", "tilt", "time", "believed_height", "throttle")
    out = SimpleNamespace(**{n: np.full(WIDTH, np.nan) for n in names})
    out.board, out.apogee, trace = board, np.zeros(WIDTH), []
    board.begin(to_body(q, -GRAVITY * lane))

    def pick(name):
        return np.where(dropped, getattr(LANDER, name), getattr(STACK, name))

    for count in range(round(longest / STEP)):
        now = count * STEP
        command = board.command
        wanted = np.where(now > 0, command.throttle, 1.0)
        throttle += (1.0 - np.exp(-STEP / 0.04)) * (wanted - throttle)
        thrust = true["ascent"] * _thrust(ASCENT_CURVE, now - 0.09) * lane
        thrust += true["thrust"] * throttle * _thrust(LANDING_CURVE, now - light)
        dy, dz = command.gimbal_y + true["misalignment"], command.gimbal_z
        mass, arm = pick("mass"), pick("pivot") - pick("cg")
        air = to_body(q, velocity)
        speed = np.sqrt(np.sum(air * air, axis=0))
        drag = np.where(command.open_petals > 0.5, -DRAG * speed * air, 0.0)
        force = np.array([thrust, thrust * dz, -thrust * dy]) + drag
        front = pick("cg") - PETALS  # drag works this far ahead of the cg
        torque = np.array([command.wheel_x, command.wheel_y, command.wheel_z])
        torque[1] += -arm * thrust * dy - front * drag[2]
        torque[2] += -arm * thrust * dz + front * drag[1]
        pushed = to_local(q, force) / mass + GRAVITY
        held = (velocity[2] <= 0.0) & (pushed[2] <= 0.0) & (now < 2.0)
        after_rate = rate + STEP * torque / np.array(
            [AXIAL * lane, pick("inertia"), pick("inertia")]
        )
        after_rate[:, held] = 0.0
        if count == round(0.6 / STEP):
            after_rate[1] += upset[0]
            after_rate[2] += upset[1]
        after = np.where(held, 0.0, velocity + STEP * pushed)
        turn = 0.5 * STEP * (rate + after_rate)
        middle, after_q = multiply(q, exponential(turn / 2.0)), multiply(q, exponential(turn))
        unit = np.zeros((3, WIDTH))
        unit[0] = pick("cg") - UNIT
        unit[1] = 0.012
        gained = after - velocity
        gained += to_local(after_q, cross(after_rate, unit))
        gained -= to_local(q, cross(rate, unit))
        felt = to_body(middle, gained / STEP - GRAVITY)
        before = position
        position = position + 0.5 * STEP * (velocity + after)
        rate, velocity, q = after_rate, after, after_q

        board.tick(turn / STEP, felt)
        drop = (board.command.separate > 0.5) & ~dropped
        if drop.any():  # the cg of what stays lies elsewhere, and moves with its own speed
            ahead = np.zeros((3, WIDTH))
            ahead[0] = np.where(drop, STACK.cg - LANDER.cg, 0.0)
            position = position + to_local(q, ahead)
            velocity = velocity + to_local(q, cross(rate, ahead))
            dropped |= drop
        light = np.where((board.command.ignite_landing > 0.5) & (light > 1e8),
                         now + STEP + true["delay"], light)  # fmt: skip
        feet = np.zeros((3, WIDTH))
        feet[0] = pick("cg") - FEET
        feet = position + to_local(q, feet)
        out.apogee = np.maximum(out.apogee, position[2])
        nose = to_local(q, np.array([lane, 0 * lane, 0 * lane]))
        tilt = np.arccos(np.clip(nose[2], -1.0, 1.0))
        trace.append((now, tilt.copy(), feet.copy(), velocity.copy(), board.command.array.copy(),
                      board.belief.array.copy(), rate.copy(), before))  # fmt: skip
        down = flying & (feet[2] < 0.0) & (now > 2.0)
        for name, value in (
            ("east", feet[0]), ("north", feet[1]), ("sink", -velocity[2]), ("tilt", tilt),
            ("lateral", np.hypot(velocity[0], velocity[1])), ("time", now - light),
            ("believed_height", board.belief.height_feet), ("throttle", throttle),
        ):  # fmt: skip
            setattr(out, name, np.where(down, value, getattr(out, name)))
        flying &= ~down
        if not flying.any():
            break
    out.trace = trace
    return out
