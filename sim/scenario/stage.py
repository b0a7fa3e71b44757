"""The ascent stage: the spent ascent motor and its mount, dropped on the way up."""

from __future__ import annotations

from sim.scenario.declare import Part, Quantity, quantity


class Stage(Part):
    """The spent ascent motor and its mount, dropped."""

    mass: Quantity = quantity("mass", absent="0 kg", sign="positive", doc="without propellant")
    cg: Quantity = quantity("length", absent="0 m", doc="station of its centre of gravity")
    axial_inertia: Quantity = quantity(
        "inertia", absent="0 kg m2", sign="positive", doc="about the long axis"
    )
    transverse_inertia: Quantity = quantity(
        "inertia", absent="0 kg m2", sign="positive", doc="about its own cross axis"
    )
    end: Quantity = quantity("length", absent="0 m", sign="positive", doc="station of its aft end")
    drag_area: Quantity = quantity(
        "area", "0 m2", sign="non_negative", doc="drag coefficient times area, tumbling",
        source="no drag",
    )  # fmt: skip
    delay: Quantity = quantity(
        "time", "0 s", sign="non_negative", doc="from the command to free", source="at once"
    )
    impulse: Quantity = quantity(
        "impulse", "0 N s", sign="non_negative", doc="that pushes the two apart",
        source="let go without a push",
    )  # fmt: skip
    side_rate: Quantity = quantity(
        "angular rate", "0 deg/s", sign="non_negative", believed="0 deg/s",
        doc="angular part of the push, on what stays", source="a straight push",
    )  # fmt: skip
    side_rate_clocking: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "360 deg"]}, believed="0 deg",
        doc="about which cross axis, from body y towards z", source="no side is preferred",
    )  # fmt: skip
