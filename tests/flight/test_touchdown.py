"""The last second through the whole flight loop: restitution, sliding, holding, toppling, energy.

The stool is described in `tests.flight.stool`.
"""

from __future__ import annotations

import numpy as np
import pytest

from sim.flight_records import AT_REST, TIPPED
from tests.flight.eight import STANDARD_GRAVITY
from tests.flight.stool import EDGE, HEIGHT, INERTIA, JUST, LANES, MASS, drop, set_down, stool_on
from tests.outside import outside_check


@pytest.fixture(scope="module")
def stool():
    return stool_on("rigid")


def rebound(flown, lane):
    """Restitution of the first bounce: fastest up after the touch over the speed of the touch."""
    return float(np.max(flown["velocity_up"][:, lane])) / flown.outcomes["sink_rate"][lane]


# Hunt and Crossley (1975): exact for any exponent, stiffness and mass (derived, R8.12); R8.14
def test_hunt_crossley__restitution(stool):
    wanted = np.array([0.9, 0.8, 0.7, 0.5, 0.3, 0.9, 0.7, 0.3])
    needed = np.array(
        [0.166482, 0.373146, 0.634828, 1.432751, 3.087082, 0.166482, 0.634828, 3.087082]
    )
    speed = 2.0
    flown = drop(
        stool, gravity=0.0, start_velocity_up=-speed, ground_damping=needed / speed,
        ground_hertz=np.where(LANES >= 5, 1.0, 0.0), steps=50,
        ground_stiffness=np.where(LANES >= 5, 1e6, 5e4),
    )  # fmt: skip
    found = [rebound(flown, lane) for lane in LANES]
    outside_check(
        what="restitution with Hunt-Crossley damping, eight lanes",
        source="Hunt and Crossley (1975); R8.12 and R8.14, derived", expected=wanted, got=found,
        tolerance=3e-3, unit="1",
    )  # fmt: skip


# Schwager and Poeschel (2007), contact ends at zero force; R8.14
def test_spring_dashpot__restitution(stool):
    ratio = np.array([0.1, 0.2, 0.3, 0.5] * 2)
    stiffness = 5e4
    dashpot = 2.0 * ratio * np.sqrt(4.0 * stiffness * MASS) / 4.0
    flown = drop(
        stool, gravity=0.0, start_velocity_up=-1.0, ground_damping=0.0, ground_dashpot=dashpot,
        steps=100,
    )  # fmt: skip
    wanted = [0.744079, 0.571740, 0.450975, 0.298436] * 2
    outside_check(
        what="restitution of spring and dashpot, damping ratios 0.1 to 0.5",
        source="Schwager and Poeschel (2007); R8.14, from memory", expected=wanted,
        got=[rebound(flown, lane) for lane in LANES], tolerance=3e-3, unit="1",
    )  # fmt: skip


# v^2 / (2 mu g), mechanics; R8.17
def test_slide__distance(stool):
    speed = np.linspace(0.3, 1.0, 8)
    flown = drop(stool, settle=2.0, start_velocity_east=speed, ground_dashpot=100.0,
                 friction_static=0.25,
                 friction_kinetic=0.25, start_up=HEIGHT + JUST)  # fmt: skip
    assert np.all(flown.outcomes["ending"] == AT_REST)
    # the small fall onto the ground takes mu times its speed out of the sliding (impulse)
    sliding = speed - 0.25 * flown.outcomes["sink_rate"]
    wanted = sliding**2 / (2.0 * 0.25 * STANDARD_GRAVITY)
    moved = flown.outcomes["rest_east"] - flown.outcomes["landing_east"]
    outside_check(
        what="way slid from 0.3 to 1.0 m/s, friction 0.25", source="mechanics; R8.17, recomputed",
        expected=wanted, got=moved, tolerance=np.maximum(0.02 * wanted, 1e-3), unit="m",
    )  # fmt: skip
    assert flown.outcomes["slide_distance"] == pytest.approx(wanted, rel=0.03, abs=2e-3)


# holds while tan(slope) < mu; R8.17. The stool is set down parallel to the slope.
def test_slope__holds_below_the_friction_angle_and_slides_above(stool):
    slope = np.deg2rad([2.0, 5.0, 10.0, 12.0, 13.5, 15.5, 17.0, 20.0])
    friction = np.tan(np.deg2rad(14.5))
    flown = drop(
        stool, settle=10.0, slope_east=-np.tan(slope), friction_static=friction,
        friction_kinetic=friction, start_tilt=slope, start_tilt_direction=np.pi / 2,
        bristle_damping=30.0, start_up=set_down(slope), ground_dashpot=60.0,
    )  # fmt: skip
    outside_check(
        what="on slopes of 2 to 20 deg, friction angle 14.5 deg: holds, 1, or slides, 0",
        source="mechanics; R8.17", expected=slope < np.arctan(friction),
        got=flown.outcomes["ending"] == AT_REST, tolerance=0, unit="1",
    )  # fmt: skip


