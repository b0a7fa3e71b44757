"""What may go wrong in a flight, as the world sees it; a fault that does not happen never begins.

A fault that a vehicle's other numbers can tell (a motor that is weak, a servo that is slow, a light
that comes late) has no place here: it is those numbers, see sim.ensemble.fault_fields. A parachute
is here because it is what a fault may end in.
"""

from __future__ import annotations

from sim.lanes import any_lane, clamp, maximum, part, room, where
from sim.physics.motor import INFINITE

INPUTS = (
    # landing motor fired with the ascent stage or motor still aboard, down its tube
    "recess_share",  # of thrust lost
    "recess_angle_y", "recess_angle_z",  # rad, turn of its thrust line
    "recess_contact",  # flag: a motor not yet slid into its place can be lit where it is carried
    "throttle_stuck_from", "throttle_stuck_at",  # s; share of thrust that the plates take away
    "jam_from", "jam_y", "jam_z",  # s, rad, rad: gimbal
    "ascent_gimbal_gain", "landing_gimbal_gain",  # of the commands; -1 where it is reversed
    "ascent_stop_y",  # rad, beyond which the ascent gimbal does not turn about body y
    # one channel of the inertial unit: 0 to 2 its gyros, 3 to 5 its accelerometers
    "channel_from", "channel_number", "channel_holds",  # s, number, flag
    "channel_gain", "channel_step", "channel_limit",  # 1; rad/s or m/s2
    "reset_from", "reset_until",  # s, the flight computer is out, and begins anew
    "continuity_lost",  # flag, the landing igniter is an open circuit
    "chute_area", "chute_x", "chute_delay", "chute_time",  # m2, m, s, s to fill
)  # fmt: skip

CARRY = (
    "throttle_stuck", "jammed", "was_reset",  # flags
    "channel_kept",  # rad/s or m/s2, last sound reading of the channel
    "chute_at", "chute_open",  # s; share of its area
)  # fmt: skip


@room
def start_faults(w):
    """Before the flight nothing has gone wrong."""
    w.throttle_stuck = w.jammed = w.was_reset = w.channel_kept = 0.0
    w.chute_at, w.chute_open = INFINITE, 0.0


@part
def begin_faults(time, p, w):
    """Note what has begun by this tick."""
    w.throttle_stuck = where(time >= p.throttle_stuck_from, 1.0, 0.0)
    w.jammed = where(time >= p.jam_from, 1.0, 0.0)


@part
def spoiled(value, number, hit, p, w):
    """Reading of one channel, which may be the one that fails."""
    mine = p.channel_number == number
    w.channel_kept = where(mine & (p.channel_holds > 0.5) & (hit < 0.5), value, w.channel_kept)
    bad = clamp(p.channel_gain * value + p.channel_step, -p.channel_limit, p.channel_limit)
    bad = where(p.channel_holds > 0.5, w.channel_kept, bad)
    return where(mine & (hit > 0.5), bad, value)


@room
def spoil_inertial(p, w, sample):
    """Let a channel of the inertial unit die, stick, clip or step."""
    ever = p.channel_from < INFINITE
    if any_lane(ever):
        hit = where(sample.time >= p.channel_from, 1.0, 0.0)
        sample.rate_x = spoiled(sample.rate_x, 0.0, hit, p, w)
        sample.rate_y = spoiled(sample.rate_y, 1.0, hit, p, w)
        sample.rate_z = spoiled(sample.rate_z, 2.0, hit, p, w)
        sample.force_x = spoiled(sample.force_x, 3.0, hit, p, w)
        sample.force_y = spoiled(sample.force_y, 4.0, hit, p, w)
        sample.force_z = spoiled(sample.force_z, 5.0, hit, p, w)


@room
def silence(time, p, command):
    """A computer that is out commands nothing; igniters that have fired stay fired."""
    out = (time >= p.reset_from) & (time < p.reset_until)
    if any_lane(out):
        command.gimbal_y = where(out, 0.0, command.gimbal_y)
        command.gimbal_z = where(out, 0.0, command.gimbal_z)
        command.wheel_x = where(out, 0.0, command.wheel_x)
        command.wheel_y = where(out, 0.0, command.wheel_y)
        command.wheel_z = where(out, 0.0, command.wheel_z)
        command.throttle = where(out, 1.0, command.throttle)
        command.ignite_landing = where(out, 0.0, command.ignite_landing)
        command.separate = where(out, 0.0, command.separate)
        command.open_legs = where(out, 0.0, command.open_legs)
        command.open_petals = where(out, 0.0, command.open_petals)
        command.open_parachute = where(out, 0.0, command.open_parachute)


@part
def let_out(time, command, p, w):
    """Let the parachute out where it is commanded, and fill; whether any is filling now.

    It pulls at its point on the airframe, its area growing in a straight line with time.
    """
    asked = (command.open_parachute > 0.5) & (w.chute_at >= INFINITE) & (p.chute_area > 0.0)
    w.chute_at = where(asked, time + p.chute_delay, w.chute_at)
    filling = (time >= w.chute_at) & (w.chute_open < 1.0)
    if any_lane(filling):
        share = clamp((time - w.chute_at) / maximum(p.chute_time, 1e-3), 0.0, 1.0)
        w.chute_open = where(filling, share, w.chute_open)
    return filling
