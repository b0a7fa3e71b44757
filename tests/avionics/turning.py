"""Rotations in numpy, arrays (4, ...) and (3, ...), written apart from the lane code."""

from __future__ import annotations

import numpy as np


def multiply(a, b):
    (aw, ax, ay, az), (bw, bx, by, bz) = a, b
    return np.array(
        [
            aw * bw - ax * bx - ay * by - az * bz,
            aw * bx + ax * bw + ay * bz - az * by,
            aw * by - ax * bz + ay * bw + az * bx,
            aw * bz + ax * by - ay * bx + az * bw,
        ]
    )


def cross(a, b):
    (ax, ay, az), (bx, by, bz) = a, b
    return np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx])


def conjugate(q):
    return np.concatenate((q[:1], -q[1:]))


def exponential(turn):
    """Quaternion of a rotation vector."""
    angle = np.sqrt(np.sum(turn * turn, axis=0))
    return np.concatenate(([np.cos(angle / 2.0)], turn * np.sinc(angle / (2.0 * np.pi)) / 2.0))


def logarithm(q):
    """Rotation vector of a quaternion, the short way round."""
    q = np.where(q[0] < 0.0, -q, q)
    sine = np.sqrt(np.sum(q[1:] ** 2, axis=0))
    angle = 2.0 * np.arctan2(sine, q[0])
    return q[1:] * np.where(sine > 1e-12, angle / np.where(sine > 0.0, sine, 1.0), 2.0)


def to_local(q, v):
    u = q[1:]
    twice = 2.0 * cross(u, v)
    return v + q[0] * twice + cross(u, twice)


def to_body(q, v):
    return to_local(conjugate(q), v)


UPRIGHT = np.array([0.5, -0.5, -0.5, -0.5])  # x up, y east, z north
