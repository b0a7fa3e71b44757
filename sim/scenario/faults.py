"""What may go wrong, each with its chance and its severity, which is drawn like any number.

A fault is written as a section of its own:

    [faults.landing_no_light]
    happens = { tests = "0 of 25" }          # or a chance, 0.02

Faults are flown apart: an ordinary ensemble is of sound vehicles, and what faults do comes from
ensembles in which one is forced, weighted by its chance. `faults.mixed = true` lets every flight
draw its own instead.
"""

from __future__ import annotations

from typing import ClassVar, Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity

ASSUMED = "assumed: measure it"

FaultName = Literal[
    "none", "ascent_weak", "landing_no_light", "landing_late_light", "landing_chuff",
    "landing_weak", "landing_short", "stage_hangs_on", "throttle_stuck", "throttle_weak",
    "gimbal_jammed", "gimbal_one_sided", "gimbal_slow", "gimbal_reversed", "gimbal_cable",
    "legs_stay_up", "legs_late", "wheels_saturate", "channel_dead", "channel_stuck",
    "channel_clipped", "channel_step", "computer_reset", "tilt_typed_wrong", "parachute_stays_in",
    "gnss_disturbed", "barometer_fooled",
]  # fmt: skip


class Faults(Part):
    """How faults are flown."""

    mixed: bool = choice(False, doc="each flight draws its own faults, instead of none")


class Fault(Part):
    """Chance of a fault; its severity stands in the class that builds on this one."""

    needs: ClassVar[tuple[str, ...]] = ()
    """Parts of which the vehicle must have one."""
    excludes: ClassVar[str] = ""
    """Of the faults that share this word, a flight has one at most."""

    happens: Quantity = quantity(
        "number", "0", sign="share", believed="0",
        doc='chance that it happens: 0.02, or { tests = "0 of 25" }', source="never seen",
    )  # fmt: skip
    strength: Quantity = quantity(
        "force", "0 N", sign="non_negative",
        doc="of the mechanism: it happens where this is less than the load", source="no margin",
    )  # fmt: skip
    load: Quantity = quantity(
        "force", "0 N", sign="non_negative", doc="which the mechanism must overcome",
        source="no margin",
    )  # fmt: skip
    after: FaultName = choice("none", doc="fault that has a cause in common with this one")
    happens_after: Quantity = quantity(
        "number", "0", sign="share", believed="0",
        doc="chance that this one happens too where that one does", source="no common cause",
    )  # fmt: skip
    forced: bool = choice(False, doc="every flight has it")


class AscentWeak(Fault):
    """Ascent motor with less impulse than its lot."""

    needs: ClassVar[tuple[str, ...]] = ("ascent_motor",)
    impulse: Quantity = quantity(
        "number", "0.85 +/- 3 %", sign="positive", doc="of it over that of its lot", source=ASSUMED
    )


class LandingNoLight(Fault):
    """Landing motor that never lights."""

    needs: ClassVar[tuple[str, ...]] = ("landing_motor",)
    excludes: ClassVar[str] = "light"
    open_circuit: Quantity = quantity(
        "number", {"chance": 0.5}, sign="share",
        doc="whether its igniter is an open circuit, which a continuity check sees", source=ASSUMED,
    )  # fmt: skip


class LandingLateLight(Fault):
    """Landing motor that lights late."""

    needs: ClassVar[tuple[str, ...]] = ("landing_motor",)
    excludes: ClassVar[str] = "light"
    lateness: Quantity = quantity(
        "time", {"lognormal": ["0.3 s", "0.5"]}, sign="non_negative",
        doc="beyond its usual ignition delay", source="tail to over 1 s, from memory; R7.10",
    )  # fmt: skip


class LandingChuff(Fault):
    """Landing motor that puffs out and catches later, part of its propellant spent for nothing."""

    needs: ClassVar[tuple[str, ...]] = ("landing_motor",)
    excludes: ClassVar[str] = "light"
    lateness: Quantity = quantity(
        "time", {"lognormal": ["0.4 s", "0.4"]}, sign="non_negative",
        doc="beyond its usual ignition delay", source=ASSUMED,
    )  # fmt: skip
    spent: Quantity = quantity(
        "number", "0.05 +/- 0.012", sign="share", doc="share of its impulse gone in the puff",
        source=ASSUMED,
    )  # fmt: skip


