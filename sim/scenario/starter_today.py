"""Today's numbers: a small file built on a scenario, with blanks to fill in on the field."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from sim.scenario.amounts import write_law
from sim.scenario.catalogue import spec_for
from sim.scenario.starter_text import comment, toml_value

if TYPE_CHECKING:
    from sim.scenario.scenario import Scenario

MEASURES: dict[str, str] = {
    "vehicle.dry_mass": "Weigh what lands on a kitchen scale, without propellant and without the "
    "ascent stage. The spread is that of the scale.",
    "vehicle.cg": "Balance it on an edge, across the body, without propellant, legs folded; "
    "measure from the tip of the nose to the edge. Three times; the spread is how they differ.",
    "vehicle.transverse_inertia": "Swing test: hang it level by two parallel threads of length h, "
    "a distance d apart, the cg in the middle between them. Turn it a little about the vertical, "
    "let go, and time twenty swings: T is the time of one. "
    "Inertia = m g d^2 T^2 / (16 pi^2 h), with "
    "m the mass that hangs and g = 9.81 m/s2. (Or swing it about a nail at a distance a from the "
    "cg: inertia = m g a T^2 / (4 pi^2) - m a^2.) Three times.",
    "vehicle.axial_inertia": "The same with two threads, hung nose up, about the long axis.",
    "stage.mass": "Weigh the ascent stage with the empty motor case.",
    "ascent_motor.propellant_mass": "From the label of today's motor, or weigh the motor and take "
    "off the empty case.",
    "landing_motor.propellant_mass": "The same for the landing motor.",
    "ascent_motor.grain_temperature": "Leave the motors in the shade for an hour, a thermometer "
    "among them, and read it. Not in the sun, not in a warm car.",
    "landing_motor.grain_temperature": "The same, unless it lay elsewhere.",
    "launch_pad.tilt": "Lay a digital level along the standing body, facing north and facing east: "
    "n and e are how far the nose leans north and east, in degrees. Tilt = sqrt(n^2 + e^2). Write "
    '"0.8 deg +/- 0.1 deg" with the spread of the level; if the tilt is less than four times the '
    'spread, write { half_normal = "0.2 deg" }, for a tilt cannot be below zero.',
    "launch_pad.tilt_direction": "Where the nose leans, east of north: atan2(e, n), such as "
    '"45 deg +/- 10 deg". Leave it as it is if the tilt is too small to tell.',
    "launch_pad.heading": "Where the belly points, east of north, by a compass held well away from "
    "motors and steel.",
    "site.temperature": "Thermometer in the shade, two metres above the grass.",
    "site.pressure": "Barometer on the field as it reads, not reduced to sea level.",
    "wind.speed": "Hold an anemometer at a known height, clear of people and cars, for two "
    "minutes; take the mean. The spread is about how much the mean of one minute differs from the "
    "next.",
    "wind.reference_height": "The height at which the anemometer was held. It goes with the speed: "
    "a speed read at 2 m is not the speed at 10 m.",
    "wind.direction": "Where it comes from, east of north (from the west: 270 deg), mean of the "
    'same two minutes, such as "270 deg +/- 15 deg".',
}
"""How to measure each number of the day, by dotted key, in the order of the file."""


def today_text(scenario: Scenario, base: str, title: str) -> str:
    """Write the file of today's numbers.

    Parameters
    ----------
    scenario : Scenario
        That it is built on.
    base : str
        Name of its file, relative to where the new file will be.
    title : str

    Returns
    -------
    str
        TOML; a scenario as it stands, which flies as the base does, and with any of its blanks
        opened.
    """
    raw = tomllib.loads(scenario.text)
    lines = [
        *comment(f"Today's numbers for {' '.join(scenario.title.split())}: {title}."),
        "#",
        *comment(
            "As it stands this flies as the scenario it is built on. For each number you measure "
            "today: take the # away from its line and put in what you read, with unit and spread "
            "(+/- one standard deviation). What you do not measure, leave."
        ),
        "",
        f"base = {toml_value(base)}",
        f"title = {toml_value(f'{scenario.title}, {title}')}",
    ]
    current = ""
    for name, how in MEASURES.items():
        part, _, key = name.rpartition(".")
        if not scenario.has(part):
            continue
        if part != current:
            current = part
        lines += ["", *comment(how), f"# {part}.{key} = {toml_value(_now(scenario, raw, name))}"]
    return "\n".join(lines) + "\n"


def _now(scenario: Scenario, raw: dict[str, Any], name: str) -> Any:
    """What the scenario has: as written there, or the default."""
    part, key = name.split(".")
    written = raw.get(part, {})
    if key in written:
        return written[key]
    known = spec_for(name)
    default = getattr(known[3], "default", None) if known is not None else None
    number = scenario.numbers[name]
    return default if default is not None else write_law(number.law, number.unit)
