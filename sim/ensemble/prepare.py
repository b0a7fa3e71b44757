"""From the drawn numbers of a scenario to the fields that the flight kernel reads.

Every function here is arithmetic over many flights at once: numbers in by dotted name, fields out
by the names in `sim.flight_records.INPUTS`. Body coordinates: x is minus the station.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.air_shape import FinSet, Outline, shape_of
from sim.ensemble.fault_fields import apply_faults, cables, parachute_fields
from sim.ensemble.field_wind import field_wind
from sim.ensemble.gravity import gravity_line
from sim.ensemble.prepare_aids import aid_fields, with_aids
from sim.ensemble.prepare_inertial import inertial_fields
from sim.ensemble.prepare_legs import leg_fields
from sim.ensemble.swap import mount_of, swap_fields
from sim.ensemble.thrust_curves import reduced_curve
from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Values = Floats | float
Value = Callable[[str], Values]
Fields = dict[str, Values]

GAS_CONSTANT = 287.05287  # J/(kg K)
NEVER = 1e30  # s, the kernel's time that never comes
TWENTY_FEET = 6.096  # m
LAGLESS = 200.0  # 1/s, stands for a throttle or servo without lag, within the reach of the step
DELAY_LINE = 5  # commands that a servo's delay may reach back over, this tick's among them
WIND_LAWS = {"power": 0.0, "log": 1.0, "profile": 2.0}


def flight_inputs(values: Mapping[str, Values], scenario: Scenario, count: int) -> Floats:
    """Inputs of the flight kernel for many flights.

    Parameters
    ----------
    values : mapping of str to float or array (count,)
        True numbers by dotted name, SI. A name that is missing takes the scenario's value.
    scenario : Scenario
    count : int
        Flights.

    Returns
    -------
    float64 array (len(INPUTS), count)

    Raises
    ------
    UserMistake
        If the numbers cannot be flown: what and why.
    """
    from sim.flight_records import INPUTS

    def value(name: str) -> Values:
        return values[name] if name in values else scenario.numbers[name].value

    fields: Fields = {
        **_air(value, scenario),
        **_wind(value, scenario),
        **_bodies(value, scenario),
        **_motor("ascent", value, scenario),
        **_motor("landing", value, scenario),
        **_servo("ascent", value, scenario),
        **_servo("landing", value, scenario),
        **_throttle(value, scenario),
        **_wheels(value, scenario),
        **_shapes(value, scenario),
        **_points(value, scenario),
        **_parting(value, scenario),
        **_start(value, scenario),
        **inertial_fields(values, scenario),
        **aid_fields(value, scenario),
        **leg_fields(value, scenario),
        **parachute_fields(value, scenario),
        **swap_fields(value, scenario),
    }
    fields = apply_faults(fields, value, scenario)
    table = np.empty((len(INPUTS), count))
    for row, name in enumerate(INPUTS):
        table[row] = fields[name]
    return table


# ---- the day -------------------------------------------------------------------------------------


def _air(value: Value, scenario: Scenario) -> Fields:
    gravity, slope, curvature = gravity_line(
        str(scenario.choices["site.gravity"]), value("site.latitude"), value("site.elevation")
    )
    airless = scenario.choices["aerodynamics.law"] == "none"
    temperature = value("site.temperature")
    density = np.asarray(value("site.pressure")) / (GAS_CONSTANT * np.asarray(temperature))
    return {
        "air_density": 0.0 if airless else density,
        "air_temperature": temperature,
        "elevation": value("site.elevation"),
        "gravity": gravity,
        "gravity_slope": slope,
        "gravity_curvature": curvature,
    }


def _wind(value: Value, scenario: Scenario) -> Fields:
    read, toward = field_wind(value, scenario)
    speed = np.asarray(read, dtype=np.float64)
    law = str(scenario.choices["wind.law"])
    reference = np.asarray(value("wind.reference_height"))
    if law == "power":
        at_twenty_feet = (TWENTY_FEET / reference) ** np.asarray(value("wind.exponent"))
    elif law == "log":
        roughness = np.asarray(value("wind.roughness"))
        at_twenty_feet = np.log(TWENTY_FEET / roughness) / np.log(reference / roughness)
    else:
        profile = scenario.curves["wind.profile"]
        at_twenty_feet = np.interp(TWENTY_FEET, profile[:, 0], profile[:, 1])
        speed = np.asarray(1.0)  # a profile is flown as it was measured
    return {
        "wind_speed": speed,
        "wind_to_east": np.sin(toward),
        "wind_to_north": np.cos(toward),
        "wind_log_law": WIND_LAWS[law],
        "wind_reference_height": reference,
        "wind_exponent": value("wind.exponent"),
        "wind_roughness": value("wind.roughness"),
        "turbulence": 1.0 if scenario.choices["wind.turbulence"] == "dryden" else 0.0,
        "turbulence_speed": np.abs(speed) * at_twenty_feet,
        "gust_speed": value("wind.gust_speed"),
        "gust_start": value("wind.gust_start"),
        "gust_length": value("wind.gust_length"),
    }


# ---- the vehicle ---------------------------------------------------------------------------------


def _bodies(value: Value, scenario: Scenario) -> Fields:
    """Mass, cg and inertia without propellant, with the stage (stack) and without it (core)."""
    mass = np.asarray(value("vehicle.dry_mass"), dtype=np.float64)
    x = -np.asarray(value("vehicle.cg"), dtype=np.float64)
    offset = np.asarray(value("vehicle.cg_offset"))
    clocking = np.asarray(value("vehicle.cg_offset_clocking"))
    y, z = offset * np.cos(clocking), offset * np.sin(clocking)
    transverse = np.asarray(value("vehicle.transverse_inertia"))
    asymmetry = np.asarray(value("vehicle.transverse_asymmetry"))
    axial = np.asarray(value("vehicle.axial_inertia"))
    # a product of inertia is the integral of x z, the tensor's element is minus that
    product = -np.asarray(value("vehicle.product_inertia"))
    zero = 0.0 * mass
    core = {
        "mass": mass, "x": x, "y": y, "z": z, "jxx": axial,
        "jyy": transverse * (1.0 + asymmetry), "jzz": transverse * (1.0 - asymmetry),
        "jxy": zero, "jxz": product, "jyz": zero,
    }  # fmt: skip
    core = with_aids(core, value, scenario)
    staged = scenario.has("stage")
    stack = _with_stage(core, value) if staged else core
    fields: Fields = {f"core_{name}": number for name, number in core.items()}
    fields |= {f"stack_{name}": number for name, number in stack.items()}
    fields |= {
        "has_stage": float(staged),
        "legs_open_at_start": _at_start("legs", scenario),
        "petals_open_at_start": _at_start("petals", scenario),
        "legs_shift": value("legs.mass_shift"),
        "legs_gain": value("legs.inertia_gain"),
        "unit_x": -np.asarray(value("inertial.station")),
        "unit_y": value("inertial.offset_y"),
        "unit_z": value("inertial.offset_z"),
    }
    return fields


def _at_start(part: str, scenario: Scenario) -> float:
    """A body released in the air has its legs and petals open."""
    return float(scenario.has(part) and scenario.choices["start.mode"] == "free")


def _with_stage(core: Mapping[str, Floats], value: Value) -> dict[str, Floats]:
    """The core and the ascent stage as one body, about their common cg (parallel axes)."""
    other, station = np.asarray(value("stage.mass")), -np.asarray(value("stage.cg"))
    mass = core["mass"] + other
    x = (core["mass"] * core["x"] + other * station) / mass
    y, z = core["mass"] * core["y"] / mass, core["mass"] * core["z"] / mass
    dx, dy, dz = core["x"] - x, core["y"] - y, core["z"] - z
    ex = station - x
    m = core["mass"]
    along = m * dx**2 + other * ex**2
    second_y, second_z = m * dy**2 + other * y**2, m * dz**2 + other * z**2
    axial, transverse = (
        np.asarray(value("stage.axial_inertia")),
        np.asarray(value("stage.transverse_inertia")),
    )
    return {
        "mass": mass, "x": x, "y": y, "z": z,
        "jxx": core["jxx"] + axial + second_y + second_z,
        "jyy": core["jyy"] + transverse + along + second_z,
        "jzz": core["jzz"] + transverse + along + second_y,
        "jxy": core["jxy"] - (m * dx * dy - other * ex * y),
        "jxz": core["jxz"] - (m * dx * dz - other * ex * z),
        "jyz": core["jyz"] - (m * dy * dz + other * y * z),
    }  # fmt: skip


def _motor(name: str, value: Value, scenario: Scenario) -> Fields:
    """One motor of this flight against its logged curve."""
    part = f"{name}_motor"
    curve = reduced_curve(scenario, part)

    def number(key: str) -> Floats:
        return np.asarray(value(f"{part}.{key}"), dtype=np.float64)

    impulse = number("impulse_factor") * (1.0 + number("label_bias"))
    warmth = number("grain_temperature") - number("reference_temperature")
    quicker = np.exp(number("temperature_sensitivity") * warmth)  # Sutton and Biblarz, ch. 12
    stretch = number("burn_time_factor") / quicker
    total = curve.total_impulse if curve else 1.0
    tilt, tilt_clocking = number("misalignment"), number("misalignment_clocking")
    offset, offset_clocking = number("offset"), number("offset_clocking")
    mount = mount_of(name, scenario)
    pivot = f"{mount}.pivot" if scenario.has(mount) else f"{part}.nozzle"
    length, radius = np.asarray(value(f"{part}.grain_length")), np.asarray(
        value(f"{part}.grain_diameter")
    ) / 2.0
    return {
        f"{name}_thrust_scale": impulse / stretch,
        f"{name}_time_scale": stretch,
        f"{name}_delay": number("ignition_delay") if curve else NEVER,
        f"{name}_total": total * impulse,
        # the line leans towards (cos, sin) of the clocking in (y, z): thrust along (1, z, -y)
        f"{name}_angle_y": -tilt * np.sin(tilt_clocking),
        f"{name}_angle_z": tilt * np.cos(tilt_clocking),
        f"{name}_offset_y": offset * np.cos(offset_clocking),
        f"{name}_offset_z": offset * np.sin(offset_clocking),
        f"{name}_pivot_x": -np.asarray(value(pivot)),
        f"{name}_exit_x": -number("nozzle"),
        f"{name}_exit_gyration": radius**2 / 4.0,
        f"{name}_propellant": number("propellant_mass"),
        f"{name}_propellant_x": -number("propellant_cg"),
        f"{name}_gyration_axial": radius**2 / 2.0,
        f"{name}_gyration_transverse": radius**2 / 4.0 + length**2 / 12.0,
    }


def _servo(name: str, value: Value, scenario: Scenario) -> Fields:
    part = mount_of(name, scenario)
    present = scenario.has(part)

    def number(key: str) -> Floats:
        return np.asarray(value(f"{part}.{key}"), dtype=np.float64)

    tick = 1.0 / np.asarray(value("flight_computer.control_rate"))
    ticks = number("delay") / tick
    if np.any(ticks > DELAY_LINE - 1):
        most = (DELAY_LINE - 1) * 1e3 * float(np.min(tick))
        raise UserMistake(
            f"{part}.delay: {1e3 * float(np.max(number('delay'))):.1f} ms is longer than the "
            f"{DELAY_LINE - 1} control ticks that a servo's delay may take; at this "
            f"flight_computer.control_rate it may be {most:.0f} ms at most"
        )
    weights = {
        f"{name}_delay_{k}": np.clip(1.0 - np.abs(ticks - k), 0.0, 1.0) for k in range(DELAY_LINE)
    }
    frequency = number("natural_frequency")
    return {
        **weights,
        f"{name}_travel": number("travel") if present else 0.0,
        f"{name}_servo_rate": number("rate"),
        f"{name}_servo_frequency": np.where(frequency > 0.0, frequency, LAGLESS),
        f"{name}_servo_damping": number("damping"),
        f"{name}_zero_y": value(f"{part}.zero_offset.y"),
        f"{name}_zero_z": value(f"{part}.zero_offset.z"),
        f"{name}_backlash": number("backlash"),
        f"{name}_resolution": number("resolution"),
        f"{name}_swing_mass": number("swinging_mass"),
        f"{name}_swing_arm": number("swinging_arm"),
        **cables(
            name, number("cable_stiffness"), number("servo_torque"), number("servo_band")
        ),
    }


def _throttle(value: Value, scenario: Scenario) -> Fields:
    present = scenario.has("throttle")
    authority = np.asarray(value("throttle.authority"), dtype=np.float64)
    lag = np.maximum(np.asarray(value("throttle.lag"), dtype=np.float64), 1.0 / LAGLESS)
    tick = 1.0 / np.asarray(value("flight_computer.control_rate"))
    time = np.maximum(np.asarray(value("throttle.wander_time"), dtype=np.float64), 1e-3)
    deepest = np.maximum(authority, 1e-9)
    return {
        "throttle_authority": authority if present else 0.0,
        "throttle_quickness": 1.0 / lag,
        "throttle_gain": value("throttle.gain"),
        "throttle_wander": value("throttle.wander"),
        "throttle_wander_keep": np.exp(-tick / time),
        "throttle_side_y": np.asarray(value("throttle.side_force.y")) / deepest,
        "throttle_side_z": np.asarray(value("throttle.side_force.z")) / deepest,
    }


def _wheels(value: Value, scenario: Scenario) -> Fields:
    axes = str(scenario.choices["wheels.axes"]) if scenario.has("wheels") else "none"
    torque = np.asarray(value("wheels.torque"))
    return {
        "wheel_torque_x": torque if axes in ("all", "roll") else 0.0,
        "wheel_torque_yz": torque if axes == "all" else 0.0,
        "wheel_momentum": value("wheels.momentum"),
    }


# ---- outline -------------------------------------------------------------------------------------


def _aft_end(value: Value, scenario: Scenario) -> Floats:
    """Station of the aft end of the stack."""
    return np.asarray(value("stage.end" if scenario.has("stage") else "vehicle.length"))


def _shapes(value: Value, scenario: Scenario) -> Fields:
    aft = {"stack": _aft_end(value, scenario), "core": np.asarray(value("vehicle.length"))}
    fields: Fields = {}
    for name, length in aft.items():
        shape = shape_of(
            Outline(length, value("vehicle.diameter"), value("vehicle.nose_length")),
            fins=_fins(value, scenario),
            axial_factor=value("aerodynamics.axial_factor"),
            normal_factor=value("aerodynamics.normal_factor"),
            shift=value("aerodynamics.centre_of_pressure_shift"),
            tail_first_drag=value("aerodynamics.tail_first_drag"),
            base_coefficient=value("aerodynamics.base_drag"),
            base_left_burning=value("aerodynamics.base_drag_burning"),
            cross_flow_drag=value("aerodynamics.cross_flow_drag"),
            damping_factor=value("aerodynamics.damping_factor"),
        )
        fields |= {
            f"{name}_axial_nose": shape.axial_nose,
            f"{name}_axial_tail": shape.axial_tail,
            f"{name}_base": shape.base,
            f"{name}_slope_nose": shape.slope_nose,
            f"{name}_slope_nose_x": -np.asarray(shape.slope_nose_station),
            f"{name}_slope_tail": shape.slope_tail,
            f"{name}_slope_tail_x": -np.asarray(shape.slope_tail_station),
            f"{name}_side": shape.side,
            f"{name}_side_x": -np.asarray(shape.side_station),
            f"{name}_side_second": shape.side_second,
            f"{name}_side_third": shape.side_third,
        }
    fields |= {
        "table_axial": value("aerodynamics.axial_factor"),
        "table_normal": value("aerodynamics.normal_factor"),
        "table_shift": value("aerodynamics.centre_of_pressure_shift"),
        "petals_area": value("petals.drag_area"),
        "petals_x": -np.asarray(value("petals.station")),
        "legs_area": value("legs.drag_area"),
        "legs_x": -0.5 * (np.asarray(value("legs.foot_station")) + value("vehicle.length")),
        "ground_effect": value("aerodynamics.ground_effect"),
        "ground_reach": 3.0 * np.asarray(value("vehicle.diameter")),
    }
    return fields


def _fins(value: Value, scenario: Scenario) -> FinSet | None:
    if not scenario.has("fins"):
        return None
    return FinSet(
        int(scenario.choices["fins.count"]), value("fins.span"), value("fins.root_chord"),
        value("fins.tip_chord"), value("fins.sweep"), value("fins.station"),
    )  # fmt: skip


def _points(value: Value, scenario: Scenario) -> Fields:
    """Points that may touch the ground first."""
    length = np.asarray(value("vehicle.length"), dtype=np.float64)
    radius = np.asarray(value("vehicle.diameter")) / 2.0
    legged = scenario.has("legs")
    foot_radius = np.asarray(value("legs.foot_radius") if legged else radius)
    feet = np.asarray(value("legs.foot_station") if legged else length)
    folded = np.asarray(value("legs.folded_foot_station") if legged else length)
    pad = scenario.has("landing_pad")
    aft = np.maximum(_aft_end(value, scenario), feet)
    reach = np.hypot(aft, foot_radius) + np.abs(np.asarray(value("landing_pad.height"))) + 0.5
    return {
        "feet_radius": foot_radius,
        "feet_x": -feet,
        "folded_feet_radius": value("legs.folded_foot_radius") if legged else radius,
        "folded_feet_x": -folded,
        "nozzle_radius": 0.25 * np.asarray(value("vehicle.diameter")),
        "stack_tail_radius": radius,
        "core_tail_radius": radius,
        "stack_tail_x": -_aft_end(value, scenario),
        "core_tail_x": -length,
        "nose_x": 0.0,
        "pad_east": value("landing_pad.east"),
        "pad_north": value("landing_pad.north"),
        "pad_up": value("landing_pad.height"),
        "pad_radius": value("landing_pad.radius") if pad else NEVER,
        "reach": reach,
    }


# ---- events and start ----------------------------------------------------------------------------


def _parting(value: Value, scenario: Scenario) -> Fields:
    staged = scenario.has("stage")
    mass = np.asarray(value("stage.mass"))
    rate, clocking = np.asarray(value("stage.side_rate")), value("stage.side_rate_clocking")
    apart = np.abs(np.asarray(value("stage.cg")) - np.asarray(value("vehicle.cg")))
    return {
        "stage_mass": mass if staged else 1.0,
        "stage_x": -np.asarray(value("stage.cg")),
        "stage_drag_area": value("stage.drag_area"),
        "separation_impulse": value("stage.impulse"),
        "separation_rate_y": rate * np.cos(clocking),
        "separation_rate_z": rate * np.sin(clocking),
        "separation_delay": value("stage.delay"),
        "stage_clear": apart + 0.5,
        "legs_delay": value("legs.delay") if scenario.has("legs") else NEVER,
        "petals_delay": value("petals.delay") if scenario.has("petals") else NEVER,
    }


def _start(value: Value, scenario: Scenario) -> Fields:
    free = scenario.choices["start.mode"] == "free"
    tip = np.asarray(value("launch_pad.tip_off_rate"))
    clocking = value("launch_pad.tip_off_clocking")
    place = "start" if free else "launch_pad"
    return {
        "start_free": float(free),
        "start_east": value("start.east"),
        "start_north": value("start.north"),
        "start_up": value("start.height"),
        "start_velocity_east": value("start.velocity_east"),
        "start_velocity_north": value("start.velocity_north"),
        "start_velocity_up": value("start.velocity_up"),
        "start_rate_x": value("start.rate_x"),
        "start_rate_y": value("start.rate_y"),
        "start_rate_z": value("start.rate_z"),
        "start_tilt": value(f"{place}.tilt"),
        "start_tilt_direction": value(f"{place}.tilt_direction"),
        "start_heading": value(f"{place}.heading"),
        "start_height": value("launch_pad.height"),
        "tip_off_y": tip * np.cos(clocking),
        "tip_off_z": tip * np.sin(clocking),
    }
