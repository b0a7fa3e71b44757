"""The inertial unit's errors, one by one, against what a data sheet promises."""

from __future__ import annotations

import numpy as np

from sim.avionics.sensors import CARRY, DRIFT_SAMPLES
from tests.avionics.heron_numbers import DEGREE, heron
from tests.avionics.on_board import STEP, OnBoard

GRAVITY = 9.80665
GYRO, FORCE = ("rate_x", "rate_y", "rate_z"), ("force_x", "force_y", "force_z")


def readings(errors, rate, force, ticks=1, vibration=0.0, seed=1):
    """Samples (ticks, 6, width) of a unit that has stood, then feels this, constantly."""
    board = OnBoard(heron({"alignment.wait": 1e9}), errors, seed=seed)
    board.begin([GRAVITY, 0.0, 0.0])
    out = []
    for _ in range(ticks):
        board.tick(rate, force, vibration)
        out.append([getattr(board.sample, name).copy() for name in (*GYRO, *FORCE)])
    return np.array(out)


def test_sample__ideal_unit_reads_the_truth():
    read = readings({}, [0.1, -0.2, 0.3], [11.0, 0.5, -0.7])[0, :, 3]
    np.testing.assert_allclose(read, [0.1, -0.2, 0.3, 11.0, 0.5, -0.7], atol=1e-11)


def test_sample__bias_scale_misalignment_g_sensitivity_vibration():
    rate, force = np.array([0.1, -0.2, 0.3]), np.array([11.0, 0.5, -0.7])
    turn = np.array([1e-3, -2e-3, 1.5e-3])
    errors = {"inertial.gyro.bias.y": 0.02, "inertial.gyro.scale_factor.z": 0.01}
    errors |= {"inertial.gyro.g_sensitivity.x": 1e-4, "inertial.accelerometer.bias.x": 0.3}
    errors |= {"inertial.accelerometer.vibration_rectification.z": 2e-3}
    for axis, value in zip("xyz", turn, strict=True):
        errors[f"inertial.accelerometer.misalignment.{axis}"] = value
    read = readings(errors, rate, force, vibration=10.0)[0, :, 0]
    np.testing.assert_allclose(read[:3], [0.1 + 1e-4 * 11.0, -0.18, 0.303], atol=1e-9)
    # a triad turned by the vector t sees a fixed vector turned by -t
    turned = force - np.cross(turn, force)
    np.testing.assert_allclose(read[3:], turned + np.array([0.3, 0.0, 0.2]), atol=1e-9)


def test_sample__noise_is_the_density_over_the_root_of_the_interval():
    """Woodman, UCAM-CL-TR-696 (2007); R4.7: the density given is the random-walk coefficient.

    72,000 numbers: the spread is known to 0.26 %, 1.1 % (four of them) is allowed.
    """
    density = 0.007 * DEGREE
    read = readings({"inertial.gyro.noise": density}, np.zeros(3), [GRAVITY, 0, 0], ticks=3000)
    noise = read[:, :3] / (density / np.sqrt(STEP))
    assert abs(noise.std() - 1.0) < 0.011
    assert abs(noise.mean()) < 4.0 / np.sqrt(noise.size)
    assert np.abs(np.corrcoef(noise[:, :, 0].T) - np.eye(3)).max() < 0.08


def test_sample__flights_and_seeds_have_noise_of_their_own():
    errors = {"inertial.gyro.noise": 1e-3}
    read = readings(errors, np.zeros(3), [GRAVITY, 0, 0])[0, 0]
    other = readings(errors, np.zeros(3), [GRAVITY, 0, 0], seed=2)[0, 0]
    again = readings(errors, np.zeros(3), [GRAVITY, 0, 0])[0, 0]
    assert len({*read, *other}) == 16
    np.testing.assert_array_equal(read, again)


def test_sample__range_and_resolution():
    errors = {"inertial.accelerometer.range": 20.0, "inertial.accelerometer.resolution": 0.25}
    read = readings(errors, np.zeros(3), [25.0, -0.3, 0.13])[0, 3:, 0]
    np.testing.assert_allclose(read, [20.0, -0.25, 0.25])


def test_sample__bandwidth_delays_but_loses_nothing():
    """First order: a step is behind by its height times the time constant, for good."""
    bandwidth, step = 30.0, 2.0
    read = readings({"inertial.gyro.bandwidth": bandwidth}, [step, 0, 0], [GRAVITY, 0, 0], ticks=60)
    lost = np.sum(step - read[:, 0, 0]) * STEP
    np.testing.assert_allclose(lost, step / (2.0 * np.pi * bandwidth), rtol=1e-6)
    gone = np.exp(-2.0 * np.pi * bandwidth * STEP)
    gaps = step - read[:5, 0, 0]
    np.testing.assert_allclose(gaps[1:] / gaps[:-1], gone, rtol=1e-6)


def test_drift__is_a_stationary_gauss_markov_process():
    """Correlation exp(-t / time) after t, spread as given (R4.19; from memory, derived again).

    A short time constant, so that 96 axes of flights over 40 of them tell. The correlation at one
    time constant has a standard error of about 0.02.
    """
    time = 0.5
    errors = {"inertial.gyro.instability": 0.01, "inertial.gyro.instability_time": time}
    offsets = []
    for group in range(4):
        board = OnBoard(heron({"alignment.wait": 1e9}), errors, first_flight=8 * group)
        board.begin([GRAVITY, 0.0, 0.0])
        rows = []
        for _ in range(4000):
            board.tick(np.zeros(3), [GRAVITY, 0.0, 0.0])
            rows.append(board.carry[: CARRY.index("gyro_output_x")].copy())
        offsets.append(np.array(rows).reshape(4000, -1))
    drift = np.concatenate(offsets, axis=1) / 0.01
    assert abs(np.mean(drift**2) - 1.0) < 0.12
    lag = round(time / STEP)
    assert abs(np.mean(drift[lag:] * drift[:-lag]) - np.exp(-1.0)) < 0.1
    steps = np.flatnonzero(np.diff(drift[:, 0]) != 0.0)
    assert set(np.diff(steps)) == {DRIFT_SAMPLES}
    start = drift[0]
    assert abs(start.std() - 1.0) < 4.0 / np.sqrt(2.0 * start.size)


def test_rest__averages_noise_and_follows_the_drift():
    """Noise over the root of the wait: N / sqrt(W); 24 numbers a group, 20 groups."""
    density, wait = 150e-6 * GRAVITY, 10.0
    scenario = heron({"alignment.wait": wait, "inertial.accelerometer.noise": density})
    means = []
    for group in range(20):
        board = OnBoard(scenario, first_flight=8 * group)
        board.begin([GRAVITY, 0.0, 0.0])
        rest = board.rest
        means.append([rest.rest_force_x - GRAVITY, rest.rest_force_y, rest.rest_force_z])
    spread = np.std(means) / (density / np.sqrt(wait))
    assert abs(spread - 1.0) < 4.0 / np.sqrt(2.0 * 480.0)


def test_rest__level_reads_the_lean_of_the_nose():
    board = OnBoard(heron(), {"alignment.level_error.z": 1e-3, "launch_pad.heading": 0.4})
    lean = 0.02
    board.begin([GRAVITY * np.cos(lean), -GRAVITY * np.sin(lean), 0.0])
    np.testing.assert_allclose(board.rest.level_tilt_y, lean, rtol=1e-12)
    np.testing.assert_allclose(board.rest.level_tilt_z, 1e-3)
    np.testing.assert_allclose(board.rest.heading_reading, 0.4)
