"""A divert, as the flight computer is told of it before the flight."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.avionics.divert import DIVERT, OPEN_LOOP

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]

SURPLUS = {"throttle": 0.0, "none": 0.0, "divert": DIVERT, "divert_open_loop": OPEN_LOOP}
EFFECT = 0.7  # of the cosine lost at the largest lean, over a boost: the vehicle has to swing over


def vertical_share(tilt: float) -> float:
    """Share of a push that acts upwards when it leans by this angle [rad]: its cosine."""
    return math.cos(tilt)


def diverts(scenario: Scenario) -> bool:
    """Whether surplus thrust is shed by leaning."""
    return SURPLUS[str(scenario.choices["flight_computer.surplus"])] > 0.0


def planned_least(scenario: Scenario, least: float) -> float:
    """Least mean share of the thrust that the landing is planned with, given the throttle's."""
    if not diverts(scenario):
        return least
    tilt = float(scenario.numbers["flight_computer.divert_tilt"].believed)
    return 1.0 - EFFECT * (1.0 - vertical_share(tilt))


def divert_settings(
    scenario: Scenario, boost_end: float, push: Floats, step: float
) -> dict[str, float]:
    """Fields of sim.avionics.memory.SETTINGS that concern a divert.

    Parameters
    ----------
    scenario : Scenario
    boost_end : float [s]
        After light; 0 for a motor without a weak part.
    push : array [m/s^2]
        Nominal push, every `step` seconds after light.
    step : float [s]
    """

    def believed(key: str) -> float:
        return float(scenario.numbers[key].believed)

    east, north = believed("landing_pad.east"), believed("landing_pad.north")
    distance = math.hypot(east, north)
    until = round(boost_end / step) + 1
    return {
        "surplus": SURPLUS[str(scenario.choices["flight_computer.surplus"])],
        "divert_half_sine": math.sin(0.5 * believed("flight_computer.divert_tilt")),
        "boost_push": float(np.trapezoid(push[:until], dx=step)),
        "divert_to_east": east / distance if distance else 1.0,
        "divert_to_north": north / distance if distance else 0.0,
        "divert_way": believed("flight_computer.divert_way") if diverts(scenario) else 0.0,
    }
