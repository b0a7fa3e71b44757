"""Fixed fins at the tail of what lands."""

from __future__ import annotations

from sim.scenario.declare import Part, Quantity, choice, quantity


class Fins(Part):
    """Flat fins, evenly spaced around the body."""

    count: int = choice(None, absent=0, doc="number of fins, three to eight")
    span: Quantity = quantity(
        "length", absent="0 m", sign="positive", doc="of one fin, from the body outwards"
    )
    root_chord: Quantity = quantity("length", absent="0 m", sign="positive", doc="at the body")
    tip_chord: Quantity = quantity("length", absent="0 m", sign="non_negative", doc="at the tip")
    sweep: Quantity = quantity(
        "length", "0 m", doc="by which the tip's leading edge lies aft of the root's",
        source="a straight leading edge",
    )  # fmt: skip
    station: Quantity = quantity("length", absent="0 m", doc="of the root's leading edge")
