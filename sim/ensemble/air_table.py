"""Forces of the air from a user's table, resampled for the flight kernel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]

NODES = 361  # from nose first to tail first
SMALL_ANGLE = 1e-4  # rad, at the ends, where the normal force over the sine is a slope


def air_table(scenario: Scenario) -> Floats:
    """Table of the flight kernel; empty for a vehicle that goes by its geometry.

    Parameters
    ----------
    scenario : Scenario
        With `aerodynamics.table`: angle of attack [rad], axial coefficient (positive towards the
        tail), normal coefficient, station of the centre of pressure [m]; on the frontal area.

    Returns
    -------
    float64 array (3 n,) or (0,)
        See `sim.physics.aerodynamics.tabled_loads`.
    """
    if scenario.choices["aerodynamics.law"] != "table":
        return np.zeros(0)
    angle, axial, normal, station = scenario.curves["aerodynamics.table"].T
    area = np.pi / 4.0 * scenario.numbers["vehicle.diameter"].value ** 2
    t = np.linspace(0.0, 2.0, NODES)
    # t = sin / (cos + sin) nose first
    here = np.where(t <= 1.0, np.arctan2(t, 1.0 - t), np.pi - np.arctan2(2.0 - t, t - 1.0))
    here = np.clip(here, SMALL_ANGLE, np.pi - SMALL_ANGLE)
    return np.concatenate(
        [
            area * np.interp(here, angle, axial),
            area * np.interp(here, angle, normal) / np.sin(here),
            -np.interp(here, angle, station),
        ]
    )
