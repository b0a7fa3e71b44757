"""The landing pad."""

from __future__ import annotations

from sim.scenario.declare import Part, Quantity, quantity


class LandingPad(Part):
    """Where the vehicle is to land, from the launch point."""

    east: Quantity = quantity("length", "0 m", doc="of its centre", source="the launch point")
    north: Quantity = quantity("length", "0 m", doc="of its centre", source="the launch point")
    height: Quantity = quantity(
        "length", "0 m", doc="of its surface above the launch ground", source="level ground"
    )
    radius: Quantity = quantity("length", absent="0 m", sign="positive", doc="of a round pad")