class LandingWeak(Fault):
    """Landing motor with less impulse than its lot, over its usual time."""

    needs: ClassVar[tuple[str, ...]] = ("landing_motor",)
    excludes: ClassVar[str] = "strength"
    impulse: Quantity = quantity(
        "number", "0.88 +/- 3 %", sign="positive", doc="of it over that of its lot", source=ASSUMED
    )


class LandingShort(Fault):
    """Landing motor that burns at its usual thrust and ends early."""

    needs: ClassVar[tuple[str, ...]] = ("landing_motor",)
    excludes: ClassVar[str] = "strength"
    burn: Quantity = quantity(
        "number", "0.85 +/- 3 %", sign="positive", doc="of its burn time over that of its lot",
        source=ASSUMED,
    )  # fmt: skip


class StageHangsOn(Fault):
    """Spent ascent stage or motor that stays, so that the landing motor fires down its tube."""

    needs: ClassVar[tuple[str, ...]] = ("stage",)
    contact: Quantity = quantity(
        "number", {"chance": 0.5}, sign="share",
        doc="whether a landing motor that could not slide into its mount can be lit all the same, "
        "recessed; without a swap it can",
        source="by leads that come along it can, by a contact in the mount it cannot; assumed even",
    )  # fmt: skip
    frees: Quantity = quantity(
        "number", {"chance": 0.2}, sign="share", doc="whether it comes free in the end",
        source=ASSUMED,
    )  # fmt: skip
    frees_after: Quantity = quantity(
        "time", {"uniform": ["0.5 s", "6 s"]}, sign="non_negative",
        doc="from the command until it does", source=ASSUMED,
    )  # fmt: skip
    thrust_lost: Quantity = quantity(
        "number", {"uniform": ["0.1", "0.6"]}, sign="share",
        doc="share of landing thrust, firing recessed",
        source="no published figure; below the one-dimensional bound, R7.12, R7.13",
    )  # fmt: skip
    side_angle: Quantity = quantity(
        "angle", {"half_normal": "1.5 deg"}, sign="non_negative",
        doc="by which its thrust line is turned", source=ASSUMED,
    )  # fmt: skip
    side_clocking: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "360 deg"]}, doc="towards which", source="no side preferred"
    )


class ThrottleStuck(Fault):
    """Throttle plates that stay where they are."""

    needs: ClassVar[tuple[str, ...]] = ("throttle",)
    onset: Quantity = quantity(
        "time", "0 s", sign="non_negative", doc="after the ascent igniter", source="all along"
    )
    place: Quantity = quantity(
        "number", {"uniform": ["0", "1"]}, sign="share", doc="share of the authority dipped",
        source=ASSUMED,
    )  # fmt: skip


class ThrottleWeak(Fault):
    """Throttle plates that take away less than believed."""

    needs: ClassVar[tuple[str, ...]] = ("throttle",)
    authority: Quantity = quantity(
        "number", {"uniform": ["0.3", "0.8"]}, sign="share", doc="of that believed", source=ASSUMED
    )


class GimbalJammed(Fault):
    """Motor mount that stops at an angle."""

    needs: ClassVar[tuple[str, ...]] = ("landing_gimbal", "ascent_gimbal")
    onset: Quantity = quantity(
        "time", {"uniform": ["0 s", "10 s"]}, sign="non_negative", doc="after the ascent igniter",
        source=ASSUMED,
    )  # fmt: skip
    angle_y: Quantity = quantity("angle", "0 deg +/- 1.5 deg", doc="about body y", source=ASSUMED)
    angle_z: Quantity = quantity("angle", "0 deg +/- 1.5 deg", doc="about body z", source=ASSUMED)


