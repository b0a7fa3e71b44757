"""First touch: which listed point of the vehicle is lowest, and how far above the ground it is.

Points: the feet, the rim of the nozzle, the tail ring, the tip of the nose. The ground is level at
height zero, the landing pad a disc of its own height.
"""

from __future__ import annotations

from sim.lanes import minimum, part, room, sqrt, where

NO_POINT, FOOT, NOZZLE, TAIL_RING, NOSE = range(5)

INPUTS = (
    "feet_radius", "feet_x", "folded_feet_radius", "folded_feet_x",  # m
    "nozzle_radius", "stack_tail_radius", "core_tail_radius",  # m
    "stack_tail_x", "core_tail_x", "nose_x",  # m, body coordinates
    "pad_east", "pad_north", "pad_up", "pad_radius",  # m, landing pad
)  # fmt: skip


@part
def ground_height(east, north, p):
    """Height of the surface [m] under a point: the landing pad's, or zero beside it."""
    de, dn = east - p.pad_east, north - p.pad_north
    return where(de * de + dn * dn <= p.pad_radius * p.pad_radius, p.pad_up, 0.0)


@part
def foot_above(r, state, cg_x, cg_y, cg_z, x, radius, sine, cosine, p):
    """Height of one foot above the surface under it [m]."""
    dx, dy, dz = x - cg_x, radius * cosine - cg_y, radius * sine - cg_z
    east = state.east + r.xx * dx + r.xy * dy + r.xz * dz
    north = state.north + r.yx * dx + r.yy * dy + r.yz * dz
    up = state.up + r.zx * dx + r.zy * dy + r.zz * dz
    return up - ground_height(east, north, p)


@part
def rim_above(r, state, cg_x, x, radius, p):
    """Height of the lowest point of a ring round the axis above the surface [m]."""
    along = x - cg_x
    across = sqrt(r.zy * r.zy + r.zz * r.zz)
    east, north = state.east + r.xx * along, state.north + r.yx * along
    return state.up + r.zx * along - radius * across - ground_height(east, north, p)


@room
def lowest_point(r, state, cg_x, cg_y, cg_z, stage_attached, legs_open, legs, p):
    """Height of the lowest listed point above the surface, and which it is.

    Parameters
    ----------
    r : Rotation
    state : State
    cg_x, cg_y, cg_z, stage_attached, legs_open : lanes
    legs : float64[2 n]
        Sines, then cosines, of the feet's azimuths about the axis from body y towards z.
    p : record

    Returns
    -------
    gap : lanes [m]
    point : lanes
        FOOT, NOZZLE, TAIL_RING or NOSE, as a number.
    """
    count = len(legs) // 2
    gap = state.up + 1e9
    open_legs = legs_open > 0.5
    x = where(open_legs, p.feet_x, p.folded_feet_x)
    radius = where(open_legs, p.feet_radius, p.folded_feet_radius)
    for leg in range(count):
        sine, cosine = legs[leg], legs[leg + count]
        gap = minimum(gap, foot_above(r, state, cg_x, cg_y, cg_z, x, radius, sine, cosine, p))
    point = where(gap < 1e8, FOOT + 0.0, NO_POINT + 0.0)
    stage = stage_attached > 0.5
    tail_x = where(stage, p.stack_tail_x, p.core_tail_x)
    tail_radius = where(stage, p.stack_tail_radius, p.core_tail_radius)
    nozzle = rim_above(
        r, state, cg_x, where(stage, p.ascent_exit_x, p.landing_exit_x), p.nozzle_radius, p
    )
    point = where(nozzle < gap, NOZZLE + 0.0, point)
    gap = minimum(gap, nozzle)
    tail = rim_above(r, state, cg_x, tail_x, tail_radius, p)
    point = where(tail < gap, TAIL_RING + 0.0, point)
    gap = minimum(gap, tail)
    nose = rim_above(r, state, cg_x, p.nose_x, 0.0, p)
    point = where(nose < gap, NOSE + 0.0, point)
    return minimum(gap, nose), point
