"""The vehicle of one flight as something to draw: where nose, tail, feet and flame are.

Everything is placed from the inertial unit, whose true way and attitude the trace holds, so that
the centre of gravity, which moves as propellant burns, needs no guess. The trace counts that way
from where the unit began; the first height of the feet and the first centre of gravity say where
that was. Struts do not stroke in the picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

BURNS = 0.02  # of the greatest thrust of a motor: below it no flame is drawn


@dataclass(frozen=True)
class Body:
    """Shape of the vehicle, nominal; stations are behind the tip of the nose [m].

    Attributes
    ----------
    length, diameter, nose_length : float [m]
        Of what lands.
    stage_end : float [m]
        Station of the aft end while the ascent stage is on; that of the tail without a stage.
    cg : float [m]
        Without propellant and stage.
    unit : tuple of float [m]
        Station of the inertial unit, and its place beside the axis along body y and z.
    foot_azimuths : tuple of float [rad]
        Of the feet about the axis, from body y towards z; empty without legs.
    foot_open, foot_folded : tuple of float [m]
        Station of the feet, and their distance from the axis.
    hinge : tuple of float [m]
        The same of where the legs begin.
    """

    length: float
    diameter: float
    nose_length: float
    stage_end: float
    cg: float
    unit: tuple[float, float, float]
    foot_azimuths: tuple[float, ...]
    foot_open: tuple[float, float]
    foot_folded: tuple[float, float]
    hinge: tuple[float, float]


def body_of(scenario: Scenario) -> Body:
    """Take the shape from a scenario's nominal numbers."""

    def value(name: str) -> float:
        return float(scenario.numbers[name].value)

    length = value("vehicle.length")
    legs = scenario.has("legs")
    count = int(scenario.choices["legs.count"]) if legs else 0
    first = value("legs.first_azimuth") if legs else 0.0
    open_at, folded = (
        (value(f"legs.{kind}foot_station"), value(f"legs.{kind}foot_radius"))
        for kind in ("", "folded_")
    )
    hinge = value("legs.hinge_station"), value("legs.hinge_radius")
    if not hinge[0] > 0.0:  # legs that slide or do not swing name no hinge
        hinge = folded[0], 0.5 * value("vehicle.diameter")
    return Body(
        length=length,
        diameter=value("vehicle.diameter"),
        nose_length=min(value("vehicle.nose_length"), length),
        stage_end=max(value("stage.end"), length) if scenario.has("stage") else length,
        cg=value("vehicle.cg"),
        unit=(value("inertial.station"), value("inertial.offset_y"), value("inertial.offset_z")),
        foot_azimuths=tuple(first + 2.0 * math.pi * i / max(count, 1) for i in range(count)),
        foot_open=open_at,
        foot_folded=folded,
        hinge=hinge,
    )


def axes_of(line: dict[str, Floats]) -> tuple[Floats, Floats, Floats]:
    """Unit vectors of body x (the nose), y and z in east, north and up, each (samples, 3)."""
    q0, q1, q2, q3 = (line[f"quaternion_{i}"] for i in range(4))
    x = 1.0 - 2.0 * (q2**2 + q3**2), 2.0 * (q1 * q2 + q0 * q3), 2.0 * (q1 * q3 - q0 * q2)
    y = 2.0 * (q1 * q2 - q0 * q3), 1.0 - 2.0 * (q1**2 + q3**2), 2.0 * (q2 * q3 + q0 * q1)
    z = 2.0 * (q1 * q3 + q0 * q2), 2.0 * (q2 * q3 - q0 * q1), 1.0 - 2.0 * (q1**2 + q2**2)
    return np.stack(x, axis=1), np.stack(y, axis=1), np.stack(z, axis=1)


class Placed:
    """The vehicle along a flight: points of its body in east, north and up.

    Parameters
    ----------
    body : Body
    line : dict of str to ndarray (samples,)
        The trace, by the names of the registry, with `true_unit_east` and so on.
    pad_height : float [m]
        Of the landing pad, above which the trace counts the height of the feet.
    """

    def __init__(self, body: Body, line: dict[str, Floats], pad_height: float = 0.0) -> None:
        self.body, self.line = body, line
        self._height = line["height_feet"] + pad_height
        self.x, self.y, self.z = axes_of(line)
        unit = np.stack([line[f"true_unit_{axis}"] for axis in ("east", "north", "up")], axis=1)
        station, right, down = body.unit
        self.tip = unit + station * self.x - right * self.y - down * self.z
        self.tip += self._began()

    def _began(self) -> Floats:
        """Place of the launch point's frame in which the unit's way starts at nought (3,) [m]."""
        cg = np.array([self.line[axis][0] for axis in ("east", "north", "up")])
        x, tip = self.x[0], self.tip[0]
        if not self.body.foot_azimuths:
            return np.asarray(cg - (tip - self.body.cg * x))
        found = []
        for place in (self.body.foot_folded, self.body.foot_open):
            lift = self._height[0] - min(foot[0, 2] for foot in self.feet(place))
            station = (tip[2] + lift - cg[2]) / x[2] if abs(x[2]) > 0.1 else self.body.cg
            found.append((abs(station - self.body.cg), station))
        return np.asarray(cg - (tip - min(found)[1] * x))

    def point(self, station: float, right: float = 0.0, down: float = 0.0) -> Floats:
        """Place of a point of the body all along the flight (samples, 3) [m]."""
        return np.asarray(self.tip - station * self.x + right * self.y + down * self.z)

    def feet(self, place: tuple[float, float]) -> list[Floats]:
        """Places of the feet, or of the hinges, at a station and distance from the axis."""
        station, radius = place
        return [
            self.point(station, radius * math.cos(azimuth), radius * math.sin(azimuth))
            for azimuth in self.body.foot_azimuths
        ]

    def legs_open(self) -> Mask:
        """When the legs were open: which of the two fits the height of the feet, all along."""
        if not self.body.foot_azimuths:
            return np.zeros(len(self.tip), dtype=bool)
        out, folded = (
            np.min([foot[:, 2] for foot in self.feet(place)], axis=0)
            for place in (self.body.foot_open, self.body.foot_folded)
        )
        return np.asarray(np.abs(self._height - out) < np.abs(self._height - folded))


def burning(line: dict[str, Floats], motor: str) -> Floats:
    """Share of its greatest thrust that a motor gives (samples,); zero where it is out."""
    thrust = line.get(f"thrust_{motor}")
    if thrust is None or not float(np.max(thrust, initial=0.0)) > 0.0:
        return np.zeros(len(line["time"]))
    share = np.asarray(thrust / thrust.max(), dtype=np.float64)
    return np.where(share > BURNS, share, 0.0)
