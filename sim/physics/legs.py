"""Legs in their planes: where the foot is, how it moves as the leg gives way, what the strut does.

A leg has one freedom: the angle by which a hinged leg has swung out and up from its open place, or
the length by which a telescoping one has been pushed in along its own line. The strut's stroke
follows from the geometry: a hinged leg carries it between a point of the body and a point of the
leg, so that lever ratio and scrub of the foot are what the drawing says.
"""

from __future__ import annotations

from sim.lanes import diff2, fma, part, sincos, sqrt, sum2

MOST_LEGS = 6

INPUTS = (
    "hinge_x", "hinge_radius",  # m, body coordinate and distance from the axis
    "anchor_x", "anchor_radius",  # m, where the strut is held on the body
    "strut_share",  # of the way from the hinge to the foot, where the strut holds the leg
    "strut_length", "strut_sign",  # m, of the open strut; 1 if it is pushed in, -1 if drawn out
    "leg_inertia",  # kg m2 of a hinged leg about its hinge, kg of a telescoping one
    "leg_latch_failure", "leg_stuck",  # 1, chances for each leg
)  # fmt: skip


@part
def hinged_leg(q, p):
    """Foot and strut of a hinged leg that has swung by q [rad].

    Returns
    -------
    x, radius : lanes [m]
        Of the foot.
    x_slope, radius_slope : lanes [m/rad]
    stroke, lever : lanes [m], [m/rad]
    """
    dx, dr = p.feet_x - p.hinge_x, p.feet_radius - p.hinge_radius
    sine, cosine = sincos(q)
    along, out = sum2(dx, cosine, dr, sine), diff2(dr, cosine, dx, sine)
    sx = fma(p.strut_share, along, p.hinge_x - p.anchor_x)
    sr = fma(p.strut_share, out, p.hinge_radius - p.anchor_radius)
    length = sqrt(sum2(sx, sx, sr, sr))
    stroke = p.strut_sign * (p.strut_length - length)
    lever = -p.strut_sign * p.strut_share * diff2(sx, out, sr, along) / length
    return p.hinge_x + along, p.hinge_radius + out, out, -along, stroke, lever


@part
def telescoping_leg(q, p):
    """Foot and strut of a telescoping leg pushed in by q [m]; as `hinged_leg`."""
    dx, dr = p.feet_x - p.hinge_x, p.feet_radius - p.hinge_radius
    scale = 1.0 / sqrt(dx * dx + dr * dr)
    ux, ur = dx * scale, dr * scale
    return p.feet_x - q * ux, p.feet_radius - q * ur, -ux, -ur, q, 1.0 + 0.0 * q
