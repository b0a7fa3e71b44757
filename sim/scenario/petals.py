"""Drag petals at the nose, which keep the tail first in the fall."""

from __future__ import annotations

from sim.scenario.declare import Part, Quantity, quantity


class Petals(Part):
    """Petals that open near the top of the flight."""

    drag_area: Quantity = quantity(
        "area", absent="0 m2", sign="non_negative", doc="drag coefficient times area, open"
    )
    station: Quantity = quantity("length", absent="0 m", doc="of their centre of pressure, open")
    delay: Quantity = quantity(
        "time", "0 s", sign="non_negative", doc="from the command to open", source="at once"
    )
