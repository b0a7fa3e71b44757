"""The vehicle as it lands, without propellant and without the stage it drops."""

from __future__ import annotations

from typing import ClassVar

from sim.scenario.declare import Part, Quantity, quantity


class Vehicle(Part):
    """What lands, without propellant and without the stage."""

    optional: ClassVar[bool] = False

    length: Quantity = quantity(
        "length", sign="positive", doc="nose tip to tail ring, stage dropped"
    )
    diameter: Quantity = quantity("length", sign="positive", doc="of the body tube")
    nose_length: Quantity = quantity(
        "length", "0 m", sign="non_negative", doc="of the nose, a blunt end if zero",
        source="a plain cylinder",
    )  # fmt: skip
    dry_mass: Quantity = quantity("mass", sign="positive", doc="without propellant and stage")
    cg: Quantity = quantity("length", doc="station of the dry centre of gravity")
    cg_offset: Quantity = quantity(
        "length", "0 m", sign="non_negative", believed="0 m",
        doc="distance of the centre of gravity from the axis", source="a balanced body",
    )  # fmt: skip
    cg_offset_clocking: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "360 deg"]}, believed="0 deg",
        doc="where around the axis it lies, from body y towards z", source="no side is preferred",
    )  # fmt: skip
    axial_inertia: Quantity = quantity(
        "inertia", sign="positive", doc="about the long axis through the dry centre of gravity"
    )
    transverse_inertia: Quantity = quantity(
        "inertia", sign="positive", doc="about a cross axis, mean of the two"
    )
    transverse_asymmetry: Quantity = quantity(
        "number", "0", doc="(yy - zz) / (yy + zz) of the two cross inertias",
        source="a body of revolution",
    )  # fmt: skip
    product_inertia: Quantity = quantity(
        "inertia", "0 kg m2", believed="0 kg m2", doc="product of the long axis with body z",
        source="a body of revolution",
    )  # fmt: skip
