"""Forces and moments of the air at any angle of attack, 0 to 180 degrees.

Three contributions, each with a place on the axis where it acts:

- along the axis: drag on u |u|, nose first and tail first apart, less base drag behind a plume;
- slender-body normal force, sin cos of the angle of attack (Barrowman's slope), which acts
  elsewhere nose first than tail first;
- cross-flow drag of the body seen from the side (Jorgensen, NASA TR R-474; Allen and Perkins, NACA
  Report 1048), at the middle of the side view;

and bluff parts (petals, open legs) with a drag area each. Each is computed from the air's velocity
where it acts, so that turning rates are damped. Everything is regular at zero airspeed.
"""

from __future__ import annotations

from sim.lanes import (
    absolute,
    floor,
    fma,
    gather,
    maximum,
    minimum,
    part,
    room,
    sqrt,
    sum2,
    sum3,
    where,
    whole,
)

INPUTS = (
    # for the stack and for the core: drag areas [m2], places [m, body coordinates]
    "stack_axial_nose", "stack_axial_tail", "stack_base",
    "stack_slope_nose", "stack_slope_nose_x", "stack_slope_tail", "stack_slope_tail_x",
    "stack_side", "stack_side_x", "stack_side_second", "stack_side_third",
    "core_axial_nose", "core_axial_tail", "core_base",
    "core_slope_nose", "core_slope_nose_x", "core_slope_tail", "core_slope_tail_x",
    "core_side", "core_side_x", "core_side_second", "core_side_third",
    "petals_area", "petals_x", "legs_area", "legs_x",
    "table_axial", "table_normal", "table_shift",  # factors and shift [m] on a table's values
)  # fmt: skip

CARRY = (
    "axial_nose", "axial_tail", "axial_base",
    "slope_nose", "slope_nose_x", "slope_tail", "slope_tail_x",
    "side", "side_x", "side_second", "side_third",
    "bluff", "bluff_x", "bluff_second",
)  # fmt: skip

SMALL_SPEED = 1e-6  # m/s, keeps the direction of no wind defined


@room
def choose_shape(p, w):
    """Take over the coefficients of this configuration."""
    stage = w.stage_attached > 0.5
    w.axial_nose = where(stage, p.stack_axial_nose, p.core_axial_nose)
    w.axial_tail = where(stage, p.stack_axial_tail, p.core_axial_tail)
    w.axial_base = where(stage, p.stack_base, p.core_base)
    w.slope_nose = where(stage, p.stack_slope_nose, p.core_slope_nose)
    w.slope_nose_x = where(stage, p.stack_slope_nose_x, p.core_slope_nose_x)
    w.slope_tail = where(stage, p.stack_slope_tail, p.core_slope_tail)
    w.slope_tail_x = where(stage, p.stack_slope_tail_x, p.core_slope_tail_x)
    w.side = where(stage, p.stack_side, p.core_side)
    w.side_x = where(stage, p.stack_side_x, p.core_side_x)
    w.side_second = where(stage, p.stack_side_second, p.core_side_second)
    w.side_third = where(stage, p.stack_side_third, p.core_side_third)
    petals, legs = w.petals_open * p.petals_area, w.legs_open * p.legs_area
    both = petals + legs
    middle = (petals * p.petals_x + legs * p.legs_x) / maximum(both, 1e-12)
    apart = p.petals_x - p.legs_x  # two bluff parts damp turning even about their common middle
    second = petals * legs * apart * apart / maximum(both, 1e-12)
    chute = w.chute_open * p.chute_area
    w.bluff = both + chute
    out = chute > 0.0
    apart = middle - p.chute_x
    per = 1.0 / maximum(w.bluff, 1e-12)
    w.bluff_x = where(out, (both * middle + chute * p.chute_x) * per, middle)
    w.bluff_second = second + where(out, both * chute * apart * apart * per, 0.0)


@part
def tabled_loads(u, v, z, rate_y, rate_z, cg_x, half_density, air_table, p):
    """Force along the axis and across it, and where that acts, from a table.

    Parameters
    ----------
    u, v, z, rate_y, rate_z, cg_x, half_density : lanes
        As in air_loads.
    air_table : float64[3 n]
        Axial coefficient times area, normal coefficient over sine times area [m2], place [m, body
        coordinates], each at n values of t from 0 to 2: t = side / (ahead + side) of the airspeed
        nose first, 2 less that tail first. It is smooth, even and cheap, and 1 at 90 degrees.
    p : record

    Returns
    -------
    force_x, force_y, force_z : lanes [N]
    arm : lanes [m]
    """
    count = len(air_table) // 3
    ahead, side = absolute(u), sqrt(v * v + z * z)
    speed = sqrt(u * u + side * side)
    t = side / (ahead + side + SMALL_SPEED)
    t = where(u >= 0.0, t, 2.0 - t)
    position = t * (0.5 * (count - 1))
    below = minimum(floor(position), count - 2.0)
    share, index = position - below, whole(below)
    axial = between(air_table, index, share) * p.table_axial
    normal = between(air_table, index + count, share) * p.table_normal
    arm = between(air_table, index + 2 * count, share) - p.table_shift - cg_x
    across = half_density * normal * speed
    return (
        -half_density * axial * speed * speed,
        -across * (v + rate_z * arm),
        -across * (z - rate_y * arm),
        arm,
    )


