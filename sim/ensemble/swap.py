"""The motor swap as numbers: one mount for two motors, one of them carried ahead of its place."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sim.scenario import Scenario

Values = NDArray[np.float64] | float


def swaps(scenario: Scenario) -> bool:
    """Whether the landing motor slides into the place of the ascent motor."""
    return scenario.has("swap") and scenario.choices["swap.kind"] == "slide"


def mount_of(motor: str, scenario: Scenario) -> str:
    """Part that steers a motor, "ascent" or "landing": one mount serves both after a swap."""
    return "ascent_gimbal" if swaps(scenario) else f"{motor}_gimbal"


def swap_fields(value: Callable[[str], Values], scenario: Scenario) -> dict[str, Values]:
    """Fields of sim.physics.swap."""
    swap = swaps(scenario)
    return {
        "swap_travel": value("swap.travel") if swap else 0.0,
        "swap_case_mass": value("swap.case_mass") if swap else 0.0,
        "swap_case_x": -np.asarray(value("swap.case_cg")) if swap else 0.0,
        "slide_time": value("swap.slide_time") if swap else 0.0,
    }


def carried_ahead(
    mass: float, station: float, travel: float
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Two point masses that move one of the vehicle's ahead: taken out here, put in there.

    Mass [kg], station [m] and own inertia [kg m2] of each, to be added to a list of bodies.
    """
    return (-mass, station, 0.0), (mass, station - travel, 0.0)
