"""Reaction wheels."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import Part, Quantity, choice, quantity


class Wheels(Part):
    """Reaction wheels, one for each axis named."""

    axes: Literal["all", "roll"] = choice("roll", doc="all three, or the long axis alone")
    torque: Quantity = quantity(
        "torque", absent="0 N m", sign="positive", doc="largest, on each axis"
    )
    momentum: Quantity = quantity(
        "angular momentum", absent="0 N m s", sign="positive", doc="largest stored, on each axis"
    )
