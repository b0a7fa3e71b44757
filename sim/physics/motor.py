"""Solid motors: thrust along a measured curve of straight pieces, walked from knot to knot.

Each motor keeps the piece of its curve that it is on: where it began, thrust there and slope, and
the impulse given before it. An integration step never straddles a knot, so thrust is exactly
linear within a step. A solid cannot be cut and cannot relight; propellant follows the unobstructed
curve whatever the throttle does.
"""

from __future__ import annotations

from sim.lanes import any_lane, gather, part, room, where, whole

INFINITE = 1e30  # s, a time that never comes

INPUTS = (
    "ascent_thrust_scale", "ascent_time_scale", "ascent_delay",  # 1, 1, s
    "ascent_angle_y", "ascent_angle_z",  # rad, turn of the thrust line about body y and z
    "ascent_offset_y", "ascent_offset_z",  # m, of the thrust line at the pivot
    "ascent_pivot_x", "ascent_exit_x",  # m, body coordinates
    "ascent_exit_gyration",  # m2, of the leaving gas about the axis, squared radius
    "landing_thrust_scale", "landing_time_scale", "landing_delay",
    "landing_angle_y", "landing_angle_z",
    "landing_offset_y", "landing_offset_z",
    "landing_pivot_x", "landing_exit_x", "landing_exit_gyration",
)  # fmt: skip

CARRY = (
    "ascent_light", "ascent_knot",  # s, time of light; number of the next knot
    "ascent_piece_start", "ascent_piece_end",  # s
    "ascent_thrust", "ascent_slope", "ascent_impulse",  # N, N/s, N s at the start of the piece
    "landing_light", "landing_knot",
    "landing_piece_start", "landing_piece_end",
    "landing_thrust", "landing_slope", "landing_impulse",
)  # fmt: skip


@part
def next_piece(reached, knot, light, end, thrust, slope, impulse, start, scale, stretch, curve):
    """The next straight piece of a thrust curve, for the lanes that reached the end of theirs.

    Parameters
    ----------
    reached : mask
    knot, light, end, thrust, slope, impulse, start : lanes
        As in CARRY.
    scale, stretch : lanes
        Thrust and time of this motor over those of the curve.
    curve : float64[2 n]
        Times, then thrusts, of the knots; the last thrust is zero.

    Returns
    -------
    knot, start, end, thrust, slope, impulse : lanes
    """
    count = len(curve) // 2
    length = end - start
    given = impulse + length * (thrust + 0.5 * slope * length)
    first = knot < 0.5
    index = whole(knot)
    over = knot > count - 1.5  # the piece that ended was the last one
    time_here, time_next = gather(curve, index), gather(curve, index + 1)
    thrust_here, thrust_next = gather(curve, index + count), gather(curve, index + count + 1)
    span = where(over, 1.0, time_next - time_here) * stretch
    new_thrust = where(over, 0.0, thrust_here * scale)
    new_slope = where(over, 0.0, (thrust_next - thrust_here) * scale / span)
    new_end = where(over, INFINITE, light + time_next * stretch)
    return (
        where(reached, where(over, knot, knot + 1.0), knot),
        where(reached, end, start),
        where(reached, new_end, end),
        where(reached, new_thrust, thrust),
        where(reached, new_slope, slope),
        where(reached, where(first, 0.0, given), impulse),
    )


@room
def walk_curves(due, time, p, w, ascent_curve, landing_curve):
    """Move both motors to the piece of their curve that holds at this time [s]."""
    reached = due & (time >= w.ascent_piece_end)
    if any_lane(reached):
        (
            w.ascent_knot, w.ascent_piece_start, w.ascent_piece_end,
            w.ascent_thrust, w.ascent_slope, w.ascent_impulse,
        ) = next_piece(
            reached, w.ascent_knot, w.ascent_light, w.ascent_piece_end, w.ascent_thrust,
            w.ascent_slope, w.ascent_impulse, w.ascent_piece_start,
            p.ascent_thrust_scale, p.ascent_time_scale, ascent_curve,
        )  # fmt: skip
    reached = due & (time >= w.landing_piece_end)
    if any_lane(reached):
        (
            w.landing_knot, w.landing_piece_start, w.landing_piece_end,
            w.landing_thrust, w.landing_slope, w.landing_impulse,
        ) = next_piece(
            reached, w.landing_knot, w.landing_light, w.landing_piece_end, w.landing_thrust,
            w.landing_slope, w.landing_impulse, w.landing_piece_start,
            p.landing_thrust_scale, p.landing_time_scale, landing_curve,
        )  # fmt: skip


@part
def thrust_now(time, start, thrust, slope):
    """Unobstructed thrust [N] within a piece."""
    return thrust + slope * (time - start)


@part
def impulse_now(time, start, thrust, slope, impulse):
    """Impulse [N s] given since light, unobstructed."""
    since = time - start
    return impulse + since * (thrust + 0.5 * slope * since)
