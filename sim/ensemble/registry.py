"""The one registry of what a flight leaves behind: every result variable, its unit and meaning.

The writer, the CF attributes, the tables of the documentation and the keys of `--json` all read
this. To add a result, add a row here and let the flight fill it; nothing else needs to know.

Units are spelled the UDUNITS way (`m s-1`, `rad`, `1`). A float is NaN where it does not apply.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True)
class Variable:
    """One result variable.

    Attributes
    ----------
    name : str
        As in the file.
    units : str
        UDUNITS spelling.
    long_name : str
        What it is, in words, and of which point.
    origin : str
        The part of the flight that leaves it behind.
    dims : tuple of str
        `("run",)` for an outcome, `("trace", "obs")` for a trace.
    dtype : str
        As numpy spells it.
    flags : tuple of str
        Meanings of the values 0, 1, 2 ... of a flag.
    missing : float or None
        Value for a flight that does not say; None: the flight must say.
    """

    name: str
    units: str
    long_name: str
    origin: str
    dims: tuple[str, ...] = ("run",)
    dtype: str = "f8"
    flags: tuple[str, ...] = ()
    missing: float | None = float("nan")


OUTCOME_MEANINGS = (
    "feet_first",
    "off_landing_pad",
    "airframe_first",
    "tumbled",
    "landing_motor_unlit",
    "never_came_down",
    "never_left_launch_pad",
    "numerical_failure",
    "standing",
    "tipped",
    "unsettled",
    "frame_struck",
    "leg_overloaded",
    "frame_overloaded",
    "too_fast",
)
"""What became of a flight, by value. Open list, new ones at the end; see OUTCOME_PRECEDENCE."""

OUTCOME_PRECEDENCE = (
    "feet_first",
    "standing",
    "off_landing_pad",
    "unsettled",
    "tipped",
    "frame_struck",
    "leg_overloaded",
    "frame_overloaded",
    "too_fast",
    "airframe_first",
    "tumbled",
    "landing_motor_unlit",
    "never_came_down",
    "never_left_launch_pad",
    "numerical_failure",
)
"""Where several hold, the last one here is the flight's: a cause outranks what follows from it.

