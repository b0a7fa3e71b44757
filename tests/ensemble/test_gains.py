"""Linear loop against python-control and textbook overshoot."""

import math

import numpy as np
import pytest

from sim.ensemble.gains import linear_overshoot
from sim.ensemble.loop_margins import Loop, find_margins


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