@part
def between(table, index, share):
    """Straight line between two neighbours of a table."""
    low = gather(table, index)
    return low + share * (gather(table, index + 1) - low)


@part
def air_loads(u, v, z, rate_y, rate_z, cg_x, half_density, burning, air_table, p, w):
    """Force and moment of the air about the centre of gravity, in body axes.

    Parameters
    ----------
    u, v, z : lanes [m/s]
        Velocity of the centre of gravity through the air, body axes.
    rate_y, rate_z : lanes [rad/s]
    cg_x : lanes [m]
    half_density : lanes [kg/m3]
        Half the density of air.
    burning : lanes
        1 where a motor burns, which fills the base, else 0.
    air_table : float64[3 n]
        See tabled_loads; empty to go by geometry.
    p, w : records
        w with the coefficients of this configuration.

    Returns
    -------
    force_x, force_y, force_z : lanes [N]
    moment_y, moment_z : lanes [N m]
        Nothing here turns the vehicle about its axis.

    Notes
    -----
    Normal force of a slender body: q A (slope) sin a cos a cos(a / 2), which is Jorgensen's
    sin 2a' cos(a' / 2) for a slope of 2 a radian; cross-flow: q (Cd area) sin^2 a.
    """
    nose_first = u > 0.0
    forward = absolute(u)
    speed = sqrt(fma(u, u, sum2(v, v, z, z)) + SMALL_SPEED * SMALL_SPEED)
    axial = where(nose_first, w.axial_nose - w.axial_base * burning, w.axial_tail)
    # slender body
    arm = where(nose_first, w.slope_nose_x, w.slope_tail_x) - cg_x
    slope = where(nose_first, w.slope_nose, w.slope_tail)
    half_angle = sqrt(0.5 + 0.5 * forward / speed)
    slender = half_density * slope * forward * half_angle
    slender_y = -slender * fma(rate_z, arm, v)
    slender_z = -slender * fma(-rate_y, arm, z)
    # cross-flow, where the side view has its middle
    side_arm = w.side_x - cg_x
    side_v, side_w = fma(rate_z, side_arm, v), fma(-rate_y, side_arm, z)
    side_speed = sqrt(sum2(side_v, side_v, side_w, side_w))
    cross = half_density * w.side * side_speed
    # the ends of the body move faster than its middle: strip theory, exact for pure turning and
    # for a small rate on a large cross-flow
    turning = sqrt(sum2(rate_y, rate_y, rate_z, rate_z))
    spin = half_density * sum2(w.side_third, turning, 2.0 * w.side_second, side_speed)
    # bluff parts
    bluff_arm = w.bluff_x - cg_x
    bluff = half_density * w.bluff * speed
    bluff_y = -bluff * fma(rate_z, bluff_arm, v)
    bluff_z = -bluff * fma(-rate_y, bluff_arm, z)
    damping = fma(half_density * w.bluff_second, speed, spin)
    cross_y, cross_z = -cross * side_v, -cross * side_w
    bluff_x = -bluff * u
    if len(air_table) > 0:  # the same for all lanes
        along, across_y, across_z, at = tabled_loads(
            u, v, z, rate_y, rate_z, cg_x, half_density, air_table, p
        )
        return (
            along + bluff_x,
            across_y + bluff_y,
            across_z + bluff_z,
            -sum3(across_z, at, bluff_z, bluff_arm, damping, rate_y),
            sum3(across_y, at, bluff_y, bluff_arm, -damping, rate_z),
        )
    return (
        fma(-half_density * axial * forward, u, bluff_x),
        slender_y + cross_y + bluff_y,
        slender_z + cross_z + bluff_z,
        -fma(damping, rate_y, sum3(slender_z, arm, cross_z, side_arm, bluff_z, bluff_arm)),
        fma(-damping, rate_z, sum3(slender_y, arm, cross_y, side_arm, bluff_y, bluff_arm)),
    )
