"""Landing legs, as far as the flight feels them."""

from __future__ import annotations

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity


class Legs(Part):
    """Legs that open before touchdown; the feet are evenly spaced around the axis."""

    count: int = choice(None, absent=0, doc="number of legs, three or more")
    foot_radius: Quantity = quantity(
        "length", absent="0 m", sign="positive", doc="of the feet from the axis, open"
    )
    foot_station: Quantity = quantity(
        "length", absent="0 m", sign="positive", doc="of the feet, open"
    )
    first_azimuth: Quantity = quantity(
        "angle", "45 deg", doc="of the first foot, from body y towards z", source=CHOSEN
    )
    folded_foot_radius: Quantity = quantity(
        "length", absent="0 m", sign="non_negative", doc="of the feet from the axis, folded"
    )
    folded_foot_station: Quantity = quantity(
        "length", absent="0 m", sign="positive", doc="of the feet, folded"
    )
    delay: Quantity = quantity(
        "time", "0 s", sign="non_negative", doc="from the command to locked open", source="at once"
    )
    drag_area: Quantity = quantity(
        "area", "0 m2", sign="non_negative", doc="drag coefficient times area, all legs, open",
        source="no drag",
    )  # fmt: skip
    mass_shift: Quantity = quantity(
        "length", "0 m", doc="by which the centre of gravity moves aft as they open",
        source="light legs",
    )  # fmt: skip
