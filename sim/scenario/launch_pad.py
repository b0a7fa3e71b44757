"""The launch pad: how it leans, how the vehicle leaves it."""

from __future__ import annotations

from typing import ClassVar

from sim.scenario.declare import Part, Quantity, quantity


class LaunchPad(Part):
    """Where the vehicle stands; what is believed of the tilt is what its computer was told."""

    optional: ClassVar[bool] = False

    tilt: Quantity = quantity(
        "angle", "0 deg", sign="non_negative", believed="0 deg",
        doc="of the long axis from the vertical", source="a level launch pad",
    )  # fmt: skip
    tilt_direction: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "360 deg"]}, believed="0 deg",
        doc="towards which the nose leans, east of north", source="no side is preferred",
    )  # fmt: skip
    heading: Quantity = quantity(
        "angle", "0 deg", doc="where the belly (body z) points, east of north", source="north"
    )
    height: Quantity = quantity(
        "length", "0 m", sign="non_negative", doc="of the vehicle's aft end above the ground",
        source="on the ground",
    )  # fmt: skip
    tip_off_rate: Quantity = quantity(
        "angular rate", "0 deg/s", sign="non_negative", believed="0 deg/s",
        doc="left by the release", source="a clean release",
    )  # fmt: skip
    tip_off_clocking: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "360 deg"]}, believed="0 deg",
        doc="about which cross axis, from body y towards z", source="no side is preferred",
    )  # fmt: skip
