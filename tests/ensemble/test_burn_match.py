"""Landing burns straight down against powered descent by hand (R11; kinematics)."""

import math

import numpy as np
import pytest

from sim.ensemble.burn_match import Burn, burn_down, light_point, solve
from tests.outside import outside_check

G = 9.80665
HEIGHT = 50.0


def level_burn(ratio, end):
    """Constant thrust, no mass flow, no drag."""
    return Burn(np.array([0.0, end]), np.full(2, 1.5 * ratio * G), 0.0, 1.5, G)


@pytest.mark.parametrize(
    ("ratio", "height", "sink", "burn_time"),
    [
        # R11.2: drop from 50 m
        (1.3, 38.4615, 15.0435, 5.1134),
        (1.5, 33.3333, 18.0801, 3.6873),
        (1.8, 27.7778, 20.8770, 2.6611),
        (2.5, 20.0, 24.2569, 1.6490),
        (3.0, 16.6667, 25.5691, 1.3037),
    ],
)
def test_light_point__drop_from_rest(ratio, height, sink, burn_time):
    found = light_point(level_burn(ratio, burn_time))
    outside_check(
        what=f"height to light at, and top, dropped from 50 m, thrust to weight {ratio}",
        source="kinematics; R11.2, derived", expected=(height, HEIGHT),
        got=(found.height, found.apogee), relative=2e-4, unit="m",
    )  # fmt: skip
    outside_check(
        what=f"sink rate at the light, dropped from 50 m, thrust to weight {ratio}",
        source="kinematics; R11.2, derived", expected=sink, got=found.sink, relative=1e-4,
        unit="m/s",
    )  # fmt: skip


@pytest.mark.parametrize(("low", "speed"), [(0.01, 3.1316), (0.03, 5.4240), (0.05, 7.0024)])
@pytest.mark.parametrize("ratio", [1.5, 1.8, 3.0])
def test_burn_down__weak_thrust(low, speed, ratio):
    """R11.3: sqrt(2 g H e), whatever the thrust to weight."""
    at = HEIGHT / ratio
    sink = math.sqrt(2.0 * G * (HEIGHT - at))
    found, stopped = burn_down(level_burn(ratio, 30.0), at, sink, 1.0 - low)
    outside_check(
        what=f"touchdown with {100 * low:.0f} % too little thrust, thrust to weight {ratio}",
        source="kinematics; R11.3, derived", expected=speed, got=found, relative=1e-3, unit="m/s",
    )  # fmt: skip
    assert math.isnan(stopped)


@pytest.mark.parametrize(("high", "height"), [(0.01, 0.6112), (0.03, 1.7564), (0.05, 2.8090)])
def test_burn_down__strong_thrust_stops_above_the_ground(high, height):
    """R11.4, thrust to weight 1.8."""
    at = HEIGHT / 1.8
    sink = math.sqrt(2.0 * G * (HEIGHT - at))
    _, stopped = burn_down(level_burn(1.8, 30.0), at, sink, 1.0 + high)
    outside_check(
        what=f"height of the stop with {100 * high:.0f} % too much thrust, thrust to weight 1.8",
        source="kinematics; R11.4, derived", expected=height, got=stopped, relative=2e-3, unit="m",
    )  # fmt: skip


@pytest.mark.parametrize(("off", "speed"), [(0.1, 1.8789), (0.25, 2.9709), (1.0, 5.9417)])
def test_burn_down__height_known_high(off, speed):
    """R11.5, thrust to weight 1.8: lit so much lower than it should be."""
    at = HEIGHT / 1.8 - off
    sink = math.sqrt(2.0 * G * (HEIGHT - at))
    outside_check(
        what=f"touchdown when lit {off} m too low, thrust to weight 1.8",
        source="kinematics; R11.5, derived", expected=speed,
        got=burn_down(level_burn(1.8, 30.0), at, sink)[0], relative=2e-3, unit="m/s",
    )  # fmt: skip


@pytest.mark.parametrize(("late", "speed"), [(0.02, 3.8484), (0.05, 6.1061), (0.1, 8.6853)])
def test_burn_down__late_light(late, speed):
    """R11.6, thrust to weight 1.8."""
    at = HEIGHT / 1.8
    sink = math.sqrt(2.0 * G * (HEIGHT - at))
    found, _ = burn_down(level_burn(1.8, 30.0), at, sink, late=late)
    outside_check(
        what=f"touchdown when lit {1000 * late:.0f} ms late, thrust to weight 1.8",
        source="kinematics; R11.6, derived", expected=speed, got=found, relative=1e-3, unit="m/s",
    )  # fmt: skip


def test_light_point__with_mass_flow():
    """R11.7 (rocket equation): mass 1.5 kg, 0.02 kg/s, 25 N, to rest in 2.78648 s from 20 m/s."""
    end = 2.786480
    burn = Burn(np.array([0.0, end]), np.full(2, 25.0), 0.02 * end, 1.5, G)
    found = light_point(burn)
    source = "rocket equation with gravity; R11.7, derived"
    outside_check(
        what="sink rate that 25 N take out of 1.5 kg in 2.78648 s", source=source, expected=20.0,
        got=found.sink, relative=1e-4, unit="m/s",
    )  # fmt: skip
    outside_check(
        what="height over which they do", source=source, expected=28.280858, got=found.height,
        relative=1e-4, unit="m",
    )  # fmt: skip


def test_light_point__motor_too_weak_or_too_strong():
    assert light_point(level_burn(0.8, 2.0)).apogee == 0.0
    heavy_drag = Burn(np.array([0.0, 4.0]), np.full(2, 60.0), 0.0, 1.5, G, drag=0.05)
    assert math.isinf(light_point(heavy_drag).apogee)


def test_solve__root_and_none():
    assert solve(lambda x: x - 0.3, 0.0, 1.0) == pytest.approx(0.3, abs=1e-4)
    cut = solve(lambda x: math.inf if x > 0.6 else x - 0.3, 0.0, 1.0)
    assert cut == pytest.approx(0.3, abs=1e-4)
    assert math.isnan(solve(lambda x: x + 1.0, 0.0, 1.0))
