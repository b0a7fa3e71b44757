"""Linear loop against python-control and textbook overshoot."""

import math
from pathlib import Path

import numpy as np
import pytest

from sim.ensemble.burn_loops import least_margins, loop_gains
from sim.ensemble.gains import linear_overshoot
from sim.ensemble.loop_margins import Loop, find_margins
from sim.ensemble.plumb_flight import body_of
from sim.ensemble.prepare import flight_inputs
from sim.ensemble.settings import computer_settings
from sim.ensemble.thrust_curves import reduced_curve
from sim.flight_records import INPUTS
from sim.scenario import load_scenario


@pytest.mark.parametrize("damping", [0.5, 0.6, 0.7, 0.8])
def test_linear_overshoot__second_order(damping):
    """exp(-pi z / sqrt(1 - z^2)), rate fed back from what is measured; R10.8, any control text."""
    expected = math.exp(-math.pi * damping / math.sqrt(1.0 - damping**2))
    found = linear_overshoot(Loop(36.0, 2.0 * damping * 6.0), 5.0)
    assert found == pytest.approx(expected, abs=0.006)


def test_linear_overshoot__unstable_loop_grows():
    assert linear_overshoot(Loop(900.0, 48.0, servo_frequency=20.0, delay=0.05), 20.0) > 1.0


@pytest.mark.parametrize("servo", [25.0, 40.0, 80.0])
@pytest.mark.parametrize("integral", [0.0, 1.0])
def test_find_margins__against_python_control(servo, integral):
    """Independent margins of the same loop, without delay; R10.3, R10.7."""
    control = pytest.importorskip("control")
    s = control.tf("s")
    pid = 36.0 * (1.0 + integral / s) + 9.6 * s
    loop = pid / s**2 * servo**2 / (s**2 + 1.4 * servo * s + servo**2)
    found = find_margins(Loop(36.0, 9.6, integral, servo_frequency=servo))
    _, phase, _, _, at, _ = control.stability_margins(loop)
    rise, turn, _, where, _, _ = control.stability_margins(loop, returnall=True)
    assert math.degrees(found.phase_margin) == pytest.approx(float(np.max(phase)), abs=0.02)
    assert found.crossover == pytest.approx(float(at), rel=1e-3)
    above = [g for g, w in zip(rise, where, strict=True) if w > found.crossover]
    assert found.gain_margin == pytest.approx(min(above), rel=1e-3)
    assert len(turn)


def test_find_margins__delay_costs_phase():
    """R10.10: a delay takes its crossover times itself off the phase margin."""
    quick, slow = (find_margins(Loop(36.0, 9.6, delay=d)) for d in (0.0, 0.02))
    assert quick.phase_margin - slow.phase_margin == pytest.approx(0.02 * quick.crossover, rel=1e-3)


# ---- margins at both ends of a burn --------------------------------------------------------------


def heron_fields(**settings):
    scenario = load_scenario(Path(__file__).parents[2] / "scenarios" / "heron.toml")
    scenario = scenario.with_values(
        {f"flight_computer.{name}": value for name, value in settings.items()})  # fmt: skip
    column = flight_inputs({}, scenario, 1)[:, 0]
    return scenario, dict(zip(INPUTS, map(float, column), strict=True))


@pytest.mark.parametrize("motor", ["ascent", "landing"])
def test_loop_gains__the_told_leverage_is_that_of_half_the_propellant(motor):
    """So the gain is on one side of one with the motor full, on the other with it empty."""
    full, empty = loop_gains(*heron_fields(), motor)
    assert min(full, empty) < 1.0 < max(full, empty)
    assert max(full, empty) < 1.5


def test_loop_gains__thrust_over_arm_and_inertia_by_hand():
    """Gains not scheduled: T l / I at burn-out over (T / m) (m l / I) as told."""
    scenario, f = heron_fields(schedule_gains=False)
    told, _ = computer_settings(scenario)
    _, empty = loop_gains(scenario, f, "landing")
    body = body_of(f, staged=False, propellant={}, legs=True)
    peak = reduced_curve(scenario, "landing_motor").peak_thrust * f["landing_thrust_scale"]
    power = peak * (-f["landing_pivot_x"] - body.station) / body.inertia
    assert empty == pytest.approx(power / (told["landing_push"] * told["landing_leverage"]))


def test_least_margins__a_loop_gain_costs_what_it_is():
    """R10: the gain margin of a loop with a higher gain is lower by just that gain."""
    loop = Loop(36.0, 9.6, servo_frequency=40.0, delay=0.01)
    higher = Loop(1.3 * 36.0, 1.3 * 9.6, servo_frequency=40.0, delay=0.01)
    found = least_margins((loop, higher))
    assert found.gain_margin == pytest.approx(find_margins(loop).gain_margin / 1.3, rel=1e-3)
    assert found.phase_margin <= find_margins(loop).phase_margin
