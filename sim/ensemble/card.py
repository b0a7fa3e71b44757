"""What a card for the field must be told: settings of the computer, nominal times, motors."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.ensemble.fly_one import Event, events, fly_arrays
from sim.ensemble.protocols import Floats, FlyTrace
from sim.ensemble.settings import computer_settings

if TYPE_CHECKING:
    from sim.scenario import Scenario

MOTORS = ("ascent_motor", "landing_motor")


@dataclass(frozen=True)
class MotorData:
    """One motor as the scenario has it.

    Attributes
    ----------
    part : str
        Section of the scenario.
    impulse : float [N s]
    burn_time : float [s]
        Of the curve as logged, with its factor.
    peak : float [N]
    propellant : float [kg]
    delay : float [s]
        From command to thrust, nominal.
    temperature : float [K]
        Of the grain.
    """

    part: str
    impulse: float
    burn_time: float
    peak: float
    propellant: float
    delay: float
    temperature: float


@dataclass(frozen=True)
class CardFacts:
    """All that is computed for a card.

    Attributes
    ----------
    scenario : Scenario
    settings : mapping of str to float
        Every field of `sim.avionics.memory.SETTINGS`, SI.
    tables : mapping of str to array
        See `sim.ensemble.settings.computer_settings`.
    timeline : list of Event
        Of the nominal flight.
    motors : list of MotorData
    lift_off_mass, propellant : float [kg]
    top : float [m]
        Greatest height of the feet in the nominal flight.
    """

    scenario: Scenario
    settings: Mapping[str, float]
    tables: Mapping[str, Floats]
    timeline: list[Event]
    motors: list[MotorData]
    lift_off_mass: float
    propellant: float
    top: float


def gather_card(scenario: Scenario, *, fly_trace: FlyTrace | None = None) -> CardFacts:
    """Compute what a card shows; flies the nominal flight once.

    Raises
    ------
    UserMistake
        The scenario cannot be flown, or its flight computer cannot be set.
    """
    settings, tables = computer_settings(scenario)
    flight = fly_arrays(scenario, fly_trace=fly_trace)
    motors = [_motor(scenario, part) for part in MOTORS if scenario.has(part)]
    propellant = sum(motor.propellant for motor in motors)
    mass = _value(scenario, "vehicle.dry_mass") + propellant
    mass += _value(scenario, "stage.mass") if scenario.has("stage") else 0.0
    heights = np.asarray(flight.trace.get("height_feet", ()), dtype=np.float64)
    top = float(np.nanmax(heights)) if np.isfinite(heights).any() else math.nan
    return CardFacts(scenario, settings, tables, events(flight), motors, mass, propellant, top)


def _motor(scenario: Scenario, part: str) -> MotorData:
    time, thrust = scenario.curves[f"{part}.curve"].T
    total = float(np.sum(np.diff(time) * (thrust[1:] + thrust[:-1]) / 2.0))
    factor = _value(scenario, f"{part}.impulse_factor")
    factor *= 1.0 + _value(scenario, f"{part}.label_bias")
    stretch = _value(scenario, f"{part}.burn_time_factor")
    return MotorData(
        part, factor * total, stretch * float(time[-1] - time[0]),
        factor / stretch * float(thrust.max()), _value(scenario, f"{part}.propellant_mass"),
        _value(scenario, f"{part}.ignition_delay"), _value(scenario, f"{part}.grain_temperature"),
    )  # fmt: skip


def _value(scenario: Scenario, name: str) -> float:
    return float(scenario.numbers[name].value)
