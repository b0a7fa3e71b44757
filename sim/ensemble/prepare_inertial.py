"""Sensor errors of each flight: drawn numbers in, fields of `sim.avionics.sensors.INPUTS` out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.avionics.sensors import DRIFT_SAMPLES
from sim.ensemble.field_wind import field_wind

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Values = Floats | float

FINE = 2.0**-40  # resolution that stands for none: a power of two, far below any noise
UNLIMITED = 1e6  # range that stands for none


def inertial_fields(values: Mapping[str, Values], scenario: Scenario) -> dict[str, Values]:
    """Per-flight inputs of the inertial unit and of the alignment.

    Parameters
    ----------
    values : mapping of str to array (n,) or float
        True values by dotted scenario name, SI. A name that is missing takes the scenario's value.
    scenario : Scenario
        For what is not drawn.

    Returns
    -------
    dict of str to array (n,) or float
        Every field of `sim.avionics.sensors.INPUTS`, SI.

    Notes
    -----
    A range, resolution or bandwidth of zero stands for an ideal one. `instability` is the standard
    deviation of the drift, `instability_time` its time constant. The mean over the wait and the
    drift at its end are drawn together: their covariance is s^2 T/W (1 - exp(-W/T)), the variance
    of the mean 2 s^2 (T/W)^2 (W/T - 1 + exp(-W/T)) (Gelb, Applied Optimal Estimation, 1974, ch. 3;
    R4.19).
    """

    def value(name: str) -> Values:
        return values[name] if name in values else scenario.numbers[name].value

    rate = np.asarray(value("inertial.rate"), dtype=np.float64)
    interval = 1.0 / np.where(
        rate > 0.0, rate, scenario.numbers["flight_computer.control_rate"].value
    )
    wait = np.maximum(np.asarray(value("alignment.wait"), dtype=np.float64), interval)
    fields: dict[str, Values] = {}
    for sensor in ("gyro", "accelerometer"):
        fields |= _sensor(sensor, value, interval, wait)
    for axis in "xyz":
        fields[f"gyro_force_{axis}"] = value(f"inertial.gyro.g_sensitivity.{axis}")
    for axis in "yz":
        fields[f"level_error_{axis}"] = value(f"alignment.level_error.{axis}")
    heading = np.asarray(value("launch_pad.heading"), dtype=np.float64)
    fields["heading_reading"] = heading + value("alignment.heading_error")
    wind, toward = field_wind(value, scenario)
    speed = wind * (1.0 + np.asarray(value("wind.reading_speed_error")))
    toward = toward + np.asarray(value("wind.reading_direction_error"))
    fields["wind_reading_east"] = speed * np.sin(toward)
    fields["wind_reading_north"] = speed * np.cos(toward)
    fields["vibration_level"] = value("inertial.vibration.level")
    return fields


def _sensor(
    sensor: str, value: Callable[[str], Values], interval: Floats, wait: Floats
) -> dict[str, Values]:
    """Fields of one sensor."""

    def number(name: str) -> Floats:
        return np.asarray(value(f"inertial.{sensor}.{name}"), dtype=np.float64)

    names = {
        "bias": "bias",
        "scale": "scale_factor",
        "turn": "misalignment",
        "vibration": "vibration_rectification",
    }
    fields: dict[str, Values] = {
        f"{sensor}_{field}_{axis}": number(f"{name}.{axis}")
        for field, name in names.items()
        for axis in "xyz"
    }
    density, drift, time = number("noise"), number("instability"), number("instability_time")
    time = np.where(time > 0.0, time, 1e9)  # none given: it does not move
    keep = np.exp(-DRIFT_SAMPLES * interval / time)
    waits = wait / time
    follow = -np.expm1(-waits) / waits
    variance = 2.0 * mean_variance(waits) - follow**2
    bandwidth = number("bandwidth")
    ideal = ~((bandwidth > 0.0) & np.isfinite(bandwidth))
    gone = 2.0 * np.pi * np.where(ideal, 1.0, bandwidth) * interval
    limit, resolution = number("range"), number("resolution")
    resolution = np.where(resolution > 0.0, resolution, FINE)
    return fields | {
        f"{sensor}_noise": density / np.sqrt(interval),
        f"{sensor}_rest_noise": np.sqrt(density**2 / wait + drift**2 * np.maximum(variance, 0.0)),
        f"{sensor}_rest_drift": follow,
        f"{sensor}_drift": drift,
        f"{sensor}_drift_keep": keep,
        f"{sensor}_drift_step": drift * np.sqrt(1.0 - keep**2),
        f"{sensor}_keep": np.where(ideal, 0.0, np.exp(-gone)),
        f"{sensor}_lag": np.where(ideal, 0.0, -np.expm1(-gone) / gone),
        f"{sensor}_range": np.where((limit > 0.0) & np.isfinite(limit), limit, UNLIMITED),
        f"{sensor}_resolution": resolution,
        f"{sensor}_steps": 1.0 / resolution,
    }


def mean_variance(waits: Floats) -> Floats:
    """(x - 1 + exp(-x)) / x^2, by its series where the difference would drown in rounding."""
    small = waits < 1e-2
    x = np.where(small, 1.0, waits)
    whole = (x + np.expm1(-x)) / x**2
    series = 0.5 - waits / 6.0 + waits**2 / 24.0 - waits**3 / 120.0
    return np.where(small, series, whole)
