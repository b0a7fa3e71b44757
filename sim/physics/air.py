"""Air and gravity at the field: density on a standard lapse rate, normal gravity with height."""

from __future__ import annotations

import math

from sim.lanes import absolute, any_lane, part, polynomial, power, room, where

GAS_CONSTANT = 287.05287  # J/(kg K), dry air
LAPSE_RATE = 0.0065  # K/m, below 11 km
STANDARD_GRAVITY = 9.80665  # m/s2
EARTH_RADIUS = 6356766.0  # m, of the geopotential height of the US Standard Atmosphere 1976
FALL = LAPSE_RATE * EARTH_RADIUS * EARTH_RADIUS  # K m
DENSITY_EXPONENT = STANDARD_GRAVITY / (GAS_CONSTANT * LAPSE_RATE) - 1.0
# (1 - x)^DENSITY_EXPONENT by its binomial series, highest power first; what is left out is below
# 1e-16 of it for |x| up to NEAR, which is 900 m
NEAR = 0.02
POWERS = tuple(
    math.prod([1.0, *((j - DENSITY_EXPONENT) / (j + 1) for j in range(k))])
    for k in range(8, -1, -1)
)

INPUTS = (
    "air_density",  # kg/m3, at the launch point
    "air_temperature",  # K, at the launch point
    "elevation",  # m, of the launch point above sea level
    "gravity",  # m/s2, at the launch point
    "gravity_slope",  # 1/s2, change of gravity with height
    "gravity_curvature",  # 1/(m s2)
)


@room
def density_at(z, p):
    """Density of air.

    Parameters
    ----------
    z : lanes [m]
        Height above the launch point.
    p : record
        Inputs of the flight.

    Returns
    -------
    lanes [kg/m3]

    Notes
    -----
    US Standard Atmosphere 1976 below 11 km, started from the temperature and pressure measured at
    the field: T falls by 6.5 K a kilometre of geopotential height, p / p0 = (T / T0)^(g / R L).
    """
    base = EARTH_RADIUS + p.elevation
    # fall of temperature from the launch point, over the temperature there
    cooler = FALL * z / ((base + z) * base * p.air_temperature)
    ratio = polynomial(cooler, POWERS)
    far = absolute(cooler) > NEAR
    if any_lane(far):
        ratio = where(far, power(1.0 - cooler, DENSITY_EXPONENT), ratio)
    return p.air_density * ratio


@part
def gravity_at(z, p):
    """Gravity [m/s2] at a height z [m] above the launch point, positive.

    Second order in height, as normal gravity is given in WGS 84 (NIMA TR8350.2); flat Earth.
    """
    return p.gravity + z * (p.gravity_slope + z * p.gravity_curvature)
