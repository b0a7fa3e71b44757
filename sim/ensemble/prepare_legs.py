"""Legs, struts and ground: from the drawn numbers of a scenario to the fields of the kernel."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.physics.standing import Design
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Values = Floats | float
Value = Callable[[str], Values]
Fields = dict[str, Values]

STRUTS = ("rigid", "spring", "gas", "crush", "friction")  # numbers of sim.physics.struts
HERTZ_DEPTH = 1e-3  # m, at which a Hertz contact has the stiffness that was given
STEADY = 0.5  # a contact step times the fastest natural frequency is at most this
STILL_TIME = 0.1  # s, for which a vehicle must be still to be at rest
MOST_CONTACT_STEPS = 400  # in a tick
SPIKES_BITE = {"short_grass": 1.0, "dry_dirt": 0.6, "built_pad": 0.0}  # of their hold, assumed


def leg_fields(value: Value, scenario: Scenario) -> Fields:
    """Inputs of `sim.physics.legs`, `struts`, `ground` and `standing`.

    Parameters
    ----------
    value : callable
        Drawn numbers by dotted name.
    scenario : Scenario

    Returns
    -------
    dict of str to float or array
    """
    return {
        **_ground(value, scenario),
        **_geometry(value, scenario),
        **_strut(value, scenario),
        "frame_grip": value("surface.airframe_grip"),
        "settle_longest": value("flight.settle_longest"),
        "still_time": STILL_TIME,
    }


def _number(value: Value, name: str) -> Floats:
    return np.asarray(value(name), dtype=np.float64)


def _ground(value: Value, scenario: Scenario) -> Fields:
    wet = _number(value, "surface.moisture")
    softer = 1.0 + wet * (_number(value, "surface.wet_stiffness") - 1.0)
    slicker = 1.0 + wet * (_number(value, "surface.wet_friction") - 1.0)
    foot = _number(value, "legs.foot_stiffness")
    ground = _number(value, "surface.stiffness") * softer
    stiffness = ground * foot / (ground + foot)  # in series
    hertz = scenario.choices["surface.law"] == "hertz"
    slope = np.tan(_number(value, "surface.slope"))
    towards = _number(value, "surface.slope_direction")
    spiked = scenario.has("legs") and scenario.choices["legs.foot"] == "spiked"
    bite = SPIKES_BITE[str(scenario.choices["surface.kind"])] if spiked else 0.0
    static = np.maximum(_number(value, "surface.friction_static"), 0.0) * slicker
    kinetic = np.maximum(_number(value, "surface.friction_kinetic"), 0.0) * slicker
    shear = stiffness * _number(value, "surface.shear")
    return {
        "ground_stiffness": stiffness / np.sqrt(HERTZ_DEPTH) if hertz else stiffness,
        "ground_hertz": float(hertz),
        "ground_damping": value("surface.damping"),
        "ground_dashpot": value("surface.dashpot"),
        "friction_static": static,
        "friction_kinetic": np.minimum(kinetic, static),
        "friction_speed": value("surface.friction_speed"),
        "bristle_stiffness": shear,
        # a tenth of critical damping for a kilogram a foot, while it holds
        "bristle_damping": 0.2 * np.sqrt(shear),
        "foot_hold": bite * _number(value, "legs.spike_hold"),
        "foot_pull_out": bite * _number(value, "legs.spike_pull_out"),
        "foot_bite": value("legs.spike_length"),
        "slope_east": -slope * np.sin(towards),
        "slope_north": -slope * np.cos(towards),
        "roughness": value("surface.roughness"),
        "stiffness_patches": value("surface.stiffness_patches"),
        "friction_patches": value("surface.friction_patches"),
    }


def _geometry(value: Value, scenario: Scenario) -> Fields:
    if not scenario.has("legs"):
        nothing = ("hinge_x", "hinge_radius", "anchor_x", "anchor_radius", "strut_share",
                   "strut_length", "leg_latch_failure", "leg_stuck")  # fmt: skip
        fields: Fields = dict.fromkeys(nothing, 0.0)
        return fields | {"strut_sign": 1.0, "leg_inertia": 1.0}
    foot_x, foot_radius = -_number(value, "legs.foot_station"), _number(value, "legs.foot_radius")
    hinge_x = -_number(value, "legs.hinge_station")
    hinge_radius = _number(value, "legs.hinge_radius")
    anchor_x = -_number(value, "legs.anchor_station")
    anchor_radius = _number(value, "legs.anchor_radius")
    share = _number(value, "legs.strut_place")
    dx, dr = foot_x - hinge_x, foot_radius - hinge_radius
    sx, sr = hinge_x + share * dx - anchor_x, hinge_radius + share * dr - anchor_radius
    mass = _number(value, "legs.moving_mass")
    hinged = scenario.choices["legs.kind"] == "hinged"
    return {
        "hinge_x": hinge_x,
        "hinge_radius": hinge_radius,
        "anchor_x": anchor_x,
        "anchor_radius": anchor_radius,
        "strut_share": share,
        "strut_length": np.hypot(sx, sr),
        # the strut gets shorter as the foot swings out and up, or longer
        "strut_sign": np.where(sx * dr - sr * dx < 0.0, 1.0, -1.0),
        "leg_inertia": mass * (dx**2 + dr**2) if hinged else mass,
        "leg_latch_failure": value("legs.latch_failure"),
        "leg_stuck": value("legs.stays_folded"),
    }


def _strut(value: Value, scenario: Scenario) -> Fields:
    kind = strut_of(scenario)
    second = second_strut_of(scenario)
    spring = "spring" in (kind, second)
    stroke = _number(value, "legs.stroke")
    radius = _number(value, "legs.bore") / 2.0
    hole = _number(value, "legs.orifice") / 2.0
    return {
        # a crush core and a friction damper push nothing out again
        "strut_preload": np.where(
            spring | (kind == "gas") | (_number(value, "legs.return_stiffness") > 0.0),
            _number(value, "legs.preload"), 0.0,
        ),
        "strut_rate": value("legs.stiffness"),
        "strut_damping": value("legs.damping"),
        # a spring strut brings its own damping
        "beside_rate": 0.0 if kind == "spring" else value("legs.return_stiffness"),
        "joint_damping": 0.0 if spring else value("legs.joint_damping"),
        "strut_stroke": value("legs.second_stroke") if swapped(scenario) else stroke,
        "second_stroke": stroke if swapped(scenario) else value("legs.second_stroke"),
        "stop_stiffness": value("legs.stop_stiffness"),
        "stop_damping": value("legs.stop_damping"),
        "gas_area": np.pi * radius**2,
        "gas_length": value("legs.gas_length"),
        "gas_vent": value("legs.vent"),
        "gas_orifice": np.pi * hole**2 * _number(value, "legs.discharge_coefficient"),
        "gas_exponent": value("legs.gas_exponent"),
        "gas_pressure": value("site.pressure"),
        "gas_temperature": value("site.temperature"),
        "seal_friction": value("legs.seal_friction"),
        "crush_force": value("legs.crush_force"),
        "crush_stiffness": value("legs.crush_stiffness"),
        "crush_dense": (value("legs.second_stroke") if second == "crush" else stroke)
        * _number(value, "legs.densification"),
        "crush_rise": value("legs.crush_rise"),
        "slide_force": value("legs.slide_force"),
        "break_force": np.maximum(
            _number(value, "legs.break_force"), _number(value, "legs.slide_force")
        ),
        "slide_stiffness": value("legs.slide_stiffness"),
        "slide_speed": value("legs.slide_speed"),
    }


def strut_of(scenario: Scenario) -> str:
    """Kind of the struts; rigid without legs."""
    return str(scenario.choices["legs.strut"]) if scenario.has("legs") else "rigid"


def second_strut_of(scenario: Scenario) -> str:
    """Kind of the struts in series with them; rigid for none."""
    found = str(scenario.choices["legs.second_strut"]) if scenario.has("legs") else "none"
    return "rigid" if found == "none" else found


def swapped(scenario: Scenario) -> bool:
    """Whether the kernel takes the second strut first: forces in series do not ask which."""
    return second_strut_of(scenario) == "spring"


def design_of(scenario: Scenario, interval: float) -> Design:
    """Kind of the legs, and how many contact steps a tick needs.

    Parameters
    ----------
    scenario : Scenario
    interval : float [s]
        Tick of the flight computer.

    Returns
    -------
    Design

    Raises
    ------
    UserMistake
        The contact is too stiff for any step that could be flown.
    """
    from sim.physics.standing import Design

    kind = strut_of(scenario)
    wanted = interval / scenario.numbers["flight.contact_step"].value
    steps = int(np.ceil(max(wanted, interval * _fastest(scenario) / STEADY) - 1e-9))
    if steps > MOST_CONTACT_STEPS:
        raise UserMistake(
            f"the legs and the ground are so stiff that a tick would need {steps} contact steps: "
            "lower surface.stiffness or legs.foot_stiffness"
        )
    first, second = STRUTS.index(kind), STRUTS.index(second_strut_of(scenario))
    if swapped(scenario):
        first, second = second, first
    return Design(scenario.choices["legs.kind"] == "hinged", first, second, max(steps, 1))


def _fastest(scenario: Scenario) -> float:
    """Fastest natural frequency [rad/s] of the body on its feet, at the nominal numbers."""
    number = {name: found.value for name, found in scenario.numbers.items()}
    fields = leg_fields(lambda name: number[name], scenario)
    ground = float(np.asarray(fields["bristle_stiffness"])) / number["surface.shear"]
    if fields["ground_hertz"]:
        ground *= np.sqrt(5.0)  # as stiff as at 5 mm
    count = max(int(scenario.choices["legs.count"]), 1) if scenario.has("legs") else 9
    body = ground * max(1.0, number["surface.shear"]) * count / number["vehicle.dry_mass"]
    # a foot far from the axis meets less than the whole mass; legs themselves go at any step
    return float(np.sqrt(4.0 * body))