class GimbalOneSided(Fault):
    """Mount that meets something on one side while the ascent stage is aboard."""

    needs: ClassVar[tuple[str, ...]] = ("ascent_gimbal",)
    stop: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "2 deg"]}, sign="non_negative",
        doc="beyond which it does not turn about body y", source=ASSUMED,
    )  # fmt: skip


class GimbalSlow(Fault):
    """Servos slower than they were."""

    needs: ClassVar[tuple[str, ...]] = ("landing_gimbal", "ascent_gimbal")
    speed: Quantity = quantity(
        "number", {"uniform": ["0.15", "0.5"]}, sign="positive", doc="of the usual rate",
        source="a low battery, assumed",
    )  # fmt: skip


class GimbalReversed(Fault):
    """Mount assembled with its signs reversed."""

    needs: ClassVar[tuple[str, ...]] = ("landing_gimbal", "ascent_gimbal")
    mount: Literal["ascent", "landing", "both"] = choice("landing", doc="which of them")


class GimbalCable(Fault):
    """Stiff cables that pull the mount back to its middle, against the servo."""

    needs: ClassVar[tuple[str, ...]] = ("landing_gimbal", "ascent_gimbal")
    stiffness: Quantity = quantity(
        "torque per angle", {"uniform": ["1 N m/rad", "6 N m/rad"]}, sign="non_negative",
        doc="of the cables, besides that of the gimbal's own", source=ASSUMED,
    )  # fmt: skip


class LegsStayUp(Fault):
    """Legs that do not open."""

    needs: ClassVar[tuple[str, ...]] = ("legs",)
    each: Quantity = quantity(
        "number", "1", sign="share", doc="chance of each leg to be one of them", source="all"
    )


class LegsLate(Fault):
    """Legs that open late."""

    needs: ClassVar[tuple[str, ...]] = ("legs",)
    lateness: Quantity = quantity(
        "time", {"lognormal": ["0.6 s", "0.5"]}, sign="non_negative", doc="beyond the usual delay",
        source=ASSUMED,
    )  # fmt: skip


class WheelsSaturate(Fault):
    """Reaction wheels that can take up less momentum."""

    needs: ClassVar[tuple[str, ...]] = ("wheels",)
    momentum: Quantity = quantity(
        "number", {"uniform": ["0", "0.4"]}, sign="share", doc="of the usual", source=ASSUMED
    )


Channel = Literal["gyro_x", "gyro_y", "gyro_z", "force_x", "force_y", "force_z"]
CHANNELS = ("gyro_x", "gyro_y", "gyro_z", "force_x", "force_y", "force_z")


class ChannelFault(Fault):
    """One channel of the inertial unit."""

    needs: ClassVar[tuple[str, ...]] = ("inertial",)
    excludes: ClassVar[str] = "channel"
    channel: Channel = choice("gyro_y", doc="which: a gyro or an accelerometer, body axis")
    onset: Quantity = quantity(
        "time", {"uniform": ["0 s", "9 s"]}, sign="non_negative", doc="after the ascent igniter",
        source=ASSUMED,
    )  # fmt: skip


class ChannelDead(ChannelFault):
    """Channel that reads zero."""


class ChannelStuck(ChannelFault):
    """Channel that keeps its last reading."""


class ChannelClipped(ChannelFault):
    """Channel that clips at a share of its range."""

    share: Quantity = quantity(
        "number", {"uniform": ["0.01", "0.1"]}, sign="positive", doc="of its range", source=ASSUMED
    )


class ChannelStep(ChannelFault):
    """Channel whose bias steps, as at a shock of ignition or separation."""

    rate: Quantity = quantity(
        "angular rate", "0 deg/s +/- 3 deg/s", doc="of a gyro", source=ASSUMED
    )
    force: Quantity = quantity(
        "acceleration", "0 mg +/- 100 mg", doc="of an accelerometer", source=ASSUMED
    )


