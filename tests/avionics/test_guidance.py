"""The loop closed around the whole avionics: it climbs, comes down and lands in a tiny world."""

from __future__ import annotations

import numpy as np
import pytest

from sim.avionics import seam
from tests.avionics.heron_numbers import heron
from tests.avionics.on_board import WIDTH
from tests.avionics.tiny_world import fly

HERE = heron({"landing_pad.east": 2.5})


@pytest.fixture(scope="module")
def nominal():
    return fly(HERE, ascent=0.85)


def test_landing__nominal_is_soft_upright_and_on_the_mark(nominal):
    assert np.all(nominal.sink < 1.0)
    assert np.all(nominal.lateral < 0.4)
    assert np.all(nominal.tilt < np.radians(2.0))
    assert np.all(np.hypot(nominal.east - 2.5, nominal.north) < 0.3)
    assert np.all(np.abs(nominal.believed_height) < 0.03)


def test_landing__weak_and_strong_motors_are_throttled_to_the_same_end():
    """Without throttle 3 % of thrust from 50 m cost 5.4 m/s (R11.3, kinematics)."""
    flown = fly(HERE, ascent=0.85, thrust=np.linspace(0.97, 1.03, WIDTH))
    assert np.all(flown.sink < 1.5)
    assert np.all(np.hypot(flown.sink, flown.lateral) < 1.5)
    assert flown.throttle[0] > flown.throttle[-1]


def test_landing__late_light_is_made_up_for():
    """100 ms late cost 8.7 m/s without throttle (R11.6, kinematics)."""
    flown = fly(HERE, ascent=0.85, delay=np.linspace(0.05, 0.14, WIDTH))
    assert np.all(flown.sink < 1.5)


def test_sequence__runs_through_in_order(nominal):
    phases = np.array([row[5][seam.BELIEF.index("phase"), 0] for row in nominal.trace])
    assert np.all(np.diff(phases) >= 0)
    assert sorted(set(phases)) == [
        seam.ON_PAD, seam.CLIMB, seam.COAST, seam.DESCENT, seam.LANDING,
    ]  # fmt: skip
    commands = np.array([row[4][:, 0] for row in nominal.trace])
    first = {
        name: np.argmax(commands[:, seam.COMMAND.index(name)] > 0.5)
        for name in ("separate", "open_petals", "ignite_landing", "open_legs")
    }
    assert first["separate"] < first["open_petals"] < first["ignite_landing"] < first["open_legs"]
    assert not commands[:, seam.COMMAND.index("open_parachute")].any()


def test_throttle__stays_inside_the_authority(nominal):
    throttle = np.array([row[4][seam.COMMAND.index("throttle")] for row in nominal.trace[1:]])
    assert throttle.min() >= 0.65
    assert throttle.max() <= 1.0


def test_attitude__misaligned_thrust_is_held_and_the_integral_takes_it_out():
    """A steady offset of d / kp without integral (R10.6, derived); here it fades with the climb."""
    flown = fly(HERE, longest=1.6, misalignment=0.004, upset=(0.3, -0.2))
    tilt = np.array([row[1][0] for row in flown.trace])
    assert tilt.max() < np.radians(6.0)
    end = flown.trace[round(1.35 / 0.005)]
    lean = seam.BELIEF.index("phase")
    assert end[5][lean, 0] == seam.CLIMB
    assert np.abs(end[6][1:, 0]).max() < 0.2
