"""On the launch pad: where the vehicle stands, what holds it, how it leaves."""

from __future__ import annotations

from sim.lanes import part, room, where
from sim.physics.frames import rotation_of, upright
from sim.physics.rigid_body import State

INPUTS = (
    "start_free",  # 1 for a body released in the air, 0 for a vehicle on its launch pad
    "start_east", "start_north", "start_up",  # m, of the centre of gravity if free
    "start_velocity_east", "start_velocity_north", "start_velocity_up",  # m/s
    "start_rate_x", "start_rate_y", "start_rate_z",  # rad/s
    "start_tilt", "start_tilt_direction", "start_heading",  # rad
    "start_height",  # m, of the aft end on the launch pad above the ground
    "tip_off_y", "tip_off_z",  # rad/s, given by the release
)  # fmt: skip


@room
def standing(cg_x, cg_y, cg_z, p):
    """State at the start: upright on the launch pad, or free in the air.

    The aft end of the stack stands over the origin, at the height of the launch pad.
    """
    zero = 0.0 * p.start_up
    q = upright(p.start_tilt, p.start_tilt_direction, p.start_heading)
    r = rotation_of(q.q0, q.q1, q.q2, q.q3)
    along = cg_x - p.stack_tail_x
    free = p.start_free > 0.5
    return State(
        where(free, p.start_east, r.xx * along + r.xy * cg_y + r.xz * cg_z),
        where(free, p.start_north, r.yx * along + r.yy * cg_y + r.yz * cg_z),
        where(free, p.start_up, p.start_height + r.zx * along + r.zy * cg_y + r.zz * cg_z),
        where(free, p.start_velocity_east, zero),
        where(free, p.start_velocity_north, zero),
        where(free, p.start_velocity_up, zero),
        q.q0, q.q1, q.q2, q.q3,
        where(free, p.start_rate_x, zero),
        where(free, p.start_rate_y, zero),
        where(free, p.start_rate_z, zero),
        zero, zero, zero, zero, zero, zero, zero, zero,
    )  # fmt: skip


@part
def held(state, after):
    """The state after a step on the launch pad: only servo, throttle and wheels have moved."""
    return State(
        state.east, state.north, state.up,
        state.velocity_east, state.velocity_north, state.velocity_up,
        state.q0, state.q1, state.q2, state.q3,
        state.rate_x, state.rate_y, state.rate_z,
        after.servo_y, after.servo_y_rate, after.servo_z, after.servo_z_rate, after.dip,
        after.wheel_x, after.wheel_y, after.wheel_z,
    )  # fmt: skip


@part
def released(state, p):
    """The state at the moment of lift-off: the release tips the vehicle."""
    return State(
        state.east, state.north, state.up,
        state.velocity_east, state.velocity_north, state.velocity_up,
        state.q0, state.q1, state.q2, state.q3,
        state.rate_x, state.rate_y + p.tip_off_y, state.rate_z + p.tip_off_z,
        state.servo_y, state.servo_y_rate, state.servo_z, state.servo_z_rate, state.dip,
        state.wheel_x, state.wheel_y, state.wheel_z,
    )  # fmt: skip