def test_slope__creeps_less_than_a_millimetre_in_ten_seconds(stool):
    slope = np.deg2rad(np.linspace(2.0, 11.0, 8))
    flown = drop(
        stool, settle=11.5, slope_east=-np.tan(slope), friction_static=np.tan(np.deg2rad(14.5)),
        friction_kinetic=0.2, still_time=10.0, start_tilt=slope, start_tilt_direction=np.pi / 2,
        bristle_damping=30.0, start_up=set_down(slope), ground_dashpot=60.0,
    )  # fmt: skip
    assert np.all(flown.outcomes["ending"] == AT_REST)
    for lane in LANES:
        rows = np.flatnonzero(flown["mass"][:, lane])[-1900:]  # the last 9.5 s
        assert np.ptp(flown["east"][rows, lane]) < 0.95e-3
        assert np.ptp(flown["up"][rows, lane]) < 0.95e-3


# atan(r / h), geometry; R9.2: 27.9384 deg for four legs, less the slope downhill
def test_static_tilt_limit(stool):
    limit = np.arctan(EDGE / HEIGHT)
    outside_check(
        what="static tilt limit of the stool's four feet", source="geometry; R9.2, recomputed",
        expected=27.9384, got=np.rad2deg(limit), tolerance=1e-4, unit="deg",
    )  # fmt: skip
    share = np.array([0.5, 0.8, 0.95, 0.985, 1.015, 1.03, 1.1, 1.3])
    # held at a tilt, then let go; the edge between two feet down (first azimuth 45 deg)
    flown = drop(
        stool, settle=3.0, start_tilt=share * limit, start_tilt_direction=np.pi / 2,
        start_up=set_down(share * limit),
        ground_damping=5.0, friction_static=2.0, friction_kinetic=2.0, ground_stiffness=5e5,
        bristle_stiffness=5e5, bristle_damping=100.0, steps=40,
    )  # fmt: skip
    tipped = flown.outcomes["ending"] == TIPPED
    outside_check(
        what="let go at 0.5 to 1.3 of the static tilt limit: tips, 1, or not, 0",
        source="geometry; R9.2, recomputed", expected=share > 1.0, got=tipped, tolerance=0,
        unit="1",
    )  # fmt: skip


# sqrt(2 g dh Ip / (m h^2)) with feet that stop dead; derived, R9.3 and R9.4: 1.35778 m/s
def test_tip_over_speed(stool):
    pole2 = HEIGHT**2 + EDGE**2
    rise = np.sqrt(pole2) - HEIGHT
    assert MASS * STANDARD_GRAVITY * rise == pytest.approx(0.776226, abs=1e-5)
    about_edge = INERTIA + MASS * pole2
    critical = np.sqrt(2.0 * STANDARD_GRAVITY * rise * about_edge / (MASS * HEIGHT**2))
    assert critical == pytest.approx(1.35778, abs=1e-5)
    share = np.array([0.7, 0.9, 0.96, 0.975, 1.025, 1.04, 1.1, 1.3])
    flown = drop(
        stool, settle=4.0, start_velocity_east=share * critical, start_up=HEIGHT + JUST,
        friction_static=50.0, friction_kinetic=50.0, ground_damping=3.0, ground_stiffness=1e6,
        bristle_stiffness=1e6, bristle_damping=600.0, steps=80,
    )  # fmt: skip
    tipped = flown.outcomes["ending"] == TIPPED
    outside_check(
        what="set down at 0.7 to 1.3 of the speed that tips: tips, 1, or not, 0",
        source="impulse and momentum; R9.3 and R9.4, derived", expected=share > 1.0, got=tipped,
        tolerance=0, unit="1",
    )  # fmt: skip


def energy_of(flown, lane):
    up = flown["up"][:, lane]
    speed2 = sum(flown[f"velocity_{axis}"][:, lane] ** 2 for axis in ("east", "north", "up"))
    rates = [flown[f"rate_{axis}"][:, lane] for axis in "xyz"]
    turning = 0.02 * rates[0] ** 2 + INERTIA * (rates[1] ** 2 + rates[2] ** 2)
    energy = MASS * STANDARD_GRAVITY * up + 0.5 * MASS * speed2 + 0.5 * turning
    free = flown["ground_load"][:, lane] == 0.0
    return energy[free & (flown["mass"][:, lane] > 0.0)]


def test_energy__is_kept_without_losses(stool):
    flown = drop(
        stool, settle=3.0, start_up=HEIGHT + 0.3, start_tilt=np.deg2rad(np.linspace(0.0, 8.0, 8)),
        friction_static=0.0, friction_kinetic=0.0, ground_damping=0.0,
        ground_stiffness=1e4, steps=50,
    )  # fmt: skip
    for lane in LANES:
        energy = energy_of(flown, lane)
        assert len(energy) > 50
        assert np.ptp(energy) < 1e-3 * MASS * STANDARD_GRAVITY * 0.3


def test_halving_the_step__changes_little(stool):
    changes = {
        "start_up": HEIGHT + 0.3, "start_tilt": np.deg2rad(np.linspace(0.0, 6.0, 8)),
        "start_velocity_east": 0.3,
    }  # fmt: skip
    coarse = drop(stool, settle=4.0, steps=20, **changes)
    fine = drop(stool, settle=4.0, steps=40, **changes)
    assert list(coarse.outcomes["ending"]) == list(fine.outcomes["ending"])
    for name in ("peak_strut_force", "peak_deceleration"):
        assert coarse.outcomes[name] == pytest.approx(fine.outcomes[name], rel=0.02)
