"""A number of a resolved scenario."""

from __future__ import annotations

from dataclasses import dataclass

from sim.scenario.laws import Law


@dataclass(frozen=True)
class Number:
    """One number that a flight uses, in SI.

    Parameters
    ----------
    name : str
        Dotted, with its axis if it has one: "inertial.gyro.bias.x".
    unit : str
        SI unit, "1" for a plain number.
    value : float
        Nominal value; see `Law.nominal`.
    law : Law
        What it is drawn from, "fixed" if it is certain.
    believed : float
        What the vehicle takes it to be.
    given : bool
        Whether the scenario gives it; else it is a default.
    source : str
        Where it was given, or where the default comes from.
    line : int or None
        Line of the file, if it was given in one.
    doc : str
        One line of documentation.
    """

    name: str
    unit: str
    value: float
    law: Law
    believed: float
    given: bool
    source: str
    line: int | None
    doc: str
