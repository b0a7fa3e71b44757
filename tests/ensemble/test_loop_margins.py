"""Margins of the attitude loop against worked examples.

Examples: reference R10.1 to R10.7, plant K/s^2 with K = T l / I (T 20 N, l 0.35 m, I 0.12 kg m2),
wn 6 rad/s and zeta 0.8, computed there with python-control and by an own frequency sweep; closed
forms from Astrom and Hagglund, Advanced PID Control (2006).
"""

import numpy as np
import pytest

from sim.ensemble.loop_margins import Loop, find_margins

PLAIN = {"stiffness": 36.0, "rate_gain": 9.6}


def decibels(factor):
    return 20.0 * np.log10(factor)


@pytest.mark.parametrize(
    ("damping", "degrees"), [(0.5, 51.827), (0.6, 59.187), (0.7, 65.156), (0.8, 69.860)]
)
def test_margins__proportional_and_rate_in_closed_form(damping, degrees):  # R10.2
    found = find_margins(Loop(36.0, 12.0 * damping))
    crossover = 6.0 * np.sqrt(2 * damping**2 + np.sqrt(4 * damping**4 + 1))
    assert found.crossover == pytest.approx(crossover, rel=1e-5)
    assert np.degrees(found.phase_margin) == pytest.approx(degrees, abs=1e-3)
    assert found.gain_margin == np.inf
    assert found.gain_reduction == 0.0


@pytest.mark.parametrize(
    ("servo", "delay", "phase", "gain"),
    [
        (80.0, 0.0, 59.55, 20.75),  # R10.3
        (40.0, 0.0, 48.910, 14.096),
        (25.0, 0.0, 35.52, 9.19),
        (80.0, 0.02, 47.83, 12.11),  # R10.4
        (40.0, 0.02, 37.202, 8.456),
        (25.0, 0.02, 23.90, 5.13),
    ],
)
def test_margins__with_servo_and_delay(servo, delay, phase, gain):
    found = find_margins(Loop(**PLAIN, servo_frequency=servo, delay=delay))
    assert np.degrees(found.phase_margin) == pytest.approx(phase, abs=0.006)
    assert decibels(found.gain_margin) == pytest.approx(gain, abs=0.006)


def test_margins__delay_that_is_borne():  # R10.3, R10.4
    loop = Loop(**PLAIN, servo_frequency=40.0)
    assert find_margins(loop).delay_margin == pytest.approx(83.55e-3, abs=5e-6)
    late = Loop(**PLAIN, servo_frequency=40.0, delay=0.02)
    assert find_margins(late).delay_margin == pytest.approx(63.5e-3, abs=6e-5)


def test_margins__with_an_integral_the_gain_may_fall_only_so_far():  # R10.7
    found = find_margins(Loop(**PLAIN, integral=1.0, servo_frequency=40.0))
    assert found.crossover == pytest.approx(9.9154, abs=1e-4)
    assert np.degrees(found.phase_margin) == pytest.approx(48.243, abs=1e-3)
    assert found.gain_margin == pytest.approx(5.079345, rel=1e-5)
    assert found.gain_reduction == pytest.approx(0.119629, rel=1e-5)
    # without a servo, by Routh: ki / (K kd kp) exactly
    bare = find_margins(Loop(**PLAIN, integral=1.0))
    assert bare.gain_reduction == pytest.approx(0.1041667, rel=1e-5)


def test_margins__an_unstable_loop_has_a_negative_one():
    assert find_margins(Loop(**PLAIN, servo_frequency=25.0, delay=0.1)).phase_margin < 0.0
