"""The mean wind at the reference height, whichever way the scenario gives it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sim.scenario import Scenario

Values = NDArray[np.float64] | float


def field_wind(value: Callable[[str], Values], scenario: Scenario) -> tuple[Values, Values]:
    """Speed and direction of the mean wind at the reference height.

    Parameters
    ----------
    value : callable
        True value of a number by its dotted name.
    scenario : Scenario
        With a measured profile, that is read at the reference height.

    Returns
    -------
    speed : float or array [m/s]
    toward : float or array [rad]
        Where it blows to, east of north.
    """
    if scenario.choices["wind.law"] != "profile":
        return value("wind.speed"), np.asarray(value("wind.direction")) + np.pi
    height, speed, origin = scenario.curves["wind.profile"].T
    at = value("wind.reference_height")
    east = np.interp(at, height, -speed * np.sin(origin))
    north = np.interp(at, height, -speed * np.cos(origin))
    return np.hypot(east, north), np.arctan2(east, north)
