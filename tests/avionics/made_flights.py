"""Motions given by formula, and what an ideal inertial unit would feel along them."""

from __future__ import annotations

import numpy as np

from tests.avionics.on_board import STEP
from tests.avionics.turning import UPRIGHT, conjugate, exponential, logarithm, multiply, to_body

REST = 0.25  # s on the launch pad before the motion starts
TIME = 10.0  # s of motion
APOGEE = 60.0  # m


def height(t):
    """z = 60 sin^2(pi t / T): the profile of R4.16 and R4.17, up and down in ten seconds."""
    return APOGEE * np.sin(np.pi * t / TIME) ** 2


def climb_rate(t):
    return APOGEE * np.pi / TIME * np.sin(2.0 * np.pi * t / TIME)


def samples(gravity, roll_rate=0.0, attitude=None, sideways=0.0, lean=(0.0, 0.0)):
    """Rates (n, 3), forces (n, 3), positions (n, 3) at the end of each interval.

    attitude(t) gives a rotation vector in body axes on top of standing upright with body y east
    and z north; sideways is an amplitude of a way east and back; lean is the true lean of the nose
    towards body y and z, kept throughout (the motion is as it is in local axes).
    """
    leaned = exponential(np.array([0.0, -lean[1], lean[0]]))
    start = multiply(UPRIGHT, leaned)

    def state(t):
        t = max(t, 0.0)
        position = np.array([sideways * np.sin(np.pi * t / TIME) ** 2, 0.0, height(t)])
        east = sideways * np.pi / TIME * np.sin(2.0 * np.pi * t / TIME)
        turn = np.array([roll_rate * t, 0.0, 0.0])
        q = multiply(start, exponential(turn))
        if attitude is not None:
            q = multiply(q, exponential(np.array(attitude(t))))
        return position, np.array([east, 0.0, climb_rate(t)]), q

    down = np.array([0.0, 0.0, -gravity])
    rates, forces, positions = [], [], []
    before = state(-REST)
    for k in range(round((REST + TIME) / STEP)):
        after = state((k + 1) * STEP - REST)
        turn = logarithm(multiply(conjugate(before[2]), after[2]))
        middle = multiply(before[2], exponential(turn / 2.0))
        rates.append(turn / STEP)
        forces.append(to_body(middle, (after[1] - before[1]) / STEP - down))
        positions.append(after[0])
        before = after
    resting = to_body(start, -down)
    return np.array(rates), np.array(forces), np.array(positions), resting


def carried(board, motion, keep=False):
    """Carry a unit along; returns believed positions (3, width) at the end, or all of them."""
    rates, forces, _, resting = motion
    board.begin(resting)
    way = []
    for rate, force in zip(rates, forces, strict=True):
        board.tick(rate, force)
        if keep:
            way.append(
                [board.belief.east.copy(), board.belief.north.copy(), board.belief.up.copy()]
            )
    return (
        np.array(way)
        if keep
        else np.array([getattr(board.belief, n) for n in ("east", "north", "up")])
    )