`feet_first` and `off_landing_pad` of a flight that is given up at its first touch tell how it came
down; of one that is followed to rest, `standing` and `off_landing_pad` tell how it stays.
"""

CONTACT_POINTS = ("none", "foot", "nozzle", "tail_ring", "nose")
"""What touched the ground first, by value."""


def _flags() -> list[Variable]:
    return [
        Variable(
            "outcome", "1", "what became of the flight", "verdict",
            dtype="i1", flags=OUTCOME_MEANINGS, missing=None,
        ),
        Variable(
            "success", "1", "whether every line of the success predicate holds", "verdict",
            dtype="i1", flags=("failure", "success"), missing=None,
        ),
        Variable(
            "contact_point", "1", "what touched the ground first", "contact",
            dtype="i1", flags=CONTACT_POINTS, missing=0.0,
        ),
        Variable(
            "inside_landing_pad", "1",
            "whether all feet came down on the landing pad and stand on it", "contact",
            dtype="i1", flags=("outside", "inside"), missing=0.0,
        ),
        Variable(
            "standing", "1", "whether it is at rest upright on its feet", "rest",
            dtype="i1", flags=("not_standing", "standing"), missing=0.0,
        ),
        Variable(
            "frame_struck", "1", "whether nozzle, tail ring or nose touched the ground", "rest",
            dtype="i1", flags=("untouched", "struck"), missing=0.0,
        ),
        Variable(
            "stratum", "1", "stratum of the sampling plan that the flight belongs to",
            "sampling", dtype="i4", missing=0.0,
        ),
        Variable(
            "weight", "1", "weight of the flight in statistics over strata", "sampling",
            missing=1.0,
        ),
    ]  # fmt: skip


_FEET = "the point of the long axis at the feet's station"
_UNIT = "believed minus true, of the inertial unit"

_ROWS: dict[str, tuple[tuple[str, str, str], ...]] = {
    "contact": (
        ("contact_time", "s", "time of first contact since the ascent igniter was commanded"),
        ("landing_east", "m", f"east of the launch point, of {_FEET}, at first contact"),
        ("landing_north", "m", f"north of the launch point, of {_FEET}, at first contact"),
        ("miss_east", "m", "landing point minus centre of the landing pad, east"),
        ("miss_north", "m", "landing point minus centre of the landing pad, north"),
        ("miss_distance", "m", "distance of the landing point from the landing pad's centre"),
        ("touchdown_speed", "m s-1", f"speed of {_FEET} at first contact"),
        ("sink_rate", "m s-1", f"downward speed of {_FEET} at first contact"),
        ("lateral_speed", "m s-1", f"horizontal speed of {_FEET} at first contact"),
        ("tilt", "rad", "angle of the long axis from the vertical at first contact"),
        ("tilt_direction", "rad", "direction the nose leans to at contact, east of north"),
        ("tilt_rate", "rad s-1", "angular rate across the long axis at first contact"),
        ("roll_rate", "rad s-1", "angular rate about the long axis at first contact"),
        ("thrust_to_weight_at_contact", "1", "thrust over weight at first contact"),
        ("burn_left_at_contact", "1", "share of the landing motor's impulse left at contact"),
        ("throttle_at_contact", "1", "share of the thrust let through at first contact"),
        ("mass_at_contact", "kg", "mass at first contact"),
    ),
    "flight": (
        ("lift_off_time", "s", "time at which the vehicle leaves the launch pad"),
        ("ascent_burn_out_time", "s", "time of burn-out of the ascent motor"),
        ("separation_time", "s", "time at which the ascent stage comes free"),
        ("swap_time", "s", "time at which the landing motor is in the mount, after a swap"),
        ("apogee_time", "s", "time of the highest point of the centre of gravity"),
        ("apogee_height", "m", "greatest height of the centre of gravity above launch ground"),
        ("apogee_tilt", "rad", "angle of the long axis from the vertical at apogee"),
        ("ignition_command_time", "s", "time at which the landing motor is commanded to light"),
        ("landing_light_time", "s", "time at which the landing motor begins to thrust"),
        ("ignition_height", "m", "height of the feet above the landing pad at light"),
        ("ignition_sink_rate", "m s-1", "downward speed as the landing motor lights"),
        ("maximum_speed", "m s-1", "greatest speed of the centre of gravity"),
        ("maximum_tilt_climb", "rad", "greatest tilt from lift-off to apogee"),
        ("maximum_tilt_burn", "rad", "greatest tilt from light of the landing motor to contact"),
        ("maximum_acceleration", "m s-2", "greatest acceleration of the centre of gravity"),
        ("maximum_dynamic_pressure", "Pa", "greatest dynamic pressure"),
        ("gimbal_travel", "rad", "sum of the gimbals' movements, both axes"),
        ("gimbal_saturation", "1", "share of burn time with a gimbal at its stop"),
    ),
    "navigation": (
        ("navigation_error_east", "m", f"position error at contact, east: {_UNIT}"),
        ("navigation_error_north", "m", f"position error at contact, north: {_UNIT}"),
        ("navigation_error_up", "m", f"position error at contact, up: {_UNIT}"),
        ("navigation_velocity_error_east", "m s-1", f"velocity error at contact, east: {_UNIT}"),
        ("navigation_velocity_error_north", "m s-1", f"velocity error at contact, north: {_UNIT}"),
        ("navigation_velocity_error_up", "m s-1", f"velocity error at contact, up: {_UNIT}"),
        ("attitude_error_east", "rad", "small turn, believed from true, at contact, about east"),
        ("attitude_error_north", "rad", "small turn, believed from true, at contact, about north"),
        ("attitude_error_up", "rad", "small turn, believed from true, at contact, about up"),
        ("ignition_navigation_error_east", "m", f"position error at light, east: {_UNIT}"),
        ("ignition_navigation_error_north", "m", f"position error at light, north: {_UNIT}"),
        ("ignition_navigation_error_up", "m", f"position error at light, up: {_UNIT}"),
        ("guidance_error_east", "m", "believed landing point minus landing pad centre, east"),
        ("guidance_error_north", "m", "believed landing point minus landing pad centre, north"),
        ("believed_landing_error_east", "m", "believed minus true landing point, east"),
        ("believed_landing_error_north", "m", "believed minus true landing point, north"),
        (
            "normalised_error_at_contact", "1",
            "error of place and velocity squared over the filter's covariance, at contact, dof 6",
        ),
        (
            "normalised_error_at_ignition", "1",
            "the same at the command that lights the landing motor, dof 6",
        ),
        (
            "normalised_innovation_sum", "1",
            "sum of the filter's innovations squared over their variances, to contact",
        ),
        ("innovation_count", "1", "readings of the aids compared by the filter, to contact"),
        ("refused_count", "1", "readings of the aids beyond the filter's gate, to contact"),
    ),
    "rest": (
        ("rest_time", "s", "time at which the vehicle comes to rest"),
        ("rest_east", "m", f"east of the launch point, of {_FEET}, at the end"),
        ("rest_north", "m", f"north of the launch point, of {_FEET}, at the end"),
        ("rest_miss_east", "m", f"east of the landing pad's centre, of {_FEET}, at the end"),
        ("rest_miss_north", "m", f"north of the landing pad's centre, of {_FEET}, at the end"),
        ("rest_tilt", "rad", "angle of the long axis from the vertical at the end"),
        ("hops", "1", "times that all feet left the ground for 20 ms or more"),
        ("slide_distance", "m", f"way along the ground of {_FEET}, while anything touches"),
        ("peak_strut_force", "N", "largest force in a strut, its stops included"),
        ("peak_stroke", "m", "largest stroke of a strut"),
        ("peak_deceleration", "m s-2", "largest force of the ground over mass"),
        ("feet_on_pad", "1", "feet that stand on the landing pad at the end"),
        ("feet_down", "1", "feet that stand on the ground at the end"),
    ),
    "dropped stage": (
        ("stage_east", "m", "east of the launch point, where the dropped stage lies"),
        ("stage_north", "m", "north of the launch point, where the dropped stage lies"),
        ("stage_time", "s", "time at which the dropped stage reaches the ground"),
        ("stage_speed", "m s-1", "speed of the dropped stage at the ground"),
        ("stage_closest", "m", "least distance of stage and vehicle after once 1 m apart"),
    ),
    "parachute": (
        ("parachute_time", "s", "time at which the parachute begins to fill"),
        ("parachute_height", "m", "height of the centre of gravity above the landing pad then"),
        ("parachute_speed", "m s-1", "speed of the centre of gravity then"),
        ("parachute_load", "N", "largest pull of the parachute's line, filling or open"),
    ),
    "numerics": (
        ("failed_time", "s", "time at which the flight ceased to be a number"),
    ),
}  # fmt: skip

_TRACE_ROWS = (
    ("time", "s", "time since the ascent igniter was commanded"),
    *((axis, "m", f"centre of gravity, {axis} of the launch point") for axis in
      ("east", "north", "up")),
    *((f"velocity_{axis}", "m s-1", f"velocity of the centre of gravity, {axis}") for axis in
      ("east", "north", "up")),
    *((f"quaternion_{i}", "1", f"attitude quaternion body to local, part {i}") for i in range(4)),
    *((f"rate_{axis}", "rad s-1", f"angular rate about body {axis}") for axis in "xyz"),
    ("mass", "kg", "mass"),
    ("thrust_ascent", "N", "thrust of the ascent motor"),
    ("thrust_landing", "N", "thrust of the landing motor"),
    ("throttle", "1", "share of the landing motor's thrust let through"),
    ("gimbal_y", "rad", "turn of the thrust line about body y"),
    ("gimbal_z", "rad", "turn of the thrust line about body z"),
    *((f"wheel_{axis}", "N m s", f"momentum of the wheel about body {axis}") for axis in "xyz"),
    ("tilt", "rad", "angle of the long axis from the vertical"),
    ("angle_of_attack", "rad", "angle between the long axis and the air's path"),
    *((f"believed_{axis}", "m", f"believed place of the inertial unit, {axis}") for axis in
      ("east", "north", "up")),
    *((f"believed_velocity_{axis}", "m s-1", f"believed velocity of the inertial unit, {axis}")
      for axis in ("east", "north", "up")),
    *((f"believed_quaternion_{i}", "1", f"believed attitude quaternion, part {i}")
      for i in range(4)),
    *((f"true_unit_{axis}", "m", f"true place of the inertial unit, {axis}") for axis in
      ("east", "north", "up")),
    ("flying", "1", "1 while the flight goes on"),
    ("phase", "1", "phase of the flight sequence"),
    ("wind_east", "m s-1", "wind at the vehicle, towards east"),
    ("wind_north", "m s-1", "wind at the vehicle, towards north"),
    ("height_feet", "m", "height of the feet above the landing pad"),
    *((f"stage_{axis}", "m", f"dropped stage, {axis} of the launch point") for axis in
      ("east", "north", "up")),
    *((f"foot_force_{i}", "N", f"largest force of the ground on foot {i} since the last tick")
      for i in range(6)),
    *((f"stroke_{i}", "m", f"stroke of strut {i}") for i in range(6)),
    ("ground_load", "m s-2", "largest force of the ground over mass since the last tick"),
    *((f"deviation_{axis}", "m", f"filter's standard deviation of the unit's place, {axis}")
      for axis in ("east", "north", "up")),
    *((f"deviation_velocity_{axis}", "m s-1", f"filter's standard deviation of velocity, {axis}")
      for axis in ("east", "north", "up")),
)  # fmt: skip


def _outcomes() -> Mapping[str, Variable]:
    rows = [
        Variable(name, units, long_name, origin)
        for origin, group in _ROWS.items()
        for name, units, long_name in group
    ]
    return {variable.name: variable for variable in _flags() + rows}


OUTCOMES: Mapping[str, Variable] = _outcomes()
"""Every outcome of a flight, in the order of the file."""

TRACES: Mapping[str, Variable] = {
    name: Variable(name, units, long_name, "trace", dims=("trace", "obs"), dtype="f4")
    for name, units, long_name in _TRACE_ROWS
}
"""Every variable of a trace, in the order of the file."""


def attributes(variable: Variable) -> dict[str, Any]:
    """CF attributes of a variable.

    Parameters
    ----------
    variable : Variable
        From the registry.

    Returns
    -------
    dict
        `long_name`, and either `units` or, for a flag, `flag_values` and `flag_meanings`
        (CF conventions 1.11, section 3.5).
    """
    found: dict[str, Any] = {"long_name": variable.long_name}
    if variable.flags:
        found["flag_values"] = np.arange(len(variable.flags), dtype=variable.dtype)
        found["flag_meanings"] = " ".join(variable.flags)
    else:
        found["units"] = variable.units
    return found


def input_name(key: str) -> str:
    """Name in the file of a drawn input: each dot of the scenario's key becomes two underscores.

    >>> input_name("launch_pad.tilt")
    'launch_pad__tilt'
    """
    return key.replace(".", "__")


def axis_name(key: str) -> str:
    """Name of the dimension of a swept input: each dot of the key becomes one underscore.

    >>> axis_name("launch_pad.tilt")
    'launch_pad_tilt'
    """
    return key.replace(".", "_")


def input_units(unit: str) -> str | None:
    """Spell the unit of a scenario number as UDUNITS can read it.

    Returns None for what UDUNITS cannot say (densities per root hertz); the writer then leaves
    the attribute out and says the unit in words.
    """
    if "sqrt" in unit:
        return None
    return unit.strip() or "1"


def markdown_table(variables: Iterable[Variable]) -> str:
    """Table of variables for the documentation, one row each, in markdown."""
    lines = ["| name | unit | what it is | from |", "| --- | --- | --- | --- |"]
    for variable in variables:
        text = variable.long_name
        if variable.flags:
            text += ": " + ", ".join(f"{i} {m}" for i, m in enumerate(variable.flags))
        lines.append(f"| `{variable.name}` | {variable.units} | {text} | {variable.origin} |")
    return "\n".join(lines)
