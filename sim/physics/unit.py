"""What the inertial unit truly feels: its place, its turning, its specific force."""

from __future__ import annotations

from sim.lanes import diff2, part, room, sum2, sum3, where
from sim.physics.frames import multiply, rotation_of, to_body, to_local


@part
def place_unit(state, r, cg_x, cg_y, cg_z, p, w):
    """True place and velocity of the inertial unit at this tick."""
    dx, dy, dz = p.unit_x - cg_x, p.unit_y - cg_y, p.unit_z - cg_z
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    east, north, up = to_local(r, dx, dy, dz)
    ve, vn, vu = to_local(r, diff2(wy, dz, wz, dy), diff2(wz, dx, wx, dz), diff2(wx, dy, wy, dx))
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
    sine2 = sum3(turn.q1, turn.q1, turn.q2, turn.q2, turn.q3, turn.q3)  # of half the angle
    # angle / (2 sine of half of it), the series of the arc sine
    stretch = 1.0 + sine2 * (1.0 / 6.0 + sine2 * (3.0 / 40.0 + sine2 * (15.0 / 336.0)))
    per_second = 1.0 / interval
    scale = sign * stretch * per_second
    # half way between them: their sum, over twice the cosine of a quarter of the angle
    half = 0.5 + sine2 * (1.0 / 16.0 + sine2 * (7.0 / 256.0 + sine2 * (33.0 / 2048.0)))
    same = where(turn.q0 < 0.0, -half, half)
    r = rotation_of(
        sum2(half, w.last_0, same, w.tick_0),
        sum2(half, w.last_1, same, w.tick_1),
        sum2(half, w.last_2, same, w.tick_2),
        sum2(half, w.last_3, same, w.tick_3),
    )
    force = to_body(
        r,
        (w.unit_velocity_east - w.last_velocity_east) * per_second,
        (w.unit_velocity_north - w.last_velocity_north) * per_second,
        (w.unit_velocity_up - w.last_velocity_up) * per_second + gravity,
    )
    return (scale * turn.q1, scale * turn.q2, scale * turn.q3), force
