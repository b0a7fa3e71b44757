"""Landing legs: how they open, their struts and their feet."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity

_DERIVED = "follows the vehicle, see sim.scenario.linked"


class Legs(Part):
    """Legs that open before touchdown; the feet are evenly spaced around the axis."""

    count: int = choice(None, absent=0, doc="number of legs, three to six")
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
    inertia_gain: Quantity = quantity(
        "inertia", "0 kg m2", sign="non_negative",
        doc="by which the axial inertia grows as they open", source=_DERIVED,
    )  # fmt: skip

    # how a leg gives way
    kind: Literal["hinged", "telescoping"] = choice(
        "telescoping", doc="swings about its hinge, or slides along the line from hinge to foot"
    )
    hinge_station: Quantity = quantity("length", "1 m", doc="of the hinge", source=_DERIVED)
    hinge_radius: Quantity = quantity(
        "length", "0 m", sign="non_negative", doc="of the hinge from the axis", source=_DERIVED
    )
    anchor_station: Quantity = quantity(
        "length", "0.8 m", doc="where the strut of a hinged leg is held on the body",
        source=_DERIVED,
    )  # fmt: skip
    anchor_radius: Quantity = quantity(
        "length", "0 m", sign="non_negative", doc="of that point from the axis", source=_DERIVED
    )
    strut_place: Quantity = quantity(
        "number", "0.5", sign="share", doc="where the strut holds the leg, from hinge to foot",
        source=CHOSEN,
    )  # fmt: skip
    moving_mass: Quantity = quantity(
        "mass", "40 g", sign="positive", doc="of one leg, as felt at its foot", source="assumed"
    )
    latch_failure: Quantity = quantity(
        "number", "0", sign="share", doc="chance for each leg that its strut holds nothing",
        source="sound latches",
    )  # fmt: skip
    stays_folded: Quantity = quantity(
        "number", "0", sign="share", doc="chance for each leg that it stays folded",
        source="all open",
    )  # fmt: skip

    # strut
    strut: Literal["rigid", "spring", "gas", "crush", "friction"] = choice(
        "rigid", doc="what gives way in a leg"
    )
    stroke: Quantity = quantity(
        "length", "30 mm", sign="positive", doc="of the strut, to its stop", source=CHOSEN
    )
    second_strut: Literal["none", "spring", "gas", "crush", "friction"] = choice(
        "none", doc="in series with it, of another kind"
    )
    second_stroke: Quantity = quantity(
        "length", "15 mm", sign="positive", doc="of that one, to its stop", source=CHOSEN
    )
    preload: Quantity = quantity(
        "force", "0 N", sign="non_negative", doc="of the spring of a strut, open", source="none"
    )
    stiffness: Quantity = quantity(
        "stiffness", "3 kN/m", sign="non_negative", doc="of a spring strut", source=CHOSEN
    )
    damping: Quantity = quantity(
        "damping", "60 N s/m", sign="non_negative", doc="of a spring strut", source=CHOSEN
    )
    return_stiffness: Quantity = quantity(
        "stiffness", "0 N/m", sign="non_negative", doc="of a spring beside another strut",
        source="none",
    )  # fmt: skip
    joint_damping: Quantity = quantity(
        "damping", "3 N s/m", sign="non_negative", doc="of the joints, struts other than springs",
        source="assumed",
    )  # fmt: skip
    stop_stiffness: Quantity = quantity(
        "stiffness", "100 kN/m", sign="positive", doc="of the stops at both ends", source="assumed"
    )
    stop_damping: Quantity = quantity(
        "damping", "40 N s/m", sign="non_negative", doc="of the stops", source="assumed"
    )
    bore: Quantity = quantity(
        "length", "20 mm", sign="positive", doc="of a gas strut", source=CHOSEN
    )
    gas_length: Quantity = quantity(
        "length", "40 mm", sign="positive", doc="of its column of air, open", source=_DERIVED
    )
    vent: Quantity = quantity(
        "length", "15 mm", sign="non_negative", doc="stroke at which its piston shuts the orifice",
        source=CHOSEN,
    )  # fmt: skip
    orifice: Quantity = quantity(
        "length", "2 mm", sign="non_negative", doc="diameter of its orifice", source=CHOSEN
    )
    discharge_coefficient: Quantity = quantity(
        "number", "0.7 +/- 0.07", sign="positive", doc="of the orifice",
        source="short tube, handbooks; R8.6",
    )  # fmt: skip
    gas_exponent: Quantity = quantity(
        "number", {"uniform": ["1.1", "1.4"]}, sign="positive", doc="of the trapped air's process",
        source="fast strokes, general practice; R8.10",
    )  # fmt: skip
    seal_friction: Quantity = quantity(
        "force", "1.5 N", sign="non_negative", doc="of its seal", source="assumed"
    )
    crush_force: Quantity = quantity(
        "force", "40 N", sign="positive", doc="plateau of a crush core", source=CHOSEN
    )
    crush_stiffness: Quantity = quantity(
        "stiffness", "60 kN/m", sign="positive", doc="of the core before it yields",
        source="assumed",
    )  # fmt: skip
    densification: Quantity = quantity(
        "number", "0.72", sign="share", doc="share of the stroke after which the core is dense",
        source="honeycomb, 70 to 75 %, handbooks; R9.12",
    )  # fmt: skip
    crush_rise: Quantity = quantity(
        "number", "3", sign="non_negative", doc="rise of the plateau at full stroke",
        source="assumed",
    )  # fmt: skip
    slide_force: Quantity = quantity(
        "force", "20 N", sign="non_negative", doc="of a friction damper that slides", source=CHOSEN
    )
    break_force: Quantity = quantity(
        "force", "26 N", sign="non_negative", doc="at which it breaks away", source=CHOSEN
    )
    slide_stiffness: Quantity = quantity(
        "stiffness", "40 kN/m", sign="positive", doc="of it while it sticks", source="assumed"
    )
    slide_speed: Quantity = quantity(
        "speed", "10 mm/s", sign="positive", doc="over which breakaway falls to sliding",
        source="assumed",
    )  # fmt: skip

    # foot
    foot: Literal["flat", "rubber", "spiked"] = choice(
        "flat", doc="its friction comes with surface.kind"
    )
    foot_stiffness: Quantity = quantity(
        "stiffness", "500 kN/m", sign="positive", doc="of the foot pad, in series with the ground",
        source="by legs.foot",
    )  # fmt: skip
    spike_length: Quantity = quantity(
        "length", "10 mm", sign="positive", doc="of spikes", source=CHOSEN
    )
    spike_hold: Quantity = quantity(
        "force", "8 N", sign="non_negative", doc="to the side, spikes of one foot all in",
        source="assumed",
    )  # fmt: skip
    spike_pull_out: Quantity = quantity(
        "force", "1.5 N", sign="non_negative", doc="to draw the spikes of one foot out",
        source="assumed",
    )  # fmt: skip

    # limits
    strut_strength: Quantity = quantity(
        "force", "1 kN", sign="positive", doc="load beyond which a leg counts as broken",
        source="no limit that matters",
    )  # fmt: skip
    rated_speed: Quantity = quantity(
        "speed", "20 m/s", sign="positive", doc="touchdown speed that the legs are made for",
        source="no limit that matters",
    )  # fmt: skip
    airframe_limit: Quantity = quantity(
        "acceleration", "200 g", sign="positive", doc="deceleration that the frame is made for",
        source="no limit that matters",
    )  # fmt: skip
