"""Cheap flights with the outcomes and the trace of real ones, invented, for tests of the verbs."""

from __future__ import annotations

import numpy as np

FAILS_AT = 7  # this run of the stub ceases to be numbers


def fly(scenario, seed, runs, values, width=8):
    """Outcomes that depend on run, seed and two numbers alone."""
    count = len(runs)

    def value(name):
        return np.broadcast_to(values.get(name, scenario.numbers[name].value), (count,))

    noise = ((runs * 2654435761 + seed * 97) % 1009) / 1009.0
    angle = 2.0 * np.pi * ((runs * 40503 + seed) % 1013) / 1013.0
    tilt = np.abs(value("launch_pad.tilt"))
    distance = 0.2 + 2.0 * noise + 100.0 * tilt
    sink, sideways = 0.5 + noise, 0.1 + 30.0 * tilt
    speed = np.hypot(sink, sideways)
    failed = runs == FAILS_AT
    inside = distance < 2.72
    good = inside & (speed < 2.5) & (sideways < 0.8) & ~failed
    east, north = distance * np.cos(angle), distance * np.sin(angle)
    found = {
        "outcome": np.where(failed, 7, np.where(inside, 0, 1)),
        "success": good.astype(float),
        "contact_point": np.where(failed, 0.0, 1.0),
        "inside_landing_pad": inside & ~failed,
        "failed_time": np.where(failed, 1.5, np.nan),
    }
    measured = {
        "contact_time": 9.0 + noise, "miss_east": east, "miss_north": north,
        "rest_miss_east": 1.01 * east, "rest_miss_north": 1.01 * north,
        "miss_distance": distance, "touchdown_speed": speed, "sink_rate": sink,
        "lateral_speed": sideways, "tilt": 0.02 + tilt, "tilt_rate": 0.1 + tilt,
        "guidance_error_east": east + 0.1, "guidance_error_north": north - 0.1,
        "believed_landing_error_east": 0.1 + 0.0 * east,
        "believed_landing_error_north": -0.1 + 0.0 * east,
        "lift_off_time": 0.2 + 0.0 * noise, "ascent_burn_out_time": 1.5 + 0.0 * noise,
        "separation_time": 1.8 + 0.0 * noise, "apogee_time": 4.0 + 0.0 * noise,
        "ignition_command_time": 6.0 + 0.0 * noise, "landing_light_time": 6.2 + 0.0 * noise,
    }  # fmt: skip
    return found | {name: np.where(failed, np.nan, v) for name, v in measured.items()}


def fly_trace(scenario, seed, run, values, *, every=1, width=1):
    """Up and down a parabola, leaning a little; the nominal flight is like run 0."""
    outcomes = fly(scenario, seed, np.array([0 if run is None else run]), values)
    time = np.arange(0.0, 9.0, 0.05)
    zero = np.zeros_like(time)
    up = np.maximum(0.8 + 20.0 * time - 2.22 * time**2, 0.7)
    lean = np.radians(90.0 - 3.0 * np.sin(time))  # turn about y from level to upright
    series = {
        "time": time, "east": 0.4 * time, "north": zero, "up": up, "velocity_east": zero + 0.4,
        "velocity_north": zero, "velocity_up": 20.0 - 4.44 * time,
        "quaternion_0": np.cos(lean / 2), "quaternion_1": zero, "quaternion_2": -np.sin(lean / 2),
        "quaternion_3": zero, "mass": zero + 1.3, "throttle": zero + 1.0,
        "gimbal_y": 0.02 * np.sin(5 * time), "gimbal_z": zero, "height_feet": up - 0.6,
    }  # fmt: skip
    for i in range(4):
        series[f"believed_quaternion_{i}"] = series[f"quaternion_{i}"]
    for axis in ("east", "north", "up"):
        series[f"believed_{axis}"] = series[axis] + 0.01 * time
        series[f"true_unit_{axis}"] = series[axis]
        series[f"stage_{axis}"] = series[axis] - 0.3 * time
    return outcomes, series
