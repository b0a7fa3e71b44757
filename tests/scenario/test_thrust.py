"""Reduced thrust curves."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.scenario import load_scenario
from sim.scenario.thrust import reduce_curve, stand_reading
from tests.outside import outside_check

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"


def impulse_so_far(time, thrust):
    return np.concatenate(([0.0], np.cumsum(0.5 * (thrust[1:] + thrust[:-1]) * np.diff(time))))


def worst_error(log, curve):
    """Largest error of the impulse so far, share of the total, at the log's own times."""
    knots = curve.knots
    time = log[:, 0] - curve.first_thrust
    inside = (time >= 0) & (time <= knots[-1, 0])
    logged = impulse_so_far(time[inside], log[inside, 1] - curve.offset)
    # exact integral of the straight pieces, independent of the samples
    fine = np.union1d(time[inside], knots[:, 0])
    exact = impulse_so_far(fine, np.interp(fine, knots[:, 0], knots[:, 1]))
    return np.abs(logged - np.interp(time[inside], fine, exact)).max() / curve.total_impulse


def check_sound(log, curve):
    knots = curve.knots
    assert knots[0].tolist() == [0.0, 0.0]
    assert knots[-1, 1] == 0.0
    assert (knots[:, 1] >= 0).all()
    assert (np.diff(knots[:, 0]) > 0).all()
    assert np.trapezoid(knots[:, 1], knots[:, 0]) == pytest.approx(curve.total_impulse, rel=1e-12)
    assert worst_error(log, curve) < 0.003
    assert curve.average_thrust == pytest.approx(curve.total_impulse / curve.burn_time)


# NFPA 1125, as makers of motors restate it (R7.2): burn time between the 5 % points of the peak;
# for a triangle of any rise time and base T it is exactly 0.95 T, the impulse F T / 2
@pytest.mark.parametrize("rise", [0.01, 0.3, 1.0, 1.9])
@pytest.mark.parametrize("samples", [0, 500])
def test_triangle__burn_time_is_95_percent_of_its_base(rise, samples):
    base, peak = 2.0, 30.0
    time = np.union1d([0.0, 0.4 * rise, rise, base], np.linspace(0, base, samples))
    log = np.column_stack([time, np.interp(time, [0, rise, base], [0, peak, 0])])
    curve = reduce_curve(log)
    case = f"triangle of thrust rising for {rise} s of 2 s, {len(log)} readings"
    outside_check(
        what=f"burn time of a {case}", source="NFPA 1125, by a maker's note; R7.2",
        expected=0.95 * base, got=curve.burn_time, relative=1e-12, unit="s",
    )  # fmt: skip
    outside_check(
        what=f"impulse of a {case}", source="geometry; R7.2", expected=0.5 * peak * base,
        got=curve.total_impulse, relative=1e-12, unit="N s",
    )  # fmt: skip
    assert curve.peak_thrust == peak
    assert curve.offset == 0.0
    check_sound(log, curve)


@pytest.mark.parametrize("motor", ["ascent_motor", "landing_motor"])
def test_heron__knots_deliver_what_the_log_did(motor):
    log = load_scenario(HERON).curves[f"{motor}.curve"]
    curve = reduce_curve(log)
    check_sound(log, curve)
    assert 12 <= len(curve.knots) <= 24
    assert abs(curve.offset) < 0.1
    # steps are split at knots: none so near another that it only chases noise
    assert np.diff(curve.knots[:, 0]).min() > 0.004


def test_offset__of_the_stand_is_taken_off():
    rng = np.random.default_rng(7)
    time = np.arange(0, 3, 0.005)
    clean = np.interp(time, [0, 0.05, 1.0, 1.2], [0, 40, 35, 0], right=0.0)
    noise = rng.normal(0, 0.15, time.size)
    log = np.column_stack([time, clean + noise + 1.0])
    curve = reduce_curve(log)
    # standard error of the mean of the rest's later half, 180 samples: 0.011 N; limit 5 of them
    assert curve.offset == pytest.approx(1.0, abs=0.06)
    assert curve.total_impulse == pytest.approx(np.trapezoid(clean, time), rel=0.004)
    check_sound(log, curve)


def test_offset__slow_tail_is_no_offset():
    time = np.arange(0, 3, 0.005)
    thrust = np.interp(time, [0, 0.05, 1.0, 1.2, 3.0], [0, 40, 35, 1.9, 0])
    assert stand_reading(time, thrust) == (0.0, 0.0)
    curve = reduce_curve(np.column_stack([time, thrust]))
    assert curve.total_impulse == pytest.approx(np.trapezoid(thrust, time), rel=1e-4)


def test_offset__short_rest_says_nothing():
    time = np.array([0, 0.1, 1.0, 1.1, 1.2])
    assert stand_reading(time, np.array([0, 9, 8, 0.1, 0.1])) == (0.0, 0.0)


def test_step__is_followed_within_the_tolerance():
    time = np.linspace(0, 3, 601)
    thrust = np.select([(time > 0.5) & (time < 1.5), (time >= 1.5) & (time < 2)], [40.0, 10.0])
    log = np.column_stack([time, thrust])
    curve = reduce_curve(log)
    check_sound(log, curve)
    assert curve.first_thrust == pytest.approx(0.5)


def test_log__that_begins_under_thrust():
    time = np.linspace(0.01, 2, 200)
    log = np.column_stack([time, np.where(time < 1.9, 30.0, 0.0)])
    curve = reduce_curve(log)
    assert curve.knots[0].tolist() == [0.0, 0.0]
    assert np.trapezoid(curve.knots[:, 1], curve.knots[:, 0]) == pytest.approx(curve.total_impulse)


def test_late_start__is_no_part_of_the_curve():
    time = np.linspace(0, 3, 601)
    thrust = np.interp(time, [1.0, 1.1, 2.0], [0, 30, 0], left=0, right=0)
    curve = reduce_curve(np.column_stack([time, thrust]))
    assert curve.first_thrust == pytest.approx(1.0)
    assert curve.knots[-1, 0] == pytest.approx(1.0)


def test_noise__of_the_stand_is_no_thrust():
    # the noise passes 5 % of this weak motor's peak now and then, long after its end
    time = np.arange(0, 4, 0.005)
    clean = np.interp(time, [0, 0.05, 1.0, 1.05], [0, 5, 5, 0], right=0.0)
    noisy = clean + np.random.default_rng(3).normal(0, 0.1, time.size)
    assert noisy[time > 1.1].max() > 0.05 * noisy.max()
    curve = reduce_curve(np.column_stack([time, noisy]))
    assert curve.burn_time == pytest.approx(1.04, abs=0.02)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(5.0, 60.0), min_size=3, max_size=8),
    st.floats(0.5, 5.0),
    st.integers(0, 2**32 - 1),
)
def test_any_curve__keeps_its_impulse(levels, length, seed):
    time = np.arange(0, length + 1.0, 0.005)
    at = np.linspace(0, length, len(levels) + 2)
    clean = np.interp(time, at, [0, *levels, 0], right=0.0)
    log = np.column_stack([time, clean + np.random.default_rng(seed).normal(0, 0.1, time.size)])
    check_sound(log, reduce_curve(log))
