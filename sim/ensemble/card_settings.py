"""The settings of the flight computer as files to load: tables for people, a header for C.

Every number is written with all its digits, so that what is read back is the same number bit for
bit, and every file carries the digest of the scenario that was simulated.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from sim.avionics.landing_plan import SINK_STEP
from sim.avionics.memory import SETTINGS
from sim.ensemble.protocols import Floats
from sim.ensemble.settings import PUSH_STEP

GAINS = {
    "bandwidth_squared": "1/s2", "rate_gain": "1/s", "integral": "1/s", "unwind": "s",
    "scheduled": "1", "ascent_push": "m/s2", "landing_push": "m/s2", "ascent_leverage": "1/m",
    "landing_leverage": "1/m", "ascent_travel": "rad", "landing_travel": "rad",
    "wheel_gain": "N m/rad", "wheel_rate_gain": "N m s/rad", "wheel_limit": "N m",
    "roll_gain": "N m/rad", "roll_rate_gain": "N m s/rad", "roll_limit": "N m",
    "wheel_unload": "1/s", "wheel_momentum": "N m s",
}  # fmt: skip
"""Settings of the attitude loops, and their units."""

SEQUENCE = {
    "attitude_law": "0 plumb, 1 levelled, 2 measured", "zero_nose": "1", "zero_side": "1",
    "zero_gyro": "1", "gravity": "m/s2", "gravity_gradient": "1/s2", "launch_height": "m",
    "landing_east": "m", "landing_north": "m", "unit_above_aft": "m", "unit_above_feet": "m",
    "unit_y": "m", "unit_z": "m", "unit_forward": "m", "tick": "s", "lift_off_force": "m/s2",
    "lift_off_samples": "1", "burn_out_force": "m/s2", "separation_after": "s",
    "petals_at_apogee": "1", "petals_at_separation": "1", "legs_after": "s",
    "abort_nose_up": "1", "stage_wait": "s", "light_wait": "s", "check_continuity": "1",
    "hold": "1", "abort_parachute": "1", "abort_level": "1",
    "climb_tilt_start": "s", "climb_tilt_end": "s", "climb_east": "1", "climb_north": "1",
    "climb_aimed": "1", "climb_tilt": "1", "climb_rate": "1/s", "coast_time": "s",
    "wind_drift": "s", "ignition_law": "0 table, 1 height, 2 time", "ignition_margin": "m",
    "ignition_height": "m", "ignition_time": "s", "sink_steps": "s/m", "light_force": "m/s2",
    "push_steps": "1/s", "boost_end": "s", "burn_end": "s", "sustain_slowing": "m/s2",
    "touchdown_sink_rate": "m/s", "sink_gain": "1/s", "drag_share": "1/m", "least_throttle": "1",
    "throttle_keep": "1", "guidance_tilt": "1", "guidance_freeze": "s", "separation_time": "s",
}  # fmt: skip
"""Alignment, place, sequence, climb, landing; and their units."""

REST = {name: "SI, radians" for name in SETTINGS if name not in GAINS and name not in SEQUENCE}
"""All other settings: of a divert, and of the navigation filter; see sim.avionics.memory."""

TABLES = {
    "ignition_height": ("sink_rate_m_per_s", SINK_STEP, "height_of_feet_m"),
    "landing_push": ("time_since_light_s", PUSH_STEP, "push_m_per_s2"),
}
"""Tables: their first column, its step, their second column."""

_NEVER = "nan is never, or not used"


def settings_files(
    stem: str, settings: Mapping[str, float], tables: Mapping[str, Floats], digest: str
) -> dict[str, str]:
    """Text of each file to load, by its name.

    Parameters
    ----------
    stem : str
        Names begin with it.
    settings, tables : mappings
        From `sim.ensemble.settings.computer_settings`.
    digest : str
        Of the scenario.

    Returns
    -------
    dict of str to str
        Two tables of settings, two of the landing burn, one C header.
    """
    found = {}
    for ending, units in (("gains", GAINS), ("sequence", SEQUENCE | REST)):
        lines = [f"# setdown, scenario {digest}; {_NEVER}", "name,value,unit"]
        lines += [f"{name},{settings[name]!r},{_quoted(unit)}" for name, unit in units.items()]
        found[f"{stem}_{ending}.csv"] = _joined(lines)
    for name, (first, step, second) in TABLES.items():
        lines = [f"# setdown, scenario {digest}; margin not included", f"{first},{second}"]
        if name == "landing_push":
            lines[0] = f"# setdown, scenario {digest}; nominal thrust over mass, throttle open"
        lines += [f"{k * step!r},{float(x)!r}" for k, x in enumerate(tables[name])]
        found[f"{stem}_{name}.csv"] = _joined(lines)
    found[f"{stem}_settings.h"] = header(settings, tables, digest)
    return found


def header(settings: Mapping[str, float], tables: Mapping[str, Floats], digest: str) -> str:
    """C header (C99) with the digest, the settings as a structure, and the tables as arrays."""
    units = GAINS | SEQUENCE | REST
    lines = [
        "/* Settings of the flight computer, as simulated by setdown. SI units.",
        f"   {_NEVER.capitalize()}. Do not edit: write it anew from the scenario.",
        "   Compare the digest with the one on the card before arming. */",
        "#ifndef SETDOWN_SETTINGS_H", "#define SETDOWN_SETTINGS_H", "", "#include <math.h>", "",
        f'#define SETDOWN_SCENARIO_DIGEST "{digest}"', "",
        "typedef struct {",
        *(f"    double {name}; /* {units[name]} */" for name in SETTINGS),
        "} setdown_settings;", "",
        "static const setdown_settings SETDOWN_SETTINGS = {",
        *(f"    .{name} = {_c_number(settings[name])}," for name in SETTINGS),
        "};", "",
    ]  # fmt: skip
    for name, (first, step, second) in TABLES.items():
        macro = f"SETDOWN_{name.upper()}"
        values = [_c_number(float(x)) for x in tables[name]]
        lines += [
            f"/* {second} over {first}, from 0 in steps of {step!r} */",
            f"#define {macro}_SIZE {len(values)}",
            f"static const double {macro}[{macro}_SIZE] = {{",
            *(f"    {value}," for value in values),
            "};", "",
        ]  # fmt: skip
    return _joined([*lines, "#endif"])


def _c_number(value: float) -> str:
    if math.isnan(value):
        return "NAN"
    if math.isinf(value):
        return "INFINITY" if value > 0 else "-INFINITY"
    return repr(float(value))


def _quoted(text: str) -> str:
    return f'"{text}"' if "," in text else text


def _joined(lines: list[str]) -> str:
    return "\n".join(lines) + "\n"
