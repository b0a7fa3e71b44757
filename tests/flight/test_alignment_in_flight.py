"""All nine alignments in whole flights, against their closed forms.

For a small constant attitude error th (local axes, believed less true) and a constant error db of
the zeroed accelerometers (body axes), the error of the believed place at time T is

    th x (r(T) - r(0) + g T^2 / 2 up)  +  the double integral of C db

with C the true attitude: without roll the second part grows as T^2 / 2, with roll it runs round.
Titterton and Weston, Strapdown Inertial Navigation Technology (2004), ch. 10 and 12; Groves,
Principles of GNSS, Inertial, and Multisensor Integrated Navigation Systems (2013), ch. 5; both from
memory; R4.8, R4.15, R4.16. With the true lean (a, c) of the nose towards body y and z, biases b and
level errors e, on the launch pad and in body axes turned upright:

    plumb      th = (c, -a)          side errors left: b, zeroed  (g a, g c)
    levelled   th = (bz, -by) / g    b, zeroed or not: levelled accelerometers read no side
    measured   th = (-ez, ey)        b, zeroed  (-g ey, -g ez)

and along the nose bx, or nothing when zeroed.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.flight.eight import STANDARD_GRAVITY
from tests.flight.reckoned import DEGREE, ideal, ways

ATTITUDES = ("plumb", "levelled", "measured")
ZEROINGS = ("none", "nose_axis", "all_axes")
NINE = [(attitude, zeroing) for attitude in ATTITUDES for zeroing in ZEROINGS]
# small, as the closed forms leave out products of them: a per cent of the error where they are
# a tenth of the demo vehicle's
ERRORS = [
    'launch_pad.tilt={ half_normal = "0.1 deg" }', "alignment.level_error=0 deg +/- 0.05 deg",
    "inertial.accelerometer.bias=0 mg +/- 1 mg",
]  # fmt: skip
# a motor that is off the axis and askew turns the vehicle about its axis, and no wheel holds it
ROLLING = [
    "wheels.torque=1e-9 N m", "ascent_motor.offset=4 mm", "ascent_motor.misalignment=1 deg",
    "vehicle.axial_inertia=5e-4 kg m2",
]  # fmt: skip
HEADINGS = np.linspace(0.0, 315.0, 8) * DEGREE


def body_errors(way, attitude, zeroing):
    """Attitude error (body y, z, of the upright vehicle) and error of the zeroed accelerometers."""
    v = way.values
    from_belly = v["launch_pad.tilt_direction"] - v["launch_pad.heading"]
    # body z is the belly, body y is on its right
    lean = v["launch_pad.tilt"] * np.array([np.sin(from_belly), np.cos(from_belly)])
    bias = np.array([v[f"inertial.accelerometer.bias.{axis}"] for axis in "xyz"])
    level = np.array([v[f"alignment.level_error.{axis}"] for axis in "yz"])
    missing = {"plumb": lean, "levelled": bias[1:] / STANDARD_GRAVITY, "measured": -level}[attitude]
    side = STANDARD_GRAVITY * missing if zeroing == "all_axes" else bias[1:]
    nose = bias[0] if zeroing == "none" else 0.0
    return np.array([missing[1], -missing[0]]), np.array([nose, *side])


def closed_form(way, attitude, zeroing):
    """Its two parts (n, 3)."""
    (about_y, about_z), force = body_errors(way, attitude, zeroing)
    heading = way.values["launch_pad.heading"]
    right = np.array([np.cos(heading), -np.sin(heading), 0.0])
    belly = np.array([np.sin(heading), np.cos(heading), 0.0])
    turned = np.cross(about_y * right + about_z * belly, way.fallen)
    return turned, way.reckoned(np.broadcast_to(force, way.place.shape))


def roll_angles(way):
    """How far body z has turned about the vertical since the start, every tick [rad]."""
    angle = np.unwrap(np.arctan2(way.attitude[:, 0, 2], way.attitude[:, 1, 2]))
    return angle - angle[0]


@pytest.mark.parametrize("rolling", [False, True], ids=["held", "rolling"])
@pytest.mark.parametrize(("attitude", "zeroing"), NINE)
def test_alignment__closed_form_at_contact_and_at_ignition(attitude, zeroing, rolling):
    scenario = ideal(
        *ERRORS, f"alignment.attitude={attitude}", f"alignment.zeroing={zeroing}",
        *(ROLLING if rolling else []),
    )  # fmt: skip
    flown = ways(scenario, 8, launch_pad__heading=HEADINGS)
    for way in flown:
        turned, pushed = closed_form(way, attitude, zeroing)
        moments = (-1, way.navigation_error), (way.ignition_row, way.ignition_error)
        for row, found in moments:
            # 1 % of the parts, which cancel in some: products of lean and bias are left out
            parts = np.hypot(np.linalg.norm(turned[row]), np.linalg.norm(pushed[row]))
            assert np.linalg.norm(found - turned[row] - pushed[row]) < 0.01 * parts + 5e-4
    rolled = np.abs([[roll_angles(way)[row] for row in (way.ignition_row, -1)] for way in flown])
    if rolling:
        assert np.median(rolled, axis=0).min() > 45.0 * DEGREE
    else:
        assert rolled.max() < 45.0 * DEGREE


@pytest.mark.parametrize(
    ("attitude", "zeroing"), [("plumb", "all_axes"), ("levelled", "nose_axis")]
)
def test_alignment__hides_its_tilt_until_it_rolls(attitude, zeroing):
    # R4.15: a tilt taken for a bias, or a bias taken for a tilt, cancels back at launch height
    sets = [*ERRORS, f"alignment.attitude={attitude}", f"alignment.zeroing={zeroing}"]
    shares = {}
    for name, more in {"held": [], "rolling": ROLLING}.items():
        shares[name] = []
        for way in ways(ideal(*sets, *more), 8, launch_pad__heading=HEADINGS):
            turned, _ = closed_form(way, attitude, zeroing)
            hidden = np.linalg.norm(turned[-1])
            shares[name].append(np.linalg.norm(way.navigation_error) / hidden)
    assert max(shares["held"]) < 0.1
    # double integral of exp(i w t): a steady roll through 1 rad brings back a third of the error
    assert np.median(shares["rolling"]) > 1.0 / 3.0
