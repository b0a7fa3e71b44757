"""Ground under a point of the vehicle: normal force, friction that holds, spikes, the pad's edge.

The surface is a plane with the slope of the place, laid under the vehicle as it touches, so that a
flight ends at the mean height of the ground; beside a raised pad it lies lower by the pad's height.
Every point that touches has hold of the ground somewhere; what it has moved since is the elastic
shift of the ground along the surface.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.lanes import any_lane, clamp, maximum, minimum, not_, part, sqrt, sum2, sum3, where

INPUTS = (
    "ground_stiffness",  # N/m, or N/m^1.5 where the law is Hertz's
    "ground_hertz",  # flag
    "ground_damping",  # s/m, d of F = k x^n (1 + d v)
    "ground_dashpot",  # N s/m, of a linear dashpot beside the spring
    "friction_static", "friction_kinetic",  # 1
    "friction_speed",  # m/s, over which static friction falls to kinetic
    "bristle_stiffness", "bristle_damping",  # N/m, N s/m along the surface
    "foot_hold", "foot_pull_out", "foot_bite",  # N, N, m: spikes; their length
    "slope_east", "slope_north",  # 1, rise of the surface over distance
    "roughness",  # m, spread of the depth of the dips in which feet stand
    "stiffness_patches", "friction_patches",  # 1, spread from foot to foot
)  # fmt: skip


@part
def surface_height(east, north, up, p, w):
    """Height of the surface [m] that carries a point at this place, and whether it is the pad.

    A point more than halfway down the pad's side is beside it: it is not lifted onto the pad.
    """
    de, dn = east - p.pad_east, north - p.pad_north
    lean = sum2(p.slope_east, de, p.slope_north, dn) + w.ground_shift
    inside = sum2(de, de, dn, dn) <= p.pad_radius * p.pad_radius
    beside = (p.pad_up > 1e-6) & (up < lean + 0.5 * p.pad_up)
    on_pad = inside & not_(beside)
    return where(on_pad, p.pad_up, 0.0) + lean, on_pad


class Surface(NamedTuple):
    """What is the same all through a tick: normal, and what would be divided by again and again."""

    normal_east: float
    normal_north: float
    normal_up: float
    per_bite: float  # 1/m
    per_slow: float  # s2/m2, one over the square of friction_speed


@part
def surface_of(p):
    """Numbers of the surface that a tick sees as constant."""
    scale = 1.0 / sqrt(1.0 + p.slope_east * p.slope_east + p.slope_north * p.slope_north)
    return Surface(
        -p.slope_east * scale, -p.slope_north * scale, scale,
        1.0 / maximum(p.foot_bite, 1e-6), 1.0 / (p.friction_speed * p.friction_speed),
    )  # fmt: skip


@part
def normal_force(depth, rate, factor, ground, p):
    """Force of the ground along its normal [N]; it pushes, and pulls only on spikes.

    Parameters
    ----------
    depth, rate : lanes [m], [m/s]
        How far the point is in the ground, and how fast it goes deeper.
    factor : lanes [1]
        Stiffness of this spot over that of the surface.
    ground : Surface
    p : record

    Returns
    -------
    force, stiffness, damping : lanes [N], [N/m], [N s/m]
        And its change with depth and rate.

    Notes
    -----
    k x^n (1 + d v), n = 1 or 3/2: Hunt and Crossley, J. Applied Mechanics 42 (1975). With the
    linear dashpot contact ends when the force is zero (Schwager and Poeschel, Granular Matter 9
    (2007)).
    """
    x = maximum(depth, 0.0)
    hertz = p.ground_hertz > 0.5
    stiffness = p.ground_stiffness * factor
    if any_lane(hertz):
        stiffness = where(hertz, stiffness * sqrt(x), stiffness)
    elastic = stiffness * x
    gain = 1.0 + p.ground_damping * rate
    push = elastic * gain + p.ground_dashpot * rate
    bite = clamp(x * ground.per_bite, 0.0, 1.0)
    pull = p.foot_pull_out * bite * clamp(-rate * 50.0, 0.0, 1.0)
    pushes = (depth > 0.0) & (push > 0.0)
    return (
        where(depth > 0.0, maximum(push, 0.0) - pull, 0.0),
        where(pushes, stiffness * where(hertz, 1.5, 1.0) * maximum(gain, 0.0), 0.0),
        where(pushes, elastic * p.ground_damping + p.ground_dashpot, 0.0),
    )


@part
def friction_force(h, normal, depth, slip, bristle, factor, ground, p):
    """Force along the surface, and the shift that is left where it slips.

    Parameters
    ----------
    h : lanes [s]
    normal : lanes [N]
    depth : lanes [m]
        How far the point is in the ground: spikes hold by it.
    slip : tuple of three lanes [m/s]
        Velocity of the point along the surface.
    bristle : tuple of three lanes [m]
        Elastic shift along the surface since the point took hold.
    factor : lanes [1]
        Friction of this spot over that of the surface.
    ground : Surface
    p : record

    Returns
    -------
    force, bristle : tuples of three lanes [N], [m]
    less : lanes [N s/m]
        By how much less the force is for each m/s by which the point is quicker at the end of the
        step; of a sliding one that of a force which never turns it back.

    Notes
    -----
    Elastic until the force would exceed friction, then the shift is brought back onto the cone
    (P. A. Cundall and O. D. L. Strack, Geotechnique 29 (1979); from memory): a foot at rest below
    the friction angle does not creep. Friction falls from static to kinetic with the square of the
    slipping speed over friction_speed.
    """
    speed2 = sum3(slip[0], slip[0], slip[1], slip[1], slip[2], slip[2])
    ratio = speed2 * ground.per_slow
    e, n, u = bristle
    # roots of what is known already, beside the work on what is not
    speed = sqrt(speed2)
    pull = p.bristle_stiffness * sqrt(sum3(e, e, n, n, u, u))
    bite = clamp(depth * ground.per_bite, 0.0, 1.0)
    share = p.friction_kinetic + (p.friction_static - p.friction_kinetic) / (1.0 + ratio)
    most = sum2(factor * share, maximum(normal, 0.0), p.foot_hold, bite)
    slips = pull > most
    if any_lane(slips):
        kept = where(slips, most / maximum(pull, 1e-12), 1.0)
        e, n, u = kept * e, kept * n, kept * u
    fe = sum2(p.bristle_stiffness, e, p.bristle_damping, slip[0])
    fn = sum2(p.bristle_stiffness, n, p.bristle_damping, slip[1])
    fu = sum2(p.bristle_stiffness, u, p.bristle_damping, slip[2])
    total2 = sum3(fe, fe, fn, fn, fu, fu)
    much = total2 > most * most
    less = p.bristle_damping + 0.5 * h * p.bristle_stiffness
    slides = slips | much
    if any_lane(slides):
        held = where(much, most / maximum(sqrt(total2), 1e-12), 1.0)
        fe, fn, fu = held * fe, held * fn, held * fu
        less = where(slides, minimum(most / maximum(speed, 1e-12), less), less)
    return (-fe, -fn, -fu), (e, n, u), less
