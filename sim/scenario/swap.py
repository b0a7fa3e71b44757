"""The motor swap: the landing motor slides into the place that the spent ascent motor has left."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity


class Swap(Part):
    """One mount for both motors; [stage] is then the spent casing, pushed out aft.

    Stations of [landing_motor] and [vehicle] are those after the slide. [ascent_gimbal] steers
    both motors. Legs, casing and push are given where they are for a vehicle that drops a stage.
    """

    kind: Literal["slide", "none"] = choice(
        "slide", absent="none",
        doc="the landing motor slides aft into the mount, or has a place of its own",
    )  # fmt: skip
    travel: Quantity = quantity(
        "length", absent="0 m", sign="positive",
        doc="how far ahead of its working place the landing motor is carried",
    )  # fmt: skip
    case_mass: Quantity = quantity(
        "mass", absent="0 kg", sign="positive",
        doc="of the landing motor without propellant, a part of vehicle.dry_mass",
    )  # fmt: skip
    case_cg: Quantity = quantity(
        "length", absent="0 m", doc="station of its centre of gravity in the working place"
    )
    slide_time: Quantity = quantity(
        "time", "80 ms", absent="0 s", sign="non_negative",
        doc="from the casing free to the landing motor in its place", source=CHOSEN,
    )  # fmt: skip
