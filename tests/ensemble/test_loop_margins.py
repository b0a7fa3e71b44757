"""Margins of the attitude loop against worked examples.

Examples: reference R10.1 to R10.7, plant K/s^2 with K = T l / I (T 20 N, l 0.35 m, I 0.12 kg m2),
wn 6 rad/s and zeta 0.8, computed there with python-control and by an own frequency sweep; closed
forms from Astrom and Hagglund, Advanced PID Control (2006).
"""

import numpy as np
import pytest

from sim.ensemble.loop_margins import Loop, find_margins
from tests.outside import outside_check

PLAIN = {"stiffness": 36.0, "rate_gain": 9.6}


def decibels(factor):
    return 20.0 * np.log10(factor)


@pytest.mark.parametrize(
    ("damping", "degrees"), [(0.5, 51.827), (0.6, 59.187), (0.7, 65.156), (0.8, 69.860)]
)
def test_margins__proportional_and_rate_in_closed_form(damping, degrees):  # R10.2
    found = find_margins(Loop(36.0, 12.0 * damping))
    crossover = 6.0 * np.sqrt(2 * damping**2 + np.sqrt(4 * damping**4 + 1))
    outside_check(
        what=f"crossover of the plain loop, damping {damping}",
        source="closed form; R10.2, derived", expected=crossover, got=found.crossover,
        relative=1e-5, unit="rad/s",
    )  # fmt: skip
    outside_check(
        what=f"phase margin of the plain loop, damping {damping}",
        source="python-control; R10.2, recomputed", expected=degrees,
        got=np.degrees(found.phase_margin), tolerance=1e-3, unit="deg",
    )  # fmt: skip
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
    case = f"servo {servo:.0f} rad/s, {1000 * delay:.0f} ms late"
    source = "python-control; R10.3 and R10.4, recomputed"
    outside_check(
        what=f"phase margin, {case}", source=source, expected=phase,
        got=np.degrees(found.phase_margin), tolerance=0.006, unit="deg",
    )  # fmt: skip
    outside_check(
        what=f"gain margin, {case}", source=source, expected=gain,
        got=decibels(found.gain_margin), tolerance=0.006, unit="dB",
    )  # fmt: skip


def test_margins__delay_that_is_borne():  # R10.3, R10.4
    loop = Loop(**PLAIN, servo_frequency=40.0)
    outside_check(
        what="delay margin, servo 40 rad/s", source="python-control; R10.3, recomputed",
        expected=83.55, got=1e3 * find_margins(loop).delay_margin, tolerance=5e-3, unit="ms",
    )  # fmt: skip
    late = Loop(**PLAIN, servo_frequency=40.0, delay=0.02)
    assert find_margins(late).delay_margin == pytest.approx(63.5e-3, abs=6e-5)


def test_margins__with_an_integral_the_gain_may_fall_only_so_far():  # R10.7
    found = find_margins(Loop(**PLAIN, integral=1.0, servo_frequency=40.0))
    assert found.crossover == pytest.approx(9.9154, abs=1e-4)
    source = "python-control and root search; R10.7, recomputed"
    outside_check(
        what="phase margin with an integral, servo 40 rad/s", source=source, expected=48.243,
        got=np.degrees(found.phase_margin), tolerance=1e-3, unit="deg",
    )  # fmt: skip
    outside_check(
        what="factors by which the gain may rise and fall, with an integral", source=source,
        expected=(5.079345, 0.119629), got=(found.gain_margin, found.gain_reduction),
        relative=1e-5, unit="1",
    )  # fmt: skip
    # without a servo, by Routh: ki / (K kd kp) exactly
    bare = find_margins(Loop(**PLAIN, integral=1.0))
    outside_check(
        what="factor by which the gain may fall, without a servo", source="Routh; R10.5, derived",
        expected=0.1041667, got=bare.gain_reduction, relative=1e-5, unit="1",
    )  # fmt: skip


def test_margins__an_unstable_loop_has_a_negative_one():
    assert find_margins(Loop(**PLAIN, servo_frequency=25.0, delay=0.1)).phase_margin < 0.0
