"""Drag and gravity in the whole flight loop: a dropped sphere, a shot straight up, a touch."""

from __future__ import annotations

import numpy as np
import pytest

from sim.physics import aerodynamics
from tests.flight.eight import STANDARD_GRAVITY, fly_eight

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
    assert up == pytest.approx(height, abs=0.01 * FOOT)
    assert -sinking == pytest.approx(speed, abs=1e-3 * FOOT)


def test_dropped_sphere__near_the_published_flight(sphere):
    # the published rates' spread between tools is 0.03 % of the peak and more; R1.18
    up, sinking = sphere.at(30.0, 0, "up", "velocity_up")
    assert up / FOOT == pytest.approx(16231.30691, abs=0.01)
    assert -sinking / FOOT == pytest.approx(867.1047769, abs=1e-3)


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
    assert shot.time[last] + 0.005 * share == pytest.approx(2.596067, abs=1e-6)
    top = shot["up"][last, lane] + 0.5 * speed[0] * share * 0.005
    assert top - 1000.0 == pytest.approx(35.802751, abs=1e-6)
    assert shot.outcomes["apogee_time"][lane] == pytest.approx(2.596067, abs=1e-5)
    assert shot.outcomes["apogee_height"][lane] - 1000.0 == pytest.approx(35.802751, abs=1e-5)


def test_vertical_shot__back_at_the_start(shot):
    height, speed = shot["up"][:, 0] - 1000.0, shot["velocity_up"][:, 0]
    after = int(np.flatnonzero(height < 0.0)[0])
    # to the start from the row after it, with the speed and acceleration there
    pull = (speed[after] - speed[after - 1]) / 0.005
    back = height[after] / speed[after]
    back = height[after] / (speed[after] - 0.5 * pull * back)
    assert shot.time[after] - back == pytest.approx(2.596067 + 2.810838, abs=3e-6)
    assert -(speed[after] - pull * back) == pytest.approx(23.629889, abs=1e-4)


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
    assert flown.outcomes["contact_time"] == pytest.approx(time, abs=1e-7)
    assert flown.outcomes["sink_rate"] == pytest.approx(STANDARD_GRAVITY * time, abs=1e-6)
    assert flown.outcomes["lateral_speed"] == pytest.approx(np.full(8, 2.0), abs=1e-12)
