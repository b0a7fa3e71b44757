"""Wind: mean profile, turbulence and one gust."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import CHOSEN, Curve, Part, Quantity, choice, curve_file, quantity


class Wind(Part):
    """Wind over the ground, which is flat."""

    speed: Quantity = quantity(
        "speed", "0 m/s", believed="0 m/s",
        doc="mean at the reference height; below zero it blows from the opposite side",
        source="calm",
    )  # fmt: skip
    direction: Quantity = quantity(
        "angle", {"uniform": ["0 deg", "360 deg"]}, absent="0 deg", believed="0 deg",
        doc="where it comes from, east of north", source="not known beforehand",
    )  # fmt: skip
    reference_height: Quantity = quantity(
        "length", "10 m", sign="positive", doc="above the ground, of the speed given",
        source="height of weather reports",
    )  # fmt: skip
    reading_speed_error: Quantity = quantity(
        "number", "0 +/- 15 %", absent="0", believed="0",
        doc="of the anemometer on the field, share of the speed",
        source="ten-minute mean against the wind of the next ten seconds, assumed",
    )  # fmt: skip
    reading_direction_error: Quantity = quantity(
        "angle", "0 deg +/- 12 deg", absent="0 deg", believed="0 deg",
        doc="of the wind vane on the field",
        source="ten-minute mean against the wind of the next ten seconds, assumed",
    )  # fmt: skip
    law: Literal["power", "log", "profile"] = choice("power", doc="how it grows with height")
    exponent: Quantity = quantity(
        "number", "0.16", sign="non_negative", doc="of the power law",
        source="level grass 0.15, low crops 0.20, engineering tables; R3.2",
    )  # fmt: skip
    roughness: Quantity = quantity(
        "length", "0.03 m", sign="positive", doc="length of the logarithmic law",
        source="open field, classes of Davenport (Stull, Meteorology); R3.4",
    )  # fmt: skip
    profile: Curve = curve_file(
        ("height", "m"), ("speed", "m/s"), ("from direction", "deg"),
        doc='CSV of a measured profile, for law = "profile"',
    )  # fmt: skip
    turbulence: Literal["dryden", "none"] = choice(
        "dryden", absent="none", doc="MIL-F-8785C low-altitude Dryden turbulence, or none"
    )
    gust_speed: Quantity = quantity(
        "speed", "0 m/s", believed="0 m/s", doc="top of a one-minus-cosine gust, downwind",
        source="no gust",
    )  # fmt: skip
    gust_start: Quantity = quantity(
        "time", "0 s", sign="non_negative", doc="after the ascent igniter is commanded",
        source=CHOSEN,
    )  # fmt: skip
    gust_length: Quantity = quantity(
        "length", "20 m", sign="positive", doc="over which it rises and falls", source=CHOSEN
    )
