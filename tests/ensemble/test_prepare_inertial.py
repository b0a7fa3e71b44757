"""Sensor errors of each flight: complete, and right in units and statistics."""

from __future__ import annotations

import numpy as np

from sim.avionics.sensors import DRIFT_SAMPLES, INPUTS
from sim.ensemble.prepare_inertial import inertial_fields
from tests.avionics.heron_numbers import heron


def test_fields__every_one_finite_with_everything_ideal():
    fields = inertial_fields({}, heron())
    assert set(fields) == set(INPUTS)
    assert all(np.isfinite(value).all() for value in fields.values())
    assert fields["gyro_keep"] == fields["gyro_lag"] == 0.0


def test_fields__drawn_arrays_pass_through():
    bias = np.array([0.1, -0.2, 0.3])
    fields = inertial_fields({"inertial.gyro.bias.x": bias}, heron())
    np.testing.assert_array_equal(fields["gyro_bias_x"], bias)


def test_fields__heading_reading_is_truth_and_error():
    values = {"launch_pad.heading": 0.5, "alignment.heading_error": np.array([0.01, -0.02])}
    np.testing.assert_allclose(inertial_fields(values, heron())["heading_reading"], [0.51, 0.48])


def test_fields__noise_of_mean_over_the_wait():
    scenario = heron({"inertial.gyro.noise": 2e-4, "alignment.wait": 4.0})
    fields = inertial_fields({}, scenario)
    np.testing.assert_allclose(fields["gyro_noise"], 2e-4 * np.sqrt(200.0))
    np.testing.assert_allclose(fields["gyro_rest_noise"], 1e-4)


def test_fields__drift_over_the_wait_against_a_simulated_one():
    """Mean over W and value at its end of a Gauss-Markov process, simulated in fine steps.

    20,000 processes; the covariance and the variance are known to about 1 %.
    """
    time, wait, steps = 2.0, 3.0, 300
    scenario = heron({"inertial.gyro.instability": 1.0, "inertial.gyro.instability_time": time,
                      "alignment.wait": wait})  # fmt: skip
    fields = inertial_fields({}, scenario)
    random = np.random.default_rng(5)
    keep = np.exp(-wait / steps / time)
    state = random.standard_normal(20_000)
    mean = 0.5 * state
    for _ in range(steps):
        state = keep * state + np.sqrt(1.0 - keep**2) * random.standard_normal(20_000)
        mean += state
    mean = (mean - 0.5 * state) / steps
    follow = np.mean(mean * state)
    assert abs(fields["gyro_rest_drift"] - follow) < 0.03
    rest = np.std(mean - follow * state)
    assert abs(fields["gyro_rest_noise"] / rest - 1.0) < 0.03
    np.testing.assert_allclose(fields["gyro_drift_keep"], np.exp(-DRIFT_SAMPLES * 0.005 / time))