class ComputerReset(Fault):
    """Power cut: the flight computer is out for a while, and begins anew with nothing known."""

    needs: ClassVar[tuple[str, ...]] = ("inertial",)
    onset: Quantity = quantity(
        "time", {"uniform": ["0.2 s", "9 s"]}, sign="non_negative", doc="after the ascent igniter",
        source=ASSUMED,
    )  # fmt: skip
    lasts: Quantity = quantity(
        "time", "0.8 s +/- 0.15 s", sign="positive", doc="until it runs again", source=ASSUMED
    )


class TiltTypedWrong(Fault):
    """A reading of the launch pad's level that was typed in wrong; counts where it was measured."""

    needs: ClassVar[tuple[str, ...]] = ("inertial",)
    error: Quantity = quantity(
        "angle", "1 deg +/- 0.5 deg", doc="of the number typed", source=CHOSEN
    )
    clocking: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "360 deg"]}, doc="about which cross axis, from body y",
        source="no side preferred",
    )  # fmt: skip


class ParachuteStaysIn(Fault):
    """Recovery parachute that does not come out, or not open."""

    needs: ClassVar[tuple[str, ...]] = ("parachute",)


class GnssDisturbed(Fault):
    """Satellite receiver whose noise is raised by interference for a while."""

    needs: ClassVar[tuple[str, ...]] = ("gnss",)
    onset: Quantity = quantity(
        "time", {"uniform": ["0 s", "9 s"]}, sign="non_negative", doc="after the ascent igniter",
        source=ASSUMED,
    )  # fmt: skip
    lasts: Quantity = quantity(
        "time", {"lognormal": ["4 s", "0.7"]}, sign="positive", doc="until it is over",
        source=ASSUMED,
    )  # fmt: skip
    factor: Quantity = quantity(
        "number", {"lognormal": ["6", "0.6"]}, sign="positive",
        doc="on the white noise of a fix, place and velocity", source=ASSUMED,
    )  # fmt: skip


class BarometerFooled(Fault):
    """Barometer that comes to feel airspeed and plume: a port that opens, a seal that leaks."""

    needs: ClassVar[tuple[str, ...]] = ("barometer",)
    onset: Quantity = quantity(
        "time", {"uniform": ["0 s", "9 s"]}, sign="non_negative", doc="after the ascent igniter",
        source=ASSUMED,
    )  # fmt: skip
    pressure_coefficient: Quantity = quantity(
        "number", "0 +/- 0.4", believed="0",
        doc="share of the dynamic pressure that it takes for height, besides its usual",
        source="a port in the flow instead of beside it, assumed",
    )  # fmt: skip
    plume_offset: Quantity = quantity(
        "length", "0 m +/- 3 m", believed="0 m",
        doc="more height shown while a motor burns, besides its usual",
        source="a bay that the plume pumps down or blows up, assumed",
    )  # fmt: skip


FAULTS: dict[str, type[Fault]] = {
    "ascent_weak": AscentWeak,
    "landing_no_light": LandingNoLight,
    "landing_late_light": LandingLateLight,
    "landing_chuff": LandingChuff,
    "landing_weak": LandingWeak,
    "landing_short": LandingShort,
    "stage_hangs_on": StageHangsOn,
    "throttle_stuck": ThrottleStuck,
    "throttle_weak": ThrottleWeak,
    "gimbal_jammed": GimbalJammed,
    "gimbal_one_sided": GimbalOneSided,
    "gimbal_slow": GimbalSlow,
    "gimbal_reversed": GimbalReversed,
    "gimbal_cable": GimbalCable,
    "legs_stay_up": LegsStayUp,
    "legs_late": LegsLate,
    "wheels_saturate": WheelsSaturate,
    "channel_dead": ChannelDead,
    "channel_stuck": ChannelStuck,
    "channel_clipped": ChannelClipped,
    "channel_step": ChannelStep,
    "computer_reset": ComputerReset,
    "tilt_typed_wrong": TiltTypedWrong,
    "parachute_stays_in": ParachuteStaysIn,
    "gnss_disturbed": GnssDisturbed,
    "barometer_fooled": BarometerFooled,
}
"""Every fault by name, in the order in which they are shown."""
