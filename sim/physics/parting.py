"""Events that change the vehicle: stage dropped, petals and legs opened.

The centre of gravity jumps when something leaves. The velocity that we integrate is that of the
material at the centre of gravity, so it jumps too; the motion of what stays does not, but for the
push of the separation. The same is done where legs open: the hull's motion goes on undisturbed,
which leaves out the small recoil of legs that swing.
"""

from __future__ import annotations

from sim.lanes import any_lane, not_, part, room, where
from sim.physics.frames import rotation_of, to_local
from sim.physics.motor import INFINITE
from sim.physics.rigid_body import State

CARRY = (
    "separation_at", "legs_at", "petals_at",  # s, when it will happen; INFINITE if not under way
    "legs_barred",  # flag, the ground keeps legs from opening
    "separated_at",  # s, when the stage came free, for the record
)  # fmt: skip


@part
def moved_cg(state, r, dx, dy, dz):
    """The same motion, told for a centre of gravity that moved by (dx, dy, dz) in the body [m]."""
    east, north, up = to_local(r, dx, dy, dz)
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    ve, vn, vu = to_local(r, wy * dz - wz * dy, wz * dx - wx * dz, wx * dy - wy * dx)
    return State(
        state.east + east, state.north + north, state.up + up,
        state.velocity_east + ve, state.velocity_north + vn, state.velocity_up + vu,
        state.q0, state.q1, state.q2, state.q3, state.rate_x, state.rate_y, state.rate_z,
        state.servo_y, state.servo_y_rate, state.servo_z, state.servo_z_rate, state.dip,
        state.wheel_x, state.wheel_y, state.wheel_z,
    )  # fmt: skip


@room
def free_stage(parting, now, state, mass, p, w):
    """Let the stage go, in the lanes that part now; return the state of what stays.

    Parameters
    ----------
    parting : mask
    now : lanes [s]
    state : State
        Of the vehicle without the stage, about its own centre of gravity.
    mass : Loads
        With mass and centre of gravity of what stays.
    p, w : records

    Notes
    -----
    The push acts along the axis on both bodies; its angular part is given as the rate left on what
    stays. The servo that takes over starts at rest; a mount that serves both motors goes on as it
    was.
    """
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    dx, dy, dz = p.stage_x - mass.cg_x, 0.0 - mass.cg_y, 0.0 - mass.cg_z
    stage = moved_cg(state, r, dx, dy, dz)
    push = p.separation_impulse / p.stage_mass
    w.stage_east = where(parting, stage.east, w.stage_east)
    w.stage_north = where(parting, stage.north, w.stage_north)
    w.stage_up = where(parting, stage.up, w.stage_up)
    w.stage_velocity_east = where(parting, stage.velocity_east - push * r.xx, w.stage_velocity_east)
    w.stage_velocity_north = where(
        parting, stage.velocity_north - push * r.yx, w.stage_velocity_north
    )
    w.stage_velocity_up = where(parting, stage.velocity_up - push * r.zx, w.stage_velocity_up)
    w.stage_falling = where(parting, 1.0, w.stage_falling)
    w.separated_at = where(parting, now, w.separated_at)
    same_mount = p.swap_travel > 0.0
    other = parting & not_(same_mount)
    w.slack_y, w.slack_z = where(other, 0.0, w.slack_y), where(other, 0.0, w.slack_z)
    kick = p.separation_impulse / mass.mass
    zero = 0.0 * mass.mass
    stays = State(
        state.east, state.north, state.up,
        state.velocity_east + kick * r.xx,
        state.velocity_north + kick * r.yx,
        state.velocity_up + kick * r.zx,
        state.q0, state.q1, state.q2, state.q3,
        state.rate_x, state.rate_y + p.separation_rate_y, state.rate_z + p.separation_rate_z,
        where(same_mount, state.servo_y, zero), where(same_mount, state.servo_y_rate, zero),
        where(same_mount, state.servo_z, zero), where(same_mount, state.servo_z_rate, zero),
        state.dip,
        state.wheel_x, state.wheel_y, state.wheel_z,
    )  # fmt: skip
    return where(parting, stays, state)


@room
def take_orders(time, command, p, w):
    """Start what was commanded: separation, petals and legs happen a delay later, once."""
    attached = w.stage_attached > 0.5
    w.separation_at = where(
        (command.separate > 0.5) & attached & (w.separation_at >= INFINITE),
        time + p.separation_delay,
        w.separation_at,
    )
    w.legs_at = where(
        (command.open_legs > 0.5)
        & (w.legs_open + w.legs_barred < 0.5)
        & (w.legs_at >= INFINITE),
        time + p.legs_delay,
        w.legs_at,
    )
    w.petals_at = where(
        (command.open_petals > 0.5) & (w.petals_open < 0.5) & (w.petals_at >= INFINITE),
        time + p.petals_delay,
        w.petals_at,
    )


@room
def take_igniters(time, command, p, w):
    """Fire the igniters that are commanded for the first time; the motor lights a delay later.

    Not of a flight that is over: its computer goes on as long as others of its group fly.
    """
    flying = w.flying > 0.5
    first = flying & (command.ignite_ascent > 0.5) & (w.ascent_light >= INFINITE)
    if any_lane(first):
        w.ascent_light = where(first, time + p.ascent_delay, w.ascent_light)
        w.ascent_piece_end = where(first, w.ascent_light, w.ascent_piece_end)
    first = flying & (command.ignite_landing > 0.5) & (w.landing_light >= INFINITE)
    # the igniter's contact closes in the motor's place, or it has leads that reach it before
    first = first & ((w.landing_ahead <= 0.0) | (p.recess_contact > 0.5))
    if any_lane(first):
        w.landing_light = where(first, time + p.landing_delay, w.landing_light)
        w.landing_piece_end = where(first, w.landing_light, w.landing_piece_end)
        # an igniter that never fires is commanded again at every tick
        told = first & not_(w.landing_commanded_at < INFINITE)
        w.landing_commanded_at = where(told, time, w.landing_commanded_at)


INPUTS = ("legs_delay", "petals_delay")
