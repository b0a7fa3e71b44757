"""How a flight begins: standing on the launch pad, or free in the air with a given state."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import Part, Quantity, choice, quantity

_REST = "at rest at the origin"


class Start(Part):
    """State at time zero; without the section the flight begins on the launch pad."""

    mode: Literal["launch_pad", "free"] = choice(
        "launch_pad", doc="from the launch pad, or free with the state below"
    )
    east: Quantity = quantity("length", "0 m", doc="of the centre of gravity", source=_REST)
    north: Quantity = quantity("length", "0 m", doc="of the centre of gravity", source=_REST)
    height: Quantity = quantity(
        "length", "0 m", doc="of the centre of gravity above the launch ground", source=_REST
    )
    velocity_east: Quantity = quantity("speed", "0 m/s", doc="over the ground", source=_REST)
    velocity_north: Quantity = quantity("speed", "0 m/s", doc="over the ground", source=_REST)
    velocity_up: Quantity = quantity("speed", "0 m/s", doc="over the ground", source=_REST)
    tilt: Quantity = quantity("angle", "0 deg", doc="of the long axis from vertical", source=_REST)
    tilt_direction: Quantity = quantity(
        "angle", "0 deg", doc="towards which the nose leans, east of north", source=_REST
    )
    heading: Quantity = quantity(
        "angle", "0 deg", doc="where the belly (body z) points, east of north", source=_REST
    )
    rate_x: Quantity = quantity("angular rate", "0 deg/s", doc="about the nose axis", source=_REST)
    rate_y: Quantity = quantity("angular rate", "0 deg/s", doc="about body y", source=_REST)
    rate_z: Quantity = quantity("angular rate", "0 deg/s", doc="about body z", source=_REST)
