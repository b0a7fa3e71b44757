"""Attitude: unit quaternions, scalar first, that turn body axes into local ones (ENU).

Body axes: x forward along the nose, y right, z down when the vehicle lies level (ISO 1151). Upright
on the launch pad with heading 0, body x points up, y east and z north.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.lanes import diff2, fma, part, sincos, sum2, sum3


class Quaternion(NamedTuple):
    q0: float
    q1: float
    q2: float
    q3: float


class Rotation(NamedTuple):
    """Rotation matrix, body to local: east = xx * x + xy * y + xz * z, and so on."""

    xx: float
    xy: float
    xz: float
    yx: float
    yy: float
    yz: float
    zx: float
    zy: float
    zz: float


@part
def rotation_of(q0, q1, q2, q3):
    """Matrix of a unit quaternion. Source: Kuipers, Quaternions and Rotation Sequences (1999)."""
    a, b, c = q1 + q1, q2 + q2, q3 + q3
    return Rotation(
        1.0 - sum2(b, q2, c, q3), diff2(a, q2, c, q0), sum2(a, q3, b, q0),
        sum2(a, q2, c, q0), 1.0 - sum2(a, q1, c, q3), diff2(b, q3, a, q0),
        diff2(a, q3, b, q0), sum2(b, q3, a, q0), 1.0 - sum2(a, q1, b, q2),
    )  # fmt: skip


@part
def to_local(r, x, y, z):
    """A body vector in local axes."""
    return (
        sum3(r.xx, x, r.xy, y, r.xz, z),
        sum3(r.yx, x, r.yy, y, r.yz, z),
        sum3(r.zx, x, r.zy, y, r.zz, z),
    )


@part
def to_body(r, east, north, up):
    """A local vector in body axes."""
    return (
        sum3(r.xx, east, r.yx, north, r.zx, up),
        sum3(r.xy, east, r.yy, north, r.zy, up),
        sum3(r.xz, east, r.yz, north, r.zz, up),
    )


@part
def multiply(a0, a1, a2, a3, b0, b1, b2, b3):
    """Quaternion product a b: first b, then a, when both turn vectors."""
    return Quaternion(
        fma(a0, b0, -sum3(a1, b1, a2, b2, a3, b3)),
        fma(a0, b1, fma(a1, b0, diff2(a2, b3, a3, b2))),
        fma(a0, b2, fma(a2, b0, diff2(a3, b1, a1, b3))),
        fma(a0, b3, fma(a3, b0, diff2(a1, b2, a2, b1))),
    )


@part
def product(a, b):
    """Quaternion product of two Quaternions."""
    return multiply(a.q0, a.q1, a.q2, a.q3, b.q0, b.q1, b.q2, b.q3)


@part
def turned(axis_x, axis_y, axis_z, angle):
    """Quaternion of a turn by an angle [rad] about a unit axis."""
    sine, cosine = sincos(0.5 * angle)
    return Quaternion(cosine, axis_x * sine, axis_y * sine, axis_z * sine)


@part
def upright(tilt, tilt_direction, heading):
    """Attitude of a vehicle that stands with its nose up.

    Parameters
    ----------
    tilt : lanes [rad]
        Of the long axis from the vertical.
    tilt_direction : lanes [rad]
        Where the nose leans, east of north.
    heading : lanes [rad]
        Where body z points when the tilt is zero, east of north.

    Returns
    -------
    Quaternion
        Body to local.
    """
    # a third of a turn about (1, 1, 1) takes x to up, y to east, z to north
    first = Quaternion(0.5 + 0.0 * tilt, -0.5 + 0.0 * tilt, -0.5 + 0.0 * tilt, -0.5 + 0.0 * tilt)
    about_up = turned(0.0, 0.0, 1.0, -heading)
    sine, cosine = sincos(tilt_direction)
    lean = turned(-cosine, sine, 0.0, tilt)  # up x direction, so that the nose moves that way
    turn = product(lean, about_up)
    return product(turn, first)


@part
def at_unit_length(q0, q1, q2, q3):
    """The same attitude at length one, of a quaternion that a step has left near it.

    1 / sqrt(1 + e) by its series: e is below 1e-6 after a step of flight, below 1e-3 after one on
    the ground, and what is left of it, 5/16 of its cube, is taken out by the next step.
    """
    e = fma(q0, q0, sum3(q1, q1, q2, q2, q3, q3)) - 1.0
    scale = 1.0 - e * (0.5 - 0.375 * e)
    return Quaternion(q0 * scale, q1 * scale, q2 * scale, q3 * scale)
