"""Words and numbers that the answers of the drop rig share."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sim.report.display import WORDS, fixed

if TYPE_CHECKING:
    from sim.scenario import Limit, Scenario

GRAVITY = 9.80665  # m/s2, the unit g
# load -> what it is called, unit on screen, factor to it, decimals
LOADS = {
    "peak_strut_force": ("peak force in a strut", "N", 1.0, 0),
    "peak_stroke": ("peak stroke", "mm", 1e3, 1),
    "peak_deceleration": ("peak deceleration", "g", 1.0 / GRAVITY, 1),
    "touchdown_speed": ("touchdown speed", "m/s", 1.0, 2),
    "hops": ("hops", "", 1.0, 0),
    "slide_distance": ("slide", "mm", 1e3, 0),
    "rest_tilt": ("tilt at rest", "deg", 180.0 / math.pi, 1),
}
MADE_FOR = {
    "peak_strut_force": "strength", "peak_stroke": "stop", "peak_deceleration": "frame's limit",
    "touchdown_speed": "rated speed",
}  # fmt: skip
OUTCOMES = {
    "standing": "stands, nothing overloaded",
    "off_landing_pad": "stands, off the landing pad",
    "tipped": "tips over, or rests on its airframe",
    "unsettled": "does not come to rest in time",
    "frame_struck": "stands, but the airframe struck the ground",
    "leg_overloaded": "a leg is loaded beyond its strength",
    "frame_overloaded": "decelerates harder than the frame is made for",
    "too_fast": "touches down faster than the legs are rated for",
    "airframe_first": "the airframe touches first",
}
SURFACES = {"short_grass": "short grass", "dry_dirt": "dry dirt", "built_pad": "a built pad"}
CAUTION = (
    "A simulation is no better than its scenario: before you trust the legs, drop the vehicle "
    "itself, without propellant, and compare."
)


def outcome_words(name: str) -> str:
    """Name of an outcome of a drop in words."""
    return OUTCOMES.get(name, WORDS.get(name, name.replace("_", " ")))


def shown(name: str, value: float) -> str:
    """Write a load with its unit."""
    _, unit, scale, digits = LOADS[name]
    text = fixed(value, digits, scale)
    return f"{text} {unit}" if unit and math.isfinite(value) else text


def ground_words(scenario: Scenario) -> str:
    """Say what struts come down on what."""
    kind = SURFACES[str(scenario.choices["surface.kind"])]
    return f"{scenario.choices['legs.strut']} struts on {kind}"


AT_CONTACT = ("touchdown_speed", "sink_rate", "lateral_speed", "tilt", "tilt_rate")


def wrapped(text: str, columns: int) -> str:
    """Break a line that would be too long for a picture."""
    return "\n".join(textwrap.wrap(text, columns))


def contact_limits(limits: Sequence[Limit]) -> list[Limit]:
    """Limits of success that a drop can meet or miss by how it touches down."""
    return [limit for limit in limits if limit.variable in AT_CONTACT]
