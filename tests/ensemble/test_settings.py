"""Settings of the flight computer: complete, believed, and a table that means what it says."""

from __future__ import annotations

import numpy as np
import pytest

from sim.avionics.landing_plan import SINK_RATES, Vehicle, plan_landing
from sim.avionics.memory import SETTINGS
from sim.ensemble.settings import computer_settings
from sim.errors import UserMistake
from tests.avionics.heron_numbers import heron
from tests.outside import outside_check


def test_settings__every_field_once():
    settings, tables = computer_settings(heron())
    assert set(settings) == set(SETTINGS)
    assert set(tables) == {"ignition_height", "landing_push"}
    assert len(tables["ignition_height"]) == len(SINK_RATES)


def test_settings__a_wrong_word_says_which_are_right():
    with pytest.raises(UserMistake, match="plumb, levelled, measured"):
        computer_settings(heron(choices={"alignment.attitude": "guessed"}))


def test_settings__only_beliefs_are_read():
    scenario = heron()
    for number in scenario.numbers.values():
        number.value = np.nan
    settings, tables = computer_settings(scenario)
    assert np.isfinite(settings["drag_share"])
    assert np.isfinite(tables["ignition_height"]).all()


def test_settings__nothing_that_is_not_there():
    settings, _ = computer_settings(heron(absent=("stage", "wheels", "throttle", "landing_motor")))
    assert np.isnan(settings["separation_after"])
    assert settings["wheel_limit"] == settings["roll_limit"] == 0.0
    assert settings["least_throttle"] == 1.0


def test_settings__leverage_of_the_gimbal_by_hand():
    """Mass times arm over inertia: 1.26 kg at 0.572 m and 26 g at 0.93 m, pivot at 0.88 m."""
    settings, _ = computer_settings(heron())
    mass = 1.26 + 0.026
    cg = (1.26 * 0.572 + 0.026 * 0.93) / mass
    inertia = 0.098 + 1.26 * (cg - 0.572) ** 2 + 0.026 * (0.93 - cg) ** 2
    expected = mass * (0.88 - cg) / inertia
    np.testing.assert_allclose(settings["landing_leverage"], expected, rtol=1e-12)


def level_motor(authority):
    push = np.where(np.arange(200) * 0.02 < 3.6, 1.8 * 9.80665, 0.0)
    return Vehicle(push, 0.02, 1.0 - authority, 0.0, 9.80665, 0.0, 0.0)


def test_ignition_table__level_motor_without_drag_or_delay():
    """h = v^2 / (2 g (n - 1)) for constant n = T / (m g) (R11.1, kinematics)."""
    plan = plan_landing(level_motor(authority=0.0))
    assert plan.boost_end == 0.0
    outside_check(
        what="ignition height of a level motor, thrust to weight 1.8, all sink rates",
        source="kinematics; R11.1, derived", expected=SINK_RATES**2 / (2.0 * 9.80665 * 0.8),
        got=plan.ignition_heights, relative=1e-9, unit="m",
    )  # fmt: skip


def test_ignition_table__delay_is_fallen_through():
    plain = level_motor(authority=0.0)
    late = Vehicle(**{**plain.__dict__, "light_delay": 0.1})
    heights = plan_landing(late).ignition_heights
    v = SINK_RATES
    later = v + 0.1 * 9.80665
    expected = later**2 / (2.0 * 9.80665 * 0.8) + 0.1 * v + 0.005 * 9.80665
    np.testing.assert_allclose(heights, expected, rtol=1e-9)


def test_ignition_table__boost_hands_over_on_the_curve():
    """Fly the plan open loop, at the throttle that ends the boost right: it meets curve (1)."""
    _, tables = computer_settings(heron())
    settings, _ = computer_settings(heron())
    push, heights = tables["landing_push"], tables["ignition_height"]
    goal, a, k = 0.6, settings["sustain_slowing"], settings["drag_share"]
    burn = 0.7 * (settings["burn_end"] - 0.25 - settings["boost_end"])
    step = 0.001
    for start in (16.0, 20.0, 24.0):
        best = []
        for throttle in np.linspace(0.65, 1.0, 71):
            sink, height = start, heights[round(start)]
            for t in np.arange(-0.09, settings["boost_end"], step):
                thrust = throttle * np.interp(t, 0.02 * np.arange(len(push)), push) * (t > 0.0)
                change = settings["gravity"] - k * sink**2 - thrust
                height -= step * (sink + 0.5 * step * change)
                sink += step * change
            best.append((abs(sink - goal - a * burn), sink, height))
        _, sink, height = min(best)
        assert abs(height - (sink**2 - goal**2) / (2.0 * a)) < 0.15
