"""Numbers as people read them: a unit that suits, few digits, no surprises.

A value that rounds to zero is written without a minus: "-0.00" says nothing that "0.00" does not.
"""

from __future__ import annotations

import math

from sim.scenario.units import conversion

# SI unit -> units to choose from, the first whose number is at least one is taken, else the last
_CHOICES: dict[str, tuple[str, ...]] = {
    "m": ("m", "mm"),
    "m2": ("m2", "cm2"),
    "kg": ("kg", "g"),
    "kg m2": ("kg m2", "kg cm2"),
    "s": ("s", "ms"),
    "rad": ("deg",),
    "rad/s": ("deg/s",),
    "rad/s2": ("deg/s2",),
    "K": ("degC",),
    "Pa": ("hPa",),
    "m/s2": ("g", "mg"),
    "1/K": ("%/K",),
    "rad/s/sqrt(Hz)": ("deg/s/sqrt(Hz)",),
    "m/s2/sqrt(Hz)": ("ug/sqrt(Hz)",),
    "rad s/m": ("deg/s/g",),
    "rad s3/m2": ("deg/s/g2",),
    "s2/m": ("mg/g2",),
}
_LEAST = {"m": 0.1, "s": 0.1, "kg": 0.3, "kg m2": 1e-2, "m2": 1e-2}
_FREQUENCIES = ("bandwidth", "natural_frequency")


def unit_for(name: str, unit: str, size: float) -> str:
    """Choose the unit to show a scenario number in.

    Parameters
    ----------
    name : str
        Dotted name of the number: loop and servo frequencies stay in rad/s.
    unit : str
        SI.
    size : float
        The largest magnitude to be shown.
    """
    if unit == "rad/s" and name.endswith(_FREQUENCIES):
        return unit
    choices = _CHOICES.get(unit, (unit,))
    for choice in choices[:-1]:
        least = _LEAST.get(choice)
        if abs(size) >= (least if least is not None else conversion(choice, unit)[0]):
            return choice
    return choices[-1] if size else choices[0]


def in_unit(value: float, unit: str, shown: str, *, difference: bool = False) -> float:
    """Convert an SI value to the unit it is shown in."""
    if shown == "dB":
        return 20.0 * math.log10(value) if value > 0.0 else -math.inf
    factor, offset = conversion(shown, unit, difference)
    return (value - offset) / factor


def plain(value: float, digits: int = 4) -> str:
    """Write a number with so many significant digits, without an exponent where that can be."""
    if math.isnan(value):
        return "-"
    if math.isinf(value):
        return "none" if value > 0 else "-none"
    rounded = float(f"{value:.{digits}g}")
    if rounded == 0.0:
        return "0"
    if 1e-4 <= abs(rounded) < 1e6:
        text = f"{rounded:.12f}".rstrip("0").rstrip(".")
        return text if text else "0"
    return f"{rounded:.{digits - 1}e}"


def amount(
    value: float, unit: str, shown: str, digits: int = 4, *, difference: bool = False
) -> str:
    """Write an SI value in the unit to show, with that unit."""
    number = plain(in_unit(value, unit, shown, difference=difference), digits)
    if shown in ("1", "") or number in ("-", "none"):
        return number
    return f"{number} {'K' if difference and shown == 'degC' else shown}"


def percent(share: float, digits: int = 1) -> str:
    """Write a share as a percentage: 0.6134 as 61.3 %."""
    if math.isnan(share):
        return "-"
    return f"{100.0 * share:z.{digits}f} %"


def bounds(lower: float, upper: float, digits: int = 2, scale: float = 1.0) -> str:
    """Write two bounds as a range; an infinite one as "no bound"."""
    low = "no bound" if not math.isfinite(lower) else f"{lower * scale:z.{digits}f}"
    high = "no bound" if not math.isfinite(upper) else f"{upper * scale:z.{digits}f}"
    return f"{low} to {high}"


def fixed(value: float, digits: int = 2, scale: float = 1.0) -> str:
    """Write a number with so many decimals; infinity as "beyond"."""
    if math.isnan(value):
        return "-"
    return f"{value * scale:z.{digits}f}" if math.isfinite(value) else "beyond"


def signed(value: float, digits: int = 2) -> str:
    """Write a number with its sign, plus too; one that rounds to zero has none."""
    text = f"{value:+z.{digits}f}"
    return text if text.strip("+0.") else text[1:]


def duration(seconds: float) -> str:
    """Whole seconds, minutes or hours in words."""
    if seconds < 1.0:
        return "under 1 s"
    if seconds < 90.0:
        return f"{seconds:.0f} s"
    if seconds < 5400.0:
        return f"{seconds / 60.0:.0f} min"
    return f"{seconds / 3600.0:.1f} h"


WORDS = {
    "feet_first": "feet first, on the landing pad",
    "off_landing_pad": "feet first, off the landing pad",
    "airframe_first": "airframe touched first",
    "tumbled": "came down tumbled over",
    "landing_motor_unlit": "landing motor did not light",
    "never_came_down": "did not come down in time",
    "never_left_launch_pad": "did not leave the launch pad",
    "numerical_failure": "failed numerically",
    "tipped": "tipped over",
    "unsettled": "did not come to rest in time",
    "frame_struck": "airframe struck the ground",
    "leg_overloaded": "a leg was overloaded",
    "frame_overloaded": "airframe was overloaded",
    "too_fast": "touched down too fast for its legs",
    "touchdown_speed": "touchdown speed",
    "sink_rate": "sink rate",
    "lateral_speed": "lateral speed",
    "tilt": "tilt",
    "tilt_rate": "tilt rate",
    "inside_landing_pad": "all feet inside the landing pad",
    "first_contact": "first contact",
}


def words(name: str) -> str:
    """Name of a result in words."""
    return WORDS.get(name, name.replace("_", " "))
