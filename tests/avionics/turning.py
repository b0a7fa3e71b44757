"""Rotations in numpy, arrays (4, ...) and (3, ...), written apart from the lane code."""

from __future__ import annotations

import numpy as np


def multiply(a, b):
    (aw, *av), (bw, *bv) = a, b
    av, bv = np.array(av), np.array(bv)
    across = np.cross(av, bv, axis=0)
    return np.concatenate(([aw * bw - np.sum(av * bv, axis=0)], aw * bv + bw * av + across))


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
    pure = np.concatenate((np.zeros_like(q[:1]), v))
    return multiply(multiply(q, pure), conjugate(q))[1:]


def to_body(q, v):
    return to_local(conjugate(q), v)


UPRIGHT = np.array([0.5, -0.5, -0.5, -0.5])  # x up, y east, z north
