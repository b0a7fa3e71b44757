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
        return dict.fromkeys(nothing, 0.0) | {"strut_sign": 1.0, "leg_inertia": 1.0}
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
    spring, gas = kind == "spring", kind == "gas"
    stroke = _number(value, "legs.stroke")
    radius = _number(value, "legs.bore") / 2.0
    hole = _number(value, "legs.orifice") / 2.0
    return {
        "strut_preload": value("legs.preload"),
        "strut_rate": value("legs.stiffness" if spring else "legs.return_stiffness"),
        "strut_damping": value("legs.damping" if spring else "legs.joint_damping"),
        "strut_stroke": stroke,
        "stop_stiffness": value("legs.stop_stiffness"),
        "stop_damping": value("legs.stop_damping"),
        "gas_area": np.pi * radius**2,
        "gas_length": value("legs.gas_length"),
        "gas_vent": value("legs.vent"),
        "gas_orifice": np.pi * hole**2 * _number(value, "legs.discharge_coefficient"),
        "gas_exponent": value("legs.gas_exponent"),
        "gas_pressure": value("site.pressure"),
        "gas_temperature": value("site.temperature"),
        "seal_friction": value("legs.seal_friction") if gas else 0.0,
        "crush_force": value("legs.crush_force"),
        "crush_stiffness": value("legs.crush_stiffness"),
        "crush_dense": stroke * _number(value, "legs.densification"),
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
    steps = int(np.ceil(max(wanted, interval * _fastest(scenario, kind) / STEADY) - 1e-9))
    if steps > MOST_CONTACT_STEPS:
        raise UserMistake(
            f"the legs and the ground are so stiff that a tick would need {steps} contact steps: "
            "lower surface.stiffness, legs.stop_stiffness or legs.crush_stiffness, or give "
            "legs.moving_mass more"
        )
    return Design(scenario.choices["legs.kind"] == "hinged", STRUTS.index(kind), max(steps, 1))


def _fastest(scenario: Scenario, kind: str) -> float:
    """Fastest natural frequency [rad/s] of a foot or the body, at the nominal numbers."""
    number = {name: found.value for name, found in scenario.numbers.items()}
    fields = leg_fields(lambda name: number[name], scenario)
    ground = float(np.asarray(fields["bristle_stiffness"])) / number["surface.shear"]
    if fields["ground_hertz"]:
        ground *= np.sqrt(5.0)  # as stiff as at 5 mm
    count = max(int(scenario.choices["legs.count"]), 1) if scenario.has("legs") else 9
    body = ground * max(1.0, number["surface.shear"]) * count / number["vehicle.dry_mass"]
    if kind == "rigid":
        # a foot far from the axis meets less than the whole mass
        return float(np.sqrt(4.0 * body))
    inner = {
        "spring": number["legs.stiffness"], "gas": number["legs.return_stiffness"],
        "crush": number["legs.crush_stiffness"], "friction": number["legs.slide_stiffness"],
    }[kind]  # fmt: skip
    lever = 1.0
    if scenario.choices["legs.kind"] == "hinged":
        lever = _lever(number)
    strut = (number["legs.stop_stiffness"] + inner) * lever**2
    return float(max(np.sqrt((ground + strut) / number["legs.moving_mass"]), np.sqrt(4.0 * body)))


def _lever(number: dict[str, float]) -> float:
    """Stroke of the strut over way of the foot of a hinged leg, open."""
    hx, hr = number["legs.hinge_station"], number["legs.hinge_radius"]
    dx, dr = number["legs.foot_station"] - hx, number["legs.foot_radius"] - hr
    share = number["legs.strut_place"]
    sx = hx + share * dx - number["legs.anchor_station"]
    sr = hr + share * dr - number["legs.anchor_radius"]
    cross = abs(sx * dr - sr * dx)
    return float(share * cross / (np.hypot(sx, sr) * np.hypot(dx, dr) + 1e-12))
