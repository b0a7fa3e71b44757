"""Distances that published codes ask for, as a reminder beside what was simulated.

They differ by country and change: the range safety officer and the local law decide. Wording is
ours; what stands "from memory" was not read in the source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

FOOT = 0.3048  # m
_CLASSES = "ABCDEFGHIJKLMNO"
# impulse class -> stand-off of a single motor and of several [ft]
_HIGH_POWER = {
    "H": (100, 200), "I": (100, 200), "J": (100, 200), "K": (200, 300), "L": (300, 500),
    "M": (500, 1000),
}  # fmt: skip
# impulse up to [N s] -> stand-off [ft]
_CALIFORNIA = ((320.0, 30), (1280.0, 150), (2560.0, 200), (5120.0, 300), (10240.0, 500))


@dataclass(frozen=True)
class Distance:
    """A stand-off of a code: metres, for whom, where it is written, and how current that is."""

    metres: float
    who: str
    source: str
    current: str


def impulse_class(impulse: float) -> str:
    """Letter of a total impulse [N s]: A up to 2.5, doubling from letter to letter."""
    step = max(0, math.ceil(math.log2(impulse / 2.5) - 1e-9)) if impulse > 0.0 else 0
    return _CLASSES[min(step, len(_CLASSES) - 1)]


def distances(facts: Mapping[str, float], apogee: float) -> list[Distance]:
    """Stand-offs that codes name for a vehicle, the nearest first.

    Parameters
    ----------
    facts : mapping
        impulse [N s] of all motors, motors, propellant_mass and lift_off_mass [kg].
    apogee : float [m]
        Greatest height expected; nan if it is not known.

    Returns
    -------
    list of Distance
        Not all of them hold everywhere, nor for every vehicle: `who` says.
    """
    impulse = facts["impulse"]
    letter = impulse_class(impulse)
    found = []
    if impulse <= 320.0:
        feet = 15 if letter in "ABCD" else 30
        found.append(Distance(
            feet * FOOT, "model rocket code, whoever launches", "model rocket safety code "
            "(2001, 2012 texts)", "read; no later text",
        ))  # fmt: skip
    for most, feet in _CALIFORNIA:
        if impulse <= most:
            found.append(Distance(
                feet * FOOT, "California, whoever launches", "19 CCR 1036, table 18A",
                "read; date of the text not recorded",
            ))  # fmt: skip
            break
    if letter in _HIGH_POWER or letter == "G":
        # the codes begin at H: one below it takes the first row
        single, several = _HIGH_POWER.get(letter, _HIGH_POWER["H"])
        feet = several if facts["motors"] > 1 else single
        many = "several motors" if facts["motors"] > 1 else "one motor"
        row = letter if letter in _HIGH_POWER else "H, the first"
        found.append(Distance(
            feet * FOOT, f"high-power code, class {row}, {many}", "NFPA 1127, table",
            "from memory",
        ))  # fmt: skip
    if facts["propellant_mass"] > 0.125 or facts["lift_off_mass"] > 1.5:
        quarter = 0.25 * apogee if math.isfinite(apogee) else 0.0
        found.append(Distance(
            max(1500.0 * FOOT, quarter), "USA, class 2: people and property not involved",
            "14 CFR 101.25", "read; not checked for later changes",
        ))  # fmt: skip
    return sorted(found, key=lambda row: row.metres)


OFFICER = (
    "The range safety officer and the local law decide how far people stand away, not this "
    "program. Landing on a motor is outside what hobby codes foresee: take every distance above as "
    "a floor, and add what is predicted here."
)
