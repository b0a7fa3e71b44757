"""Aids to navigation: satellite receiver, barometer, range finder. Each is optional."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import Part, Quantity, choice, quantity

_SMALL = "small consumer modules, from memory"


class Gnss(Part):
    """A satellite receiver (GNSS): place and velocity of its antenna, some times a second, late.

    Place counts from the mean over the wait on the launch pad.
    """

    station: Quantity = quantity(
        "length", "0.12 m", absent="0 m", doc="of the antenna", source="under the nose, assumed"
    )
    mass: Quantity = quantity(
        "mass", "18 g", absent="0 g", sign="non_negative", doc="with antenna and wires",
        source=_SMALL,
    )  # fmt: skip
    rate: Quantity = quantity(
        "frequency", "10 Hz", sign="positive", doc="fixes a second", source=_SMALL
    )
    latency: Quantity = quantity(
        "time", "100 ms", sign="non_negative", doc="from the time of a fix to its arrival",
        source=_SMALL + ", 50 to 200 ms",
    )  # fmt: skip
    sky: Literal["open", "obstructed"] = choice(
        "open", doc="clear to the horizon, or trees and houses around"
    )
    noise_horizontal: Quantity = quantity(
        "length", "0.3 m", sign="non_negative", doc="white part of a fix, each axis, open sky",
        source=_SMALL,
    )  # fmt: skip
    noise_vertical: Quantity = quantity(
        "length", "0.5 m", sign="non_negative", doc="the same, up", source=_SMALL
    )
    drift_horizontal: Quantity = quantity(
        "length", "1.2 m", sign="non_negative",
        doc="first-order Gauss-Markov part, root mean square on each axis, open sky",
        source=_SMALL + ": 1 to 3 m without corrections",
    )  # fmt: skip
    drift_vertical: Quantity = quantity(
        "length", "2.2 m", sign="non_negative", doc="the same, up",
        source=_SMALL + ": 1.5 to 2 times the horizontal",
    )  # fmt: skip
    drift_time: Quantity = quantity(
        "time", "60 s", sign="positive", doc="its correlation time", source="from memory"
    )
    velocity_noise_horizontal: Quantity = quantity(
        "speed", "0.10 m/s", sign="non_negative", doc="of a fix, each axis, open sky",
        source=_SMALL + ", 0.05 to 0.2 m/s",
    )  # fmt: skip
    velocity_noise_vertical: Quantity = quantity(
        "speed", "0.18 m/s", sign="non_negative", doc="the same, up", source=_SMALL
    )
    obstruction: Quantity = quantity(
        "number", "3", sign="positive", doc="factor on all errors of a fix under an obstructed sky",
        source="from memory: fewer satellites, reflections; 2 to 5",
    )  # fmt: skip
    interference: Quantity = quantity(
        "number", "1", sign="positive", doc="factor on the noise of a fix by electronics aboard",
        source="none unless given",
    )  # fmt: skip
    outage: Quantity = quantity(
        "number", {"chance": 0.02}, absent="0", sign="non_negative",
        doc="whether fixes fail to come for a while, 0 or 1",
        source="assumed: lock lost under acceleration and turning",
    )  # fmt: skip
    outage_obstructed: Quantity = quantity(
        "number", {"chance": 0.4}, absent="0", sign="non_negative",
        doc="the same under an obstructed sky, besides the other",
        source="assumed: lock lost behind trees and houses",
    )  # fmt: skip
    outage_start: Quantity = quantity(
        "time", {"uniform": ["0 s", "8 s"]}, absent="0 s", doc="after the ascent igniter",
        source="assumed",
    )  # fmt: skip
    outage_duration: Quantity = quantity(
        "time", "2 s", sign="non_negative", doc="of an outage", source="assumed: to lock again"
    )


class Barometer(Part):
    """A barometer: height by pressure, counted from its mean over the wait on the launch pad."""

    station: Quantity = quantity(
        "length", "0.35 m", absent="0 m", doc="of its port", source="in the bay, assumed"
    )
    mass: Quantity = quantity(
        "mass", "3 g", absent="0 g", sign="non_negative", doc="with its board", source=_SMALL
    )
    rate: Quantity = quantity(
        "frequency", "50 Hz", sign="positive", doc="readings a second", source=_SMALL
    )
    noise: Quantity = quantity(
        "length", "0.15 m", sign="non_negative", doc="white, of a reading",
        source=_SMALL + ", 1 to 3 Pa",
    )  # fmt: skip
    resolution: Quantity = quantity(
        "length", "20 mm", sign="non_negative", doc="one count", source=_SMALL
    )
    lag: Quantity = quantity(
        "time", "40 ms", sign="non_negative", doc="first order, of filter and vented bay",
        source="assumed",
    )  # fmt: skip
    drift: Quantity = quantity(
        "speed", "0 m/s +/- 0.02 m/s", absent="0 m/s", believed="0 m/s",
        doc="steady, of weather and warming", source="assumed",
    )  # fmt: skip
    pressure_coefficient: Quantity = quantity(
        "number", "0 +/- 0.06", absent="0", believed="0",
        doc="share of the dynamic pressure that the port takes for height",
        source="from memory: side ports some per cent, worse tail first",
    )  # fmt: skip
    plume_offset: Quantity = quantity(
        "length", "0 m +/- 0.5 m", absent="0 m", believed="0 m",
        doc="more height shown while a motor burns", source="assumed",
    )  # fmt: skip


class RangeFinder(Part):
    """A range finder that looks along the tail at the ground."""

    station: Quantity = quantity(
        "length", "0.95 m", absent="0 m", doc="of its window", source="beside the motor, assumed"
    )
    mass: Quantity = quantity(
        "mass", "12 g", absent="0 g", sign="non_negative", doc="with window and wires",
        source=_SMALL,
    )  # fmt: skip
    rate: Quantity = quantity(
        "frequency", "50 Hz", sign="positive", doc="readings a second", source=_SMALL
    )
    noise: Quantity = quantity(
        "length", "40 mm", sign="non_negative", doc="of a reading, grass included", source=_SMALL
    )
    longest: Quantity = quantity(
        "length", "12 m", sign="positive", doc="beyond it nothing is read; daylight",
        source=_SMALL,
    )  # fmt: skip
    dust_height: Quantity = quantity(
        "length", "1.5 m", sign="non_negative",
        doc="distance below which a burning motor may raise dust", source="assumed",
    )  # fmt: skip
    dust_dropout: Quantity = quantity(
        "number", "0.4", absent="0", sign="non_negative",
        doc="chance of a reading to be lost in it", source="assumed",
    )  # fmt: skip
