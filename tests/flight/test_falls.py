"""Drag and gravity in the whole flight loop: a dropped sphere, a shot straight up, a touch."""

from __future__ import annotations

import numpy as np
import pytest

from sim.physics import aerodynamics
from tests.flight.eight import STANDARD_GRAVITY, fly_eight
from tests.outside import outside_check

FOOT = 0.3048
SEA_LEVEL_DENSITY = 1.225  # kg/m3
CENTRE = -0.25  # m, body coordinate of the centre of gravity of the body in brick.toml


def ball(drag_area):
    """The same drag from all sides, at the centre of gravity, and nothing else."""
    smooth = dict.fromkeys(aerodynamics.INPUTS, 0.0)
    return smooth | {"petals_open_at_start": 1.0, "petals_area": drag_area, "petals_x": CENTRE}


# NASA/TM-2015-218675, vol. II, tables 1, 2 and 73, check-case 4; R1.12, R1.14, R1.20
EARTH_GM, EARTH_RADIUS = 3.986004418e14, 6371007.1809
SPHERE_MASS, SPHERE_DRAG_AREA = 14.593903, 0.1 * 0.01824147


@pytest.fixture(scope="module")
def sphere():
    """Lane 0 falls in gravity of the inverse square, to second order in height; lane 1 in g0."""
    near = np.arange(8) == 0
    changes = {
        "core_mass": SPHERE_MASS, "start_up": 30000.0 * FOOT, "air_density": SEA_LEVEL_DENSITY,
        "gravity": np.where(near, EARTH_GM / EARTH_RADIUS**2, STANDARD_GRAVITY),
        "gravity_slope": np.where(near, -2.0 * EARTH_GM / EARTH_RADIUS**3, 0.0),
        "gravity_curvature": np.where(near, 3.0 * EARTH_GM / EARTH_RADIUS**4, 0.0),
    }  # fmt: skip
    return fly_eight(changes=changes | ball(SPHERE_DRAG_AREA), longest=30.0)


# check-case 4 as published is 16231.30691 ft and 867.1047769 ft/s (R1.17); R1.20 is what the
# equations give, and the difference to constant gravity
@pytest.mark.parametrize(
    ("lane", "height", "speed"), [(0, 4947.3020, 264.29359), (1, 4942.3277, 264.52192)]
)
def test_dropped_sphere__height_and_speed_after_30_s(sphere, lane, height, speed):
    up, sinking = sphere.at(30.0, lane, "up", "velocity_up")
    case = ("inverse square", "constant")[lane]
    source = "NASA/TM-2015-218675, check-case 4, its equations; R1.20, recomputed"
    outside_check(
        what=f"height of the dropped sphere after 30 s, {case} gravity", source=source,
        expected=height, got=up, tolerance=0.01 * FOOT, unit="m",
    )  # fmt: skip
    outside_check(
        what=f"its sink rate, {case} gravity", source=source, expected=speed, got=-sinking,
        tolerance=1e-3 * FOOT, unit="m/s",
    )  # fmt: skip


def test_dropped_sphere__near_the_published_flight(sphere):
    # the published rates' spread between tools is 0.03 % of the peak and more; R1.18
    up, sinking = sphere.at(30.0, 0, "up", "velocity_up")
    source = "NASA/TM-2015-218675, check-case 4, published flight; R1.17"
    outside_check(
        what="height of the dropped sphere after 30 s", source=source, expected=16231.30691,
        got=up / FOOT, tolerance=0.01, unit="ft",
    )  # fmt: skip
    outside_check(
        what="sink rate of the dropped sphere after 30 s", source=source, expected=867.1047769,
        got=-sinking / FOOT, tolerance=1e-3, unit="ft/s",
    )  # fmt: skip


