"""Mechanical energy of the stool along a trace that has a row for every contact step or two.

Reckoned from places and rates alone: movement of the body, its height, the sliding or swinging of
the legs, the springs of struts, stops and ground. What a trace does not show is left out: the
elastic shift of the ground along the surface, and what sticks elastically in a strut.
"""

from __future__ import annotations

import numpy as np

from tests.flight.eight import STANDARD_GRAVITY
from tests.flight.stool import AXIAL, CG_X, FOOT_RADIUS, FOOT_X, INERTIA, MASS, input_of

AZIMUTHS = np.deg2rad(45.0 + 90.0 * np.arange(4))


def leg_table(stool, hinged):
    """Freedom of a leg, with foot (x, radius) and stroke of the strut, over all it may do."""
    get = {name: input_of(stool, name) for name in (
        "hinge_x", "hinge_radius", "anchor_x", "anchor_radius", "strut_share"
    )}  # fmt: skip
    dx, dr = FOOT_X - get["hinge_x"], FOOT_RADIUS - get["hinge_radius"]
    if not hinged:
        q = np.linspace(-0.02, 0.08, 2001)
        length = np.hypot(dx, dr)
        return q, FOOT_X - q * dx / length, FOOT_RADIUS - q * dr / length, q
    q = np.linspace(-0.3, 0.6, 9001)
    # swings out and up: from straight down (x = -1) towards out (radius = 1)
    angle = np.arctan2(dr, -dx) + q
    reach = np.hypot(dx, dr)
    x, radius = get["hinge_x"] - reach * np.cos(angle), get["hinge_radius"] + reach * np.sin(angle)
    hold_x = get["hinge_x"] + get["strut_share"] * (x - get["hinge_x"])
    hold_r = get["hinge_radius"] + get["strut_share"] * (radius - get["hinge_radius"])
    strut = np.hypot(hold_x - get["anchor_x"], hold_r - get["anchor_radius"])
    stroke = np.abs(strut - np.interp(0.0, q, strut)) * np.sign(q)
    return q, x, radius, stroke


def slope_of(series, time):
    """Derivative by fourth-order differences at even times; zero at the two ends."""
    step = time[1] - time[0]
    slope = np.zeros_like(series)
    slope[2:-2] = 8.0 * (series[3:-1] - series[1:-3]) - (series[4:] - series[:-4])
    return slope / (12.0 * step)


def energy(flown, stool, lane, *, changes, hinged=False, strut_energy=None):
    """Energy [J] at each time of the trace but two at the ends, and the rows used.

    Parameters
    ----------
    changes : dict of str to float or array
        Inputs of the kernel that the drop changed.
    strut_energy : callable
        Of the stroke [m]; by default that of the spring.
    """

    def number(name):
        value = changes.get(name, input_of(stool, name))
        return np.broadcast_to(value, 8)[lane]

    rows = np.flatnonzero(flown["mass"][:, lane])
    time = flown.time[rows]

    def of(name):
        return flown[name][rows, lane]

    speed2 = sum(of(f"velocity_{axis}") ** 2 for axis in ("east", "north", "up"))
    turning = AXIAL * of("rate_x") ** 2 + INERTIA * (of("rate_y") ** 2 + of("rate_z") ** 2)
    total = MASS * STANDARD_GRAVITY * of("up") + 0.5 * MASS * speed2 + 0.5 * turning
    q0, q1, q2, q3 = (of(f"quaternion_{i}") for i in range(4))
    up_x, up_y = 2.0 * (q1 * q3 - q0 * q2), 2.0 * (q2 * q3 + q0 * q1)
    up_z = q0**2 - q1**2 - q2**2 + q3**2
    table, xs, radii, strokes = leg_table(stool, hinged)
    rigid = not np.any(flown["stroke_0"])
    for leg, azimuth in enumerate(AZIMUTHS):
        stroke = of(f"stroke_{leg}")
        q = np.interp(stroke, strokes, table)
        x, radius = np.interp(q, table, xs), np.interp(q, table, radii)
        up = of("up") + up_x * (x - CG_X)
        up += radius * (np.cos(azimuth) * up_y + np.sin(azimuth) * up_z)
        total = total + 0.5 * number("ground_stiffness") * np.maximum(-up, 0.0) ** 2
        if rigid:
            continue
        rate = slope_of(q, time)
        total += 0.5 * number("leg_inertia") * rate**2
        over = np.maximum(stroke - number("strut_stroke"), 0.0)
        total += 0.5 * number("stop_stiffness") * (over**2 + np.minimum(stroke, 0.0) ** 2)
        spring = number("strut_rate") if stool.choices["legs.strut"] == "spring" else 0.0
        stiffness = number("beside_rate") + spring
        total += number("strut_preload") * stroke + 0.5 * stiffness * stroke**2
        if strut_energy is not None:
            total += strut_energy(stroke)
    return total[2:-2], rows[2:-2]
