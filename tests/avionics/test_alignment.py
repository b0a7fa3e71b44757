"""All nine alignments against their closed forms.

For a constant small attitude error th (local axes, believed less true) and a constant error of the
zeroed accelerometers db, the position error after the time T is

    th x (r(T) - r(0) + g T^2 / 2 up)  +  the double integral of db turned into local axes

Titterton and Weston, Strapdown Inertial Navigation Technology, 2004, ch. 12; R4.8, R4.15, R4.16.
Heading 0: body y east, body z north, body x up. With true lean (a, c) of the nose towards y and z,
biases b, and level errors e:

    plumb      th = (c, -a, 0)             side errors left: b, zeroed  (g a, g c)
    levelled   th = (bz, -by, 0) / g       b, zeroed or not: levelled accelerometers read no side
    measured   th = (-ez, ey, 0)           b, zeroed  (-g ey, -g ez)

and along the nose bx, or nothing when zeroed.
"""

from __future__ import annotations

import numpy as np
import pytest

from sim.avionics.memory import LEVELLED, MEASURED, PLUMB
from tests.avionics.heron_numbers import DEGREE, heron
from tests.avionics.made_flights import REST, TIME, carried, samples
from tests.avionics.on_board import WIDTH, OnBoard

GRAVITY = 9.80665
# small, since the closed forms leave out products of them
LEAN = np.array([0.02, -0.013]) * DEGREE
BIAS = np.array([6e-4, -4e-4, 2.5e-4]) * GRAVITY
LEVEL = np.array([0.005, 0.008]) * DEGREE
LAWS = {"plumb": PLUMB, "levelled": LEVELLED, "measured": MEASURED}
ZEROINGS = {"none": (0.0, 0.0), "nose_axis": (1.0, 0.0), "all_axes": (1.0, 1.0)}
ERRORS = {
    **{f"inertial.accelerometer.bias.{axis}": b for axis, b in zip("xyz", BIAS, strict=True)},
    "alignment.level_error.y": LEVEL[0],
    "alignment.level_error.z": LEVEL[1],
}


def attitude_error(law):
    lean = {"plumb": LEAN, "levelled": BIAS[1:] / GRAVITY, "measured": -LEVEL}[law]
    return np.array([lean[1], -lean[0], 0.0])


def force_error(law, zeroing):
    """What is wrong with the zeroed accelerometers: body x, y, z."""
    nose, side = ZEROINGS[zeroing]
    zeroed = {"plumb": GRAVITY * LEAN, "levelled": BIAS[1:], "measured": -GRAVITY * LEVEL}[law]
    return np.array([(1.0 - nose) * BIAS[0], *(zeroed if side else BIAS[1:])])


def position_error(law, zeroing, rise, time, roll_rate):
    """The closed form; the body rolls from lift-off, so side errors run round."""
    th, (x, y, z) = attitude_error(law), force_error(law, zeroing)
    tilted = np.cross(th, [0.0, 0.0, rise + 0.5 * GRAVITY * time**2])
    if roll_rate:
        # double integrals of cos(w t) and sin(w t)
        w = roll_rate
        cosine, sine = (1.0 - np.cos(w * time)) / w**2, (time - np.sin(w * time) / w) / w
    else:
        cosine, sine = 0.5 * time**2, 0.0
    east, north = y * cosine - z * sine, y * sine + z * cosine
    return tilted + np.array([east, north, 0.5 * x * time**2])


@pytest.mark.parametrize("roll_rate", [0.0, 0.6])
def test_alignment__all_nine_at_landing_and_at_ignition(roll_rate):
    pairs = [(law, zeroing) for law in LAWS for zeroing in ZEROINGS]
    motion = samples(GRAVITY, roll_rate=roll_rate, lean=LEAN)
    scenario = heron({"alignment.wait": 1e9}, {"site.gravity": "standard"})
    for group in (pairs[:WIDTH], pairs[WIDTH:] * WIDTH):
        settings = {
            "attitude_law": [LAWS[law] for law, _ in group][:WIDTH],
            "zero_nose": [ZEROINGS[z][0] for _, z in group][:WIDTH],
            "zero_side": [ZEROINGS[z][1] for _, z in group][:WIDTH],
        }
        board = OnBoard(scenario, ERRORS, settings)
        way = carried(board, motion, keep=True)
        for moment in (len(way) - 1, round(0.8 * len(way))):  # at contact, and falling
            for lane, (law, zeroing) in enumerate(group[:WIDTH]):
                true = motion[2][moment]
                time = (moment + 1) * 0.005 - board.belief.lift_off_time[lane]
                expected = position_error(law, zeroing, true[2], time, roll_rate)
                found = way[moment, :, lane] - true
                scale = np.linalg.norm(expected)
                # 1 %, and the products of lean and bias: half a millimetre
                np.testing.assert_allclose(
                    found, expected, atol=0.01 * scale + 5e-4, err_msg=f"{law}, {zeroing}"
                )


def test_alignment__levelled_bias_cancels_at_launch_height():
    """The bias of a levelled unit hides its own tilt as long as nothing rolls; R4.15."""
    bias = {"inertial.accelerometer.bias.y": 0.1}
    for roll_rate, worst in ((0.0, 0.02), (0.6, None)):
        motion = samples(GRAVITY, roll_rate=roll_rate)
        scenario = heron(choices={"alignment.attitude": "levelled", "site.gravity": "standard"})
        end = carried(OnBoard(scenario, bias), motion)
        if worst:
            assert np.abs(end[:2]).max() < worst
        else:
            assert np.hypot(end[0], end[1]).min() > 3.0


def test_alignment__heading_error_turns_the_way():
    """Everything sideways is turned about the launch point; nothing happens to the height."""
    error = 2.0 * DEGREE
    motion = samples(GRAVITY, sideways=8.0, attitude=lambda t: (0.0, 0.1 * np.sin(t), 0.05 * t))
    scenario = heron(choices={"site.gravity": "standard"})
    way = carried(OnBoard(scenario, {"alignment.heading_error": error}), motion, keep=True)
    middle = round((REST + 0.5 * TIME) / 0.005)
    east, north, up = way[middle, :, 0]
    true = motion[2][middle]
    # believed to point farther east than it does: what went east is believed to go south of east
    np.testing.assert_allclose(
        [east, north], [8.0 * np.cos(error), -8.0 * np.sin(error)], atol=2e-3
    )
    np.testing.assert_allclose(up, true[2], atol=1e-3)
