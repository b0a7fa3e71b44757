"""Aids to navigation: drawn numbers in, fields of `sim.avionics.aids.INPUTS` and their mass out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.prepare_inertial import FINE, mean_variance

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Values = Floats | float
Value = Callable[[str], Values]

FITTED = ("gnss", "barometer", "range_finder")  # parts that have a mass and a station
STANDARD_GRAVITY = 9.80665
NEVER = 1e30  # s


def aid_fields(value: Value, scenario: Scenario) -> dict[str, Values]:
    """Per-flight inputs of the aids.

    Parameters
    ----------
    value : callable
        True value of a scenario number, SI: a float or an array (n,).
    scenario : Scenario
        For its parts and choices.

    Returns
    -------
    dict of str to array (n,) or float
        Every field of `sim.avionics.aids.INPUTS`, SI. Zero for an aid that is not aboard.
    """
    from sim.avionics.aids import INPUTS

    fields: dict[str, Values] = dict.fromkeys(INPUTS, 0.0)

    def number(name: str) -> Floats:
        return np.asarray(value(name), dtype=np.float64)

    if scenario.has("gnss"):
        fields |= _gnss(number, scenario)
    if scenario.has("barometer"):
        fields |= _barometer(number)
    if scenario.has("range_finder"):
        fields |= _range_finder(number)
    return fields


def sky_factors(number: Callable[[str], Floats], obstructed: bool) -> tuple[Floats, Floats]:
    """Factors on the white noise and on the drift of a fix."""
    sky = number("gnss.obstruction") if obstructed else np.asarray(1.0)
    return sky * number("gnss.interference"), sky


def _gnss(number: Callable[[str], Floats], scenario: Scenario) -> dict[str, Values]:
    obstructed = scenario.choices["gnss.sky"] == "obstructed"
    noisy, sky = sky_factors(number, obstructed)
    interval, time = 1.0 / number("gnss.rate"), number("gnss.drift_time")
    wait = np.maximum(number("alignment.wait"), interval)
    follow = -np.expm1(-wait / time) / (wait / time)
    spread = np.sqrt(np.maximum(2.0 * mean_variance(wait / time) - follow**2, 0.0))
    lost = number("gnss.outage") > 0.5
    if obstructed:
        lost = lost | (number("gnss.outage_obstructed") > 0.5)
    start = np.where(lost, number("gnss.outage_start"), NEVER)
    keep = np.exp(-interval / time)
    return {
        "gnss_fitted": 1.0,
        "gnss_x": -number("gnss.station"),
        "gnss_interval": interval,
        "gnss_latency": number("gnss.latency"),
        "gnss_noise_horizontal": noisy * number("gnss.noise_horizontal"),
        "gnss_noise_vertical": noisy * number("gnss.noise_vertical"),
        "gnss_drift_horizontal": sky * number("gnss.drift_horizontal"),
        "gnss_drift_vertical": sky * number("gnss.drift_vertical"),
        "gnss_drift_keep": keep,
        "gnss_drift_step": np.sqrt(1.0 - keep**2),
        "gnss_velocity_horizontal": noisy * number("gnss.velocity_noise_horizontal"),
        "gnss_velocity_vertical": noisy * number("gnss.velocity_noise_vertical"),
        "gnss_outage_start": start,
        "gnss_outage_end": start + number("gnss.outage_duration"),
        "gnss_rest_follow": follow,
        "gnss_rest_spread": spread,
        "gnss_rest_share": np.sqrt(interval / wait),
    }


def _barometer(number: Callable[[str], Floats]) -> dict[str, Values]:
    interval, lag = 1.0 / number("barometer.rate"), number("barometer.lag")
    tick = 1.0 / number("flight_computer.control_rate")
    wait = np.maximum(number("alignment.wait"), interval)
    resolution = number("barometer.resolution")
    resolution = np.where(resolution > 0.0, resolution, FINE)
    noise = number("barometer.noise")
    ticks = lag / tick
    return {
        "barometer_fitted": 1.0,
        "barometer_x": -number("barometer.station"),
        "barometer_interval": interval,
        "barometer_noise": noise,
        "barometer_rest_noise": noise * np.sqrt(interval / wait),
        "barometer_drift": number("barometer.drift"),
        "barometer_speed_share": number("barometer.pressure_coefficient")
        / (2.0 * STANDARD_GRAVITY),
        "barometer_plume": number("barometer.plume_offset"),
        "barometer_resolution": resolution,
        "barometer_steps": 1.0 / resolution,
        "barometer_keep": np.exp(-1.0 / np.maximum(ticks, 1e-3)),
        "barometer_ticks": ticks,
    }


def _range_finder(number: Callable[[str], Floats]) -> dict[str, Values]:
    return {
        "range_fitted": 1.0,
        "range_x": -number("range_finder.station"),
        "range_interval": 1.0 / number("range_finder.rate"),
        "range_noise": number("range_finder.noise"),
        "range_longest": number("range_finder.longest"),
        "range_dust_height": number("range_finder.dust_height"),
        "range_dust_chance": number("range_finder.dust_dropout"),
    }


def with_aids(core: Mapping[str, Floats], value: Value, scenario: Scenario) -> dict[str, Floats]:
    """The vehicle's body with its aids as point masses on the axis, about the common cg.

    Parameters
    ----------
    core : mapping of str to array
        mass [kg], cg x, y, z [m, body coordinates] and the tensor jxx, jyy, jzz, jxy, jxz, jyz
        about it [kg m2].
    value, scenario
        As in `aid_fields`.

    Returns
    -------
    dict of str to array
        The same names; `core` as it was without aids.

    Notes
    -----
    Parallel axes; the element jxy of the tensor is minus the integral of x y.
    """
    body = dict(core)
    for part in FITTED:
        if not scenario.has(part):
            continue
        mass, x = np.asarray(value(f"{part}.mass")), -np.asarray(value(f"{part}.station"))
        total = body["mass"] + mass
        dx, dy, dz = x - body["x"], -body["y"], -body["z"]
        both = body["mass"] * mass / total  # reduced mass: two bodies about their common cg
        body |= {
            "mass": total,
            "x": body["x"] + mass / total * dx,
            "y": body["y"] + mass / total * dy,
            "z": body["z"] + mass / total * dz,
            "jxx": body["jxx"] + both * (dy**2 + dz**2),
            "jyy": body["jyy"] + both * (dx**2 + dz**2),
            "jzz": body["jzz"] + both * (dx**2 + dy**2),
            "jxy": body["jxy"] - both * dx * dy,
            "jxz": body["jxz"] - both * dx * dz,
            "jyz": body["jyz"] - both * dy * dz,
        }
    return body
