"""The kinds of quantity a scenario knows: its name, its SI unit, what a person writes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity.

    Parameters
    ----------
    name : str
        As a key's documentation and an error message say it.
    unit : str
        SI unit, in the notation of `sim.scenario.units`.
    examples : tuple of str
        Two or more ways a person would write one.
    """

    name: str
    unit: str
    examples: tuple[str, ...]


_ROWS = (
    Dimension("number", "1", ("0.35", "2 %")),
    Dimension("length", "m", ("0.56 m", "74 mm")),
    Dimension("area", "m2", ("0.018 m2", "45 cm2")),
    Dimension("mass", "kg", ("1.3 kg", "450 g")),
    Dimension("inertia", "kg m2", ("0.098 kg m2", "980 kg cm2")),
    Dimension("time", "s", ("0.12 s", "60 ms")),
    Dimension("angle", "rad", ("2 deg", "35 mrad")),
    Dimension("angular rate", "rad/s", ("250 deg/s", "7 rad/s")),
    Dimension("speed", "m/s", ("2.5 m/s", "9 km/h")),
    Dimension("acceleration", "m/s2", ("1.5 g", "6 mg", "9.8 m/s2")),
    Dimension("force", "N", ("42 N", "9 lbf")),
    Dimension("stiffness", "N/m", ("3000 N/m", "3 kN/m")),
    Dimension("damping", "N s/m", ("60 N s/m",)),
    Dimension("time per length", "s/m", ("0.8 s/m",)),
    Dimension("impulse", "N s", ("0.12 N s", "64 N s")),
    Dimension("torque", "N m", ("0.04 N m", "40 mN m")),
    Dimension("torque per angle", "N m/rad", ("2 N m/rad", "40 mN m/deg")),
    Dimension("angular momentum", "N m s", ("0.06 N m s", "60 mN m s")),
    Dimension("temperature", "K", ("15 degC", "288 K")),
    Dimension("pressure", "Pa", ("1000 hPa", "101.3 kPa")),
    Dimension("frequency", "Hz", ("200 Hz", "1 kHz")),
    Dimension("share per second", "1/s", ("0.8 1/s", "3 1/s")),
    Dimension("share per temperature", "1/K", ("0.2 %/K", "0.002 1/K")),
    Dimension("angular noise density", "rad/s/sqrt(Hz)", ("0.007 deg/s/sqrt(Hz)",)),
    Dimension("acceleration noise density", "m/s2/sqrt(Hz)", ("150 ug/sqrt(Hz)",)),
    Dimension("angular rate per acceleration", "rad s/m", ("0.02 deg/s/g",)),
    Dimension("angular rate per acceleration squared", "rad s3/m2", ("0.004 deg/s/g2",)),
    Dimension("acceleration per acceleration squared", "s2/m", ("0.5 mg/g2",)),
)

DIMENSIONS: dict[str, Dimension] = {row.name: row for row in _ROWS}
