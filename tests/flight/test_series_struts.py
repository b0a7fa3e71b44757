"""Two struts in series, through the whole flight loop."""

from __future__ import annotations

import numpy as np
import pytest

from tests.flight.eight import STANDARD_GRAVITY
from tests.flight.stool import HEIGHT, JUST, LANES, MASS, drop, stool_on

SPRING, CORE, PLATEAU = 2e3, 60e3, 30.0  # N/m, N/m, N
LEGS = 4


@pytest.fixture(scope="module")
def series():
    """Legs that are pushed straight up: a spring and, in series with it, a crush core."""
    return stool_on(
        "crush", "telescoping", "legs.hinge_radius=0.3 m", "legs.second_strut=spring",
        "legs.stroke=15 mm", "legs.second_stroke=40 mm", "legs.moving_mass=1 g",
        f"legs.stiffness={SPRING} N/m", "legs.damping=0 N s/m", f"legs.crush_force={PLATEAU} N",
        f"legs.crush_stiffness={CORE} N/m", "legs.joint_damping=0 N s/m",
    )  # fmt: skip


def crushed(speed):
    """How far the cores are crushed when all of the fall is taken up (energy, mechanics)."""
    elastic = PLATEAU**2 / 2.0 * (1.0 / SPRING + 1.0 / CORE)
    give = PLATEAU * (1.0 / SPRING + 1.0 / CORE)
    left = 0.5 * MASS * speed**2 + MASS * STANDARD_GRAVITY * give - LEGS * elastic
    return left / (LEGS * PLATEAU - MASS * STANDARD_GRAVITY)


def test_series__spring_and_core_share_stroke_and_bear_the_same_force(series):
    speed = np.linspace(1.2, 1.5, 8)
    flown = drop(
        series, settle=1.0, start_up=HEIGHT + JUST, start_velocity_up=-speed,
        ground_stiffness=5e5, steps=100,
    )
    # nothing beyond the plateau passes through the core, but for the foot's own inertia
    assert flown.outcomes["peak_strut_force"] == pytest.approx(PLATEAU, rel=0.02)
    touched = flown.outcomes["sink_rate"]
    wanted = PLATEAU * (1.0 / SPRING + 1.0 / CORE) + crushed(touched)
    # the light feet and the ground take their small share of the energy
    assert flown.outcomes["peak_stroke"] == pytest.approx(wanted, rel=0.03)


def test_series__below_the_plateau_it_springs_back_whole(series):
    flown = drop(
        series, settle=0.4, start_up=HEIGHT + JUST, start_velocity_up=np.full(8, -0.4),
        ground_stiffness=5e5, steps=100,
    )  # fmt: skip
    assert np.all(flown.outcomes["peak_strut_force"] < PLATEAU)
    # both springs are loaded by the same force: the stroke is that of their softness together
    softness = 1.0 / SPRING + 1.0 / CORE
    found = flown.outcomes["peak_stroke"] / flown.outcomes["peak_strut_force"]
    assert found == pytest.approx(np.full(8, softness), rel=0.02)
    assert len(LANES) == 8
