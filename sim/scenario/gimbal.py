"""A gimballed motor mount with its two servos."""

from __future__ import annotations

from sim.scenario.declare import CHOSEN, Part, Quantity, quantity


class Gimbal(Part):
    """A two-axis gimbal; without the section the motor is fixed."""

    pivot: Quantity = quantity(
        "length", absent="0 m", sign="positive", doc="station of the swivel point"
    )
    travel: Quantity = quantity(
        "angle", absent="0 deg", sign="non_negative", doc="to either side of the middle"
    )
    rate: Quantity = quantity(
        "angular rate", "250 deg/s", sign="positive", doc="fastest turn under load",
        source="small hobby servos through a linkage, assumed",
    )  # fmt: skip
    natural_frequency: Quantity = quantity(
        "angular rate", "80 rad/s", sign="positive", doc="of the second-order servo",
        source="small hobby servos, assumed",
    )  # fmt: skip
    damping: Quantity = quantity(
        "number",
        "0.7",
        sign="positive",
        doc="damping ratio of the servo",
        source="small hobby servos, assumed",
    )
    zero_offset: Quantity = quantity(
        "angle", "0 deg", believed="0 deg", axes="yz", doc="of the middle, on each axis",
        source="trimmed",
    )  # fmt: skip
    backlash: Quantity = quantity(
        "angle", "0 deg", sign="non_negative", doc="whole play of the linkage", source="tight"
    )
    resolution: Quantity = quantity(
        "angle", "0 deg", sign="non_negative", doc="smallest step that is followed", source=CHOSEN
    )
    delay: Quantity = quantity(
        "time", "0 s", sign="non_negative", doc="from command to first motion", source=CHOSEN
    )
    cable_stiffness: Quantity = quantity(
        "torque per angle", "0 N m/rad", sign="non_negative",
        doc="of cables that pull the mount back to its middle", source="limp cables",
    )  # fmt: skip
    servo_torque: Quantity = quantity(
        "torque", "0.25 N m", sign="positive",
        doc="largest, at the mount; counts where cables are stiff",
        source="small hobby servos, assumed",
    )  # fmt: skip
    servo_band: Quantity = quantity(
        "angle", "2 deg", sign="positive",
        doc="off the goal at which the servo pulls with all its torque; counts with it",
        source="small hobby servos, assumed",
    )  # fmt: skip
    swinging_mass: Quantity = quantity(
        "mass", "0 kg", sign="non_negative", doc="that turns with the motor", source="no reaction"
    )
    swinging_arm: Quantity = quantity(
        "length", "0 m", doc="of its centre of gravity behind the pivot", source="no reaction"
    )
