"""The place and the day."""

from __future__ import annotations

from typing import ClassVar, Literal

from sim.scenario.declare import Part, Quantity, choice, quantity

_STANDARD = "U.S. Standard Atmosphere, 1976, at sea level; R2.1"


class Site(Part):
    """Where the launch point lies and what the field instruments say."""

    optional: ClassVar[bool] = False

    latitude: Quantity = quantity(
        "angle", "45 deg", doc="geodetic, north positive", source="half way, gravity 9.806 m/s2"
    )
    elevation: Quantity = quantity("length", "0 m", doc="above sea level", source="sea level")
    temperature: Quantity = quantity(
        "temperature", "15 degC", sign="positive", doc="of the air at the launch point",
        source=_STANDARD,
    )  # fmt: skip
    pressure: Quantity = quantity(
        "pressure", "1013.25 hPa", sign="positive", doc="of the air at the launch point",
        source=_STANDARD,
    )  # fmt: skip
    gravity: Literal["normal", "standard", "none"] = choice(
        "normal", doc="WGS 84 by latitude and height, 9.80665 m/s2 everywhere, or none"
    )
