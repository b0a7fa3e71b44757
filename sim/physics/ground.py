"""Ground under a point of the vehicle: normal force, friction that holds, spikes, the pad's edge.

The surface is a plane with the slope of the place, laid under the vehicle as it touches, so that a
flight ends at the mean height of the ground; beside a raised pad it lies lower by the pad's height.
Every point that may touch carries a bristle: the elastic shift of
the ground along the surface since it took hold.
"""

from __future__ import annotations

from sim.lanes import clamp, maximum, minimum, not_, part, sqrt, where

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
    lean = p.slope_east * de + p.slope_north * dn + w.ground_shift
    inside = de * de + dn * dn <= p.pad_radius * p.pad_radius
    beside = (p.pad_up > 1e-6) & (up < lean + 0.5 * p.pad_up)
    on_pad = inside & not_(beside)
    return where(on_pad, p.pad_up, 0.0) + lean, on_pad


@part
def normal_of(p):
    """Unit normal of the surface: east, north, up."""
    scale = 1.0 / sqrt(1.0 + p.slope_east * p.slope_east + p.slope_north * p.slope_north)
    return -p.slope_east * scale, -p.slope_north * scale, scale


@part
def normal_force(depth, rate, factor, p):
    """Force of the ground along its normal [N]; it pushes, and pulls only on spikes.

    Parameters
    ----------
    depth, rate : lanes [m], [m/s]
        How far the point is in the ground, and how fast it goes deeper.
    factor : lanes [1]
        Stiffness of this spot over that of the surface.
    p : record

    Notes
    -----
    k x^n (1 + d v), n = 1 or 3/2: Hunt and Crossley, J. Applied Mechanics 42 (1975). With the
    linear dashpot contact ends when the force is zero (Schwager and Poeschel, Granular Matter 9
    (2007)).
    """
    x = maximum(depth, 0.0)
    elastic = p.ground_stiffness * factor * where(p.ground_hertz > 0.5, x * sqrt(x), x)
    push = elastic * (1.0 + p.ground_damping * rate) + p.ground_dashpot * rate
    bite = clamp(x / maximum(p.foot_bite, 1e-6), 0.0, 1.0)
    pull = p.foot_pull_out * bite * clamp(-rate / 0.02, 0.0, 1.0)
    return where(depth > 0.0, maximum(push, 0.0) - pull, 0.0)


@part
def friction_force(h, normal, bite, slip, bristle, factor, p):
    """Force along the surface, and the bristle after this step.

    Parameters
    ----------
    h : lanes [s]
    normal : lanes [N]
    bite : lanes [1]
        Share of the spikes' hold.
    slip : tuple of three lanes [m/s]
        Velocity of the point along the surface.
    bristle : tuple of three lanes [m]
        Elastic shift at the end of the last step.
    factor : lanes [1]
        Friction of this spot over that of the surface.
    p : record

    Returns
    -------
    force, bristle : tuples of three lanes [N], [m]

    Notes
    -----
    Elastic until the force would exceed friction, then the shift is brought back onto the cone
    (P. A. Cundall and O. D. L. Strack, Geotechnique 29 (1979); from memory): a foot at rest below
    the friction angle does not creep. Friction falls from static to kinetic with the square of the
    slipping speed over friction_speed.
    """
    speed2 = slip[0] * slip[0] + slip[1] * slip[1] + slip[2] * slip[2]
    ratio = speed2 / (p.friction_speed * p.friction_speed)
    share = p.friction_kinetic + (p.friction_static - p.friction_kinetic) / (1.0 + ratio)
    most = factor * share * maximum(normal, 0.0) + p.foot_hold * bite
    e, n, u = bristle[0] + h * slip[0], bristle[1] + h * slip[1], bristle[2] + h * slip[2]
    pull = p.bristle_stiffness * sqrt(e * e + n * n + u * u)
    kept = where(pull > most, most / maximum(pull, 1e-12), 1.0)
    e, n, u = kept * e, kept * n, kept * u
    fe = p.bristle_stiffness * e + p.bristle_damping * slip[0]
    fn = p.bristle_stiffness * n + p.bristle_damping * slip[1]
    fu = p.bristle_stiffness * u + p.bristle_damping * slip[2]
    total = sqrt(fe * fe + fn * fn + fu * fu)
    held = minimum(most / maximum(total, 1e-12), 1.0)
    return (-held * fe, -held * fn, -held * fu), (e, n, u)