@pytest.fixture(scope="module")
def shot():
    """Straight up with 30 m/s in air of one density, drag 0.01 v^2, 1.5 kg."""
    changes = {
        "core_mass": 1.5, "start_velocity_up": 30.0, "gravity": STANDARD_GRAVITY,
        "air_density": SEA_LEVEL_DENSITY, "air_temperature": 1e12,
        "start_tilt": 0.3 * np.arange(8),
    }  # fmt: skip
    changes |= ball(2.0 * 0.01 / SEA_LEVEL_DENSITY)
    return fly_eight(changes=changes, longest=6.0)


# any text on mechanics; R1.11. Formulas and their numbers, from memory.
def test_vertical_shot__top(shot):
    lane = 3
    rising = shot["velocity_up"][:, lane] > 0.0
    last = int(np.flatnonzero(rising)[-1])
    speed = shot["velocity_up"][last : last + 2, lane]
    share = speed[0] / (speed[0] - speed[1])
    source = "closed form, any mechanics text; R1.11, from memory"
    told = shot.outcomes
    top = shot["up"][last, lane] + 0.5 * speed[0] * share * 0.005
    outside_check(
        what="time to the top of a shot with drag: trace, outcome", source=source,
        expected=(2.596067, 2.596067),
        got=(shot.time[last] + 0.005 * share, told["apogee_time"][lane]), tolerance=(1e-6, 1e-5),
        unit="s",
    )  # fmt: skip
    outside_check(
        what="height of the top of a shot with drag: trace, outcome", source=source,
        expected=(35.802751, 35.802751),
        got=(top - 1000.0, told["apogee_height"][lane] - 1000.0), tolerance=(1e-6, 1e-5), unit="m",
    )  # fmt: skip


def test_vertical_shot__back_at_the_start(shot):
    height, speed = shot["up"][:, 0] - 1000.0, shot["velocity_up"][:, 0]
    after = int(np.flatnonzero(height < 0.0)[0])
    # to the start from the row after it, with the speed and acceleration there
    pull = (speed[after] - speed[after - 1]) / 0.005
    back = height[after] / speed[after]
    back = height[after] / (speed[after] - 0.5 * pull * back)
    source = "closed form, any mechanics text; R1.11, from memory"
    outside_check(
        what="time until a shot with drag is back", source=source, expected=2.596067 + 2.810838,
        got=shot.time[after] - back, tolerance=3e-6, unit="s",
    )  # fmt: skip
    outside_check(
        what="sink rate of a shot with drag when back", source=source, expected=23.629889,
        got=-(speed[after] - pull * back), tolerance=1e-4, unit="m/s",
    )  # fmt: skip


def test_ball__falls_the_same_whatever_its_attitude(shot):
    assert shot["up"] == pytest.approx(np.repeat(shot["up"][:, :1], 8, axis=1), abs=1e-8)


def test_first_touch__is_found_on_the_ground_itself():
    # free fall: speed and time from the height (Torricelli), the nose 0.25 m ahead of the centre
    heights = np.linspace(3.0, 30.0, 8)
    flown = fly_eight(
        changes={
            "start_up": heights, "gravity": STANDARD_GRAVITY, "start_tilt": np.pi,
            "start_velocity_east": 2.0, "start_rate_x": 0.0, "start_rate_y": 0.0,
        },
        longest=4.0,
    )  # fmt: skip
    fall = heights - 0.25
    time = np.sqrt(2.0 * fall / STANDARD_GRAVITY)
    outside_check(
        what="time of first touch after a free fall of 3 to 30 m", source="Torricelli; mechanics",
        expected=time, got=flown.outcomes["contact_time"], tolerance=1e-7, unit="s",
    )  # fmt: skip
    outside_check(
        what="sink rate at first touch after a free fall of 3 to 30 m",
        source="Torricelli; mechanics", expected=STANDARD_GRAVITY * time,
        got=flown.outcomes["sink_rate"], tolerance=1e-6, unit="m/s",
    )  # fmt: skip
    assert flown.outcomes["lateral_speed"] == pytest.approx(np.full(8, 2.0), abs=1e-12)
