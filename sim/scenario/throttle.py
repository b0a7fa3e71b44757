"""Plates dipped into the landing motor's plume; they only reduce its thrust."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity


class Throttle(Part):
    """Throttle of a solid motor by obstructing its plume."""

    motor: Literal["landing"] = choice("landing", doc="the motor that it throttles")
    authority: Quantity = quantity(
        "number", absent="0", sign="share", doc="largest share of thrust taken away"
    )
    lag: Quantity = quantity(
        "time", "40 ms", sign="non_negative", doc="first-order lag of the plates",
        source="a small servo, assumed",
    )  # fmt: skip
    gain: Quantity = quantity(
        "number", "1", sign="positive", believed="1",
        doc="share really taken away over share commanded", source=CHOSEN,
    )  # fmt: skip
    wander: Quantity = quantity(
        "number", "0", sign="share", doc="of thrust, root mean square, when fully dipped",
        source=CHOSEN,
    )  # fmt: skip
    wander_time: Quantity = quantity(
        "time", "0.3 s", sign="positive", doc="correlation time of the wander", source=CHOSEN
    )
    side_force: Quantity = quantity(
        "number", "0", believed="0", axes="yz",
        doc="share of thrust, each axis, when fully dipped",
        source="symmetric plates cancel; momentum balance, R7.15",
    )  # fmt: skip
