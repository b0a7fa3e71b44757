"""From how a vehicle is let go to the fields that the flight kernel starts with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.drop_release import PREFIX
from sim.ensemble.protocols import Floats

JUST = 2e-4  # m: more than the fall of the first tick, so that the touch is found
NEAR = 0.02  # s, before the touch, when only a sink rate was asked for
STILL_AIR = ("wind_speed", "turbulence", "turbulence_speed", "gust_speed", "wind_log_law")
MOTORS = ("spent", "full")


class Fall(NamedTuple):
    """Height of the lowest foot, downward speed and time to the ground, of each drop (n,)."""

    height: Floats  # m
    speed: Floats  # m/s
    time: Floats  # s


def fall_of(release: Mapping[str, Floats], gravity: Floats) -> Fall:
    """Where and how fast a drop begins.

    Parameters
    ----------
    release : mapping of str to ndarray (n,)
        By the names of `drop_release.NUMBERS` with PREFIX.
    gravity : ndarray (n,) [m/s2]

    Returns
    -------
    Fall

    Notes
    -----
    From a height the vehicle is let go at rest. A sink rate is reached by letting it go a short way
    above the ground, at rest if it is small: v^2 = v0^2 + 2 g h (Torricelli), air left out.
    """
    if PREFIX + "height" in release:
        height = np.maximum(release[PREFIX + "height"], JUST)
        speed = np.zeros_like(height)
    else:
        wanted = release[PREFIX + "sink_rate"]
        height = np.maximum(np.minimum(wanted * NEAR, wanted**2 / (2.0 * gravity)), JUST)
        speed = np.sqrt(np.maximum(wanted**2 - 2.0 * gravity * height, 0.0))
    time = (np.sqrt(speed**2 + 2.0 * gravity * height) - speed) / gravity
    return Fall(height, speed, time)


def release_inputs(
    fields: Mapping[str, Floats], release: Mapping[str, Floats], legs: NDArray[np.float64],
    motor: str,
) -> dict[str, Floats]:  # fmt: skip
    """Fields of the kernel that make a flight a drop.

    Parameters
    ----------
    fields : mapping of str to ndarray (n,)
        Inputs of the vehicle, by the names of `sim.flight_records.INPUTS`.
    release : mapping of str to ndarray (n,)
        By the names of `drop_release.NUMBERS` with PREFIX.
    legs : ndarray (2 m,)
        Sines, then cosines, of the azimuths of the feet.
    motor : {"spent", "full"}
        Landing motor as it is at touchdown.

    Returns
    -------
    dict of str to ndarray (n,)

    Notes
    -----
    The air is still, the vehicle comes down on the middle of the landing pad, the belly faces
    north.
    """
    tilt, lean = release[PREFIX + "tilt"], release[PREFIX + "tilt_direction"]
    side, way = release[PREFIX + "side_speed"], release[PREFIX + "side_direction"]
    turn = release[PREFIX + "turn_rate"]
    propellant = fields["landing_propellant"] if motor == "full" else 0.0 * tilt
    fall = fall_of(release, fields["gravity"])
    east, north = side * np.sin(way), side * np.cos(way)
    changed = dict.fromkeys(STILL_AIR, 0.0 * tilt)
    return changed | {
        "ascent_propellant": 0.0 * tilt,
        "landing_propellant": propellant,
        "start_east": fields["pad_east"] - east * fall.time,
        "start_north": fields["pad_north"] - north * fall.time,
        "start_up": fields["pad_up"] + fall.height
        - lowest_foot({**fields, "landing_propellant": propellant}, legs, tilt, lean),
        "start_velocity_east": east,
        "start_velocity_north": north,
        "start_velocity_up": -fall.speed,
        "start_tilt": tilt,
        "start_tilt_direction": lean,
        "start_heading": 0.0 * tilt,
        "start_rate_x": 0.0 * tilt,
        # about the level axis across the lean, (-cos, sin, 0) in east, north, up
        "start_rate_y": -turn * np.cos(lean),
        "start_rate_z": turn * np.sin(lean),
    }  # fmt: skip


def lowest_foot(
    fields: Mapping[str, Floats], legs: NDArray[np.float64], tilt: Floats, lean: Floats
) -> Floats:
    """Height of the lowest foot over the centre of gravity [m], negative; legs open, stage gone.

    Parameters
    ----------
    fields : mapping of str to ndarray (n,)
    legs : ndarray (2 m,)
    tilt, lean : ndarray (n,) [rad]
        Of the long axis from the vertical; where the nose leans, east of north.
    """
    mass, charge = fields["core_mass"], fields["landing_propellant"]
    total = mass + charge
    dry_x = fields["core_x"] - fields["legs_shift"]
    x = (mass * dry_x + charge * fields["landing_propellant_x"]) / total
    y, z = mass * fields["core_y"] / total, mass * fields["core_z"] / total
    down = np.sin(tilt)
    lowest = np.full(tilt.shape, np.inf)
    count = len(legs) // 2
    for sine, cosine in zip(legs[:count], legs[count:], strict=True):
        across_y, across_z = fields["feet_radius"] * cosine - y, fields["feet_radius"] * sine - z
        height = (
            np.cos(tilt) * (fields["feet_x"] - x)
            - down * np.sin(lean) * across_y
            - down * np.cos(lean) * across_z
        )
        lowest = np.minimum(lowest, height)
    return lowest
