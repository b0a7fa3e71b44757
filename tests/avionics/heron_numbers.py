"""A stand-in for a scenario: the numbers that the avionics read, near those of the demo vehicle."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

DEGREE, STANDARD_GRAVITY = np.pi / 180.0, 9.80665

NUMBERS = {
    "site.latitude": 47.0 * DEGREE,
    "site.elevation": 120.0,
    "site.pressure": 1e5,
    "site.temperature": 288.15,
    "vehicle.length": 1.0,
    "vehicle.diameter": 0.076,
    "vehicle.dry_mass": 1.26,
    "vehicle.cg": 0.56,
    "vehicle.axial_inertia": 1.3e-3,
    "vehicle.transverse_inertia": 0.098,
    "stage.mass": 0.24,
    "stage.cg": 1.10,
    "stage.transverse_inertia": 9e-4,
    "stage.end": 1.22,
    "ascent_motor.propellant_mass": 0.038,
    "ascent_motor.propellant_cg": 1.13,
    "ascent_motor.ignition_delay": 0.09,
    "landing_motor.propellant_mass": 0.052,
    "landing_motor.propellant_cg": 0.93,
    "landing_motor.impulse_factor": 1.0,
    "landing_motor.burn_time_factor": 1.0,
    "landing_motor.ignition_delay": 0.09,
    "ascent_gimbal.pivot": 1.06,
    "ascent_gimbal.travel": 6.0 * DEGREE,
    "landing_gimbal.pivot": 0.88,
    "landing_gimbal.travel": 6.0 * DEGREE,
    "throttle.authority": 0.35,
    "throttle.lag": 0.04,
    "wheels.torque": 0.04,
    "wheels.momentum": 0.06,
    "legs.foot_station": 1.10,
    "legs.drag_area": 0.003,
    "legs.mass_shift": 0.012,
    "legs.inertia_gain": 0.0,
    "petals.drag_area": 0.018,
    "launch_pad.height": 0.15,
    "launch_pad.heading": 0.0,
    "landing_pad.east": 4.0,
    "landing_pad.north": 0.0,
    "landing_pad.height": 0.0,
    "inertial.station": 0.35,
    "inertial.offset_y": 0.012,
    "inertial.offset_z": 0.0,
    "inertial.rate": 200.0,
    "inertial.vibration.level": STANDARD_GRAVITY,
    "alignment.wait": 10.0,
    "alignment.heading_error": 0.0,
    "alignment.level_error.y": 0.0,
    "alignment.level_error.z": 0.0,
    "flight_computer.lift_off_threshold": 1.5 * STANDARD_GRAVITY,
    "flight_computer.climb_tilt": 2.0 * DEGREE,
    "flight_computer.climb_time": 0.35,
    "flight_computer.coast_time": 6.0,
    "flight_computer.wind_drift": 0.0,
    "wind.speed": 0.0,
    "wind.direction": 0.0,
    "wind.reading_speed_error": 0.0,
    "wind.reading_direction_error": 0.0,
    "flight_computer.climb_tilt_start": 0.5,
    "flight_computer.climb_tilt_end": 1.4,
    "flight_computer.bandwidth": 7.0,
    "flight_computer.damping": 0.8,
    "flight_computer.integral": 0.8,
    "flight_computer.roll_bandwidth": 5.0,
    "flight_computer.wheel_bandwidth": 3.0,
    "flight_computer.wheel_unload": 0.0,
    "flight_computer.separation_after_burn_out": 0.15,
    "flight_computer.legs_after_ignition": 0.2,
    "flight_computer.ignition_margin": 0.5,
    "flight_computer.ignition_height": 12.0,
    "flight_computer.ignition_time": 7.0,
    "flight_computer.touchdown_sink_rate": 0.6,
    "flight_computer.sink_gain": 3.0,
    "flight_computer.guidance_tilt": 8.0 * DEGREE,
    "flight_computer.guidance_freeze": 0.4,
    "flight_computer.control_rate": 200.0,
    "flight_computer.divert_tilt": 25.0 * DEGREE,
    "flight_computer.divert_way": 0.0,
    "swap.travel": 0.0,
    "swap.case_mass": 0.0,
    "swap.case_cg": 0.0,
}
CHOICES = {
    "site.gravity": "normal",
    "wheels.axes": "all",
    "wind.law": "power",
    "alignment.attitude": "plumb",
    "alignment.zeroing": "none",
    "flight_computer.climb": "programme",
    "flight_computer.lift_off_samples": 8,
    "flight_computer.schedule_gains": True,
    "flight_computer.petals_at": "apogee",
    "flight_computer.check_stage": False,
    "flight_computer.check_light": False,
    "flight_computer.check_continuity": False,
    "flight_computer.hold": False,
    "flight_computer.on_fault": "parachute",
    "flight_computer.ignition": "table",
    "flight_computer.surplus": "throttle",
    "swap.kind": "none",
}
# time [s], thrust [N]
ASCENT_CURVE = np.array(
    [[0.0, 0.0], [0.02, 70.0], [0.1, 60.0], [0.9, 52.0], [1.3, 45.0], [1.36, 0.0]]
)
LANDING_CURVE = np.array(
    [[0.0, 0.0], [0.03, 36.0], [1.25, 36.0], [1.35, 14.5], [3.45, 14.5], [3.5, 0.0]]
)


def _inertial_numbers():
    """All errors of the inertial unit, switched off."""
    numbers = {}
    for sensor in ("gyro", "accelerometer"):
        names = ["bias", "scale_factor", "misalignment", "vibration_rectification"]
        names += ["g_sensitivity"] if sensor == "gyro" else []
        numbers |= {f"inertial.{sensor}.{name}.{a}": 0.0 for name in names for a in "xyz"}
        names = ("noise", "instability", "range", "resolution", "bandwidth")
        numbers |= {f"inertial.{sensor}.{name}": 0.0 for name in names}
        numbers[f"inertial.{sensor}.instability_time"] = 100.0
    return numbers


def heron(numbers=None, choices=None, absent=()):
    """A stand-in for `sim.scenario.Scenario` with these changes, ideal sensors, no aids."""
    absent = (*absent, "gnss", "barometer", "range_finder")
    values = NUMBERS | _inertial_numbers() | (numbers or {})
    return SimpleNamespace(
        numbers={k: SimpleNamespace(value=v, believed=v, given=True) for k, v in values.items()},
        choices=CHOICES | (choices or {}),
        curves={"ascent_motor.curve": ASCENT_CURVE, "landing_motor.curve": LANDING_CURVE},
        has=lambda part: part not in absent,
    )
