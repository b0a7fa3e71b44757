"""A recovery parachute: what the flight computer may let out when it gives a landing up."""

from __future__ import annotations

from sim.scenario.declare import CHOSEN, Part, Quantity, quantity


class Parachute(Part):
    """Let out on abort; it pulls at its point on the airframe; its mass is in the vehicle's."""

    drag_area: Quantity = quantity(
        "area", sign="positive", absent="0 m2", doc="drag coefficient times area, open"
    )
    station: Quantity = quantity(
        "length", "0 m", sign="non_negative", doc="where its line is held, from the nose",
        source="at the nose",
    )  # fmt: skip
    delay: Quantity = quantity(
        "time", "0.4 s +/- 0.09 s", sign="non_negative", doc="from the command to line stretch",
        source="assumed",
    )  # fmt: skip
    filling_time: Quantity = quantity(
        "time", "0.5 s +/- 0.1 s", sign="positive", doc="until it is open", source=CHOSEN
    )
