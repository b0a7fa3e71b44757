"""How the flight computer learns its attitude and zeroes its sensors on the launch pad."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity


class Alignment(Part):
    """Initial alignment; without the section the attitude is measured without error."""

    attitude: Literal["plumb", "levelled", "measured"] = choice(
        "levelled", absent="measured",
        doc="believed vertical, from averaged accelerometers, or from a level laid on",
    )  # fmt: skip
    zeroing: Literal["none", "nose_axis", "all_axes"] = choice(
        "none", doc="accelerometer axes zeroed against gravity over the wait"
    )
    wait: Quantity = quantity(
        "time", "10 s", sign="non_negative", doc="averaging on the launch pad", source=CHOSEN
    )
    heading_error: Quantity = quantity(
        "angle", "0 deg +/- 2 deg", absent="0 deg", believed="0 deg",
        doc="of where the belly is taken to point", source="a hand compass, assumed",
    )  # fmt: skip
    level_error: Quantity = quantity(
        "angle", "0 deg +/- 0.05 deg", absent="0 deg", believed="0 deg", axes="yz",
        doc="of the level, each axis, when measured", source="a small laser level, assumed",
    )  # fmt: skip
