"""Normal gravity by latitude and height."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64] | float

STANDARD_GRAVITY = 9.80665  # m/s2
# World Geodetic System 1984 (NIMA TR8350.2)
EQUATOR, SOMIGLIANA = 9.7803253359, 0.00193185265241  # m/s2, 1
ECCENTRICITY_2, FLATTENING = 0.00669437999014, 1.0 / 298.257223563
SEMI_MAJOR, ROTATION_RATIO = 6378137.0, 0.00344978650684  # m, 1


def normal_gravity(latitude: Values, height: Values = 0.0) -> Values:
    """Normal gravity [m/s2] of WGS 84.

    Parameters
    ----------
    latitude : float or array [rad]
    height : float or array [m]
        Above the ellipsoid.

    Notes
    -----
    Somigliana's formula and its second-order series in height (NIMA TR8350.2, ch. 4).
    """
    _, first, second = height_series(latitude)
    return surface_gravity(latitude) * (1.0 - first * np.asarray(height) + second * height**2)


def surface_gravity(latitude: Values) -> Values:
    """Somigliana's formula [m/s2]; latitude [rad]."""
    sine_2 = np.sin(latitude) ** 2
    return EQUATOR * (1.0 + SOMIGLIANA * sine_2) / np.sqrt(1.0 - ECCENTRICITY_2 * sine_2)


def height_series(latitude: Values) -> tuple[Values, Values, Values]:
    """Gravity at height h is g (1 - a h + b h^2): returns g [m/s2], a [1/m], b [1/m2]."""
    sine_2 = np.sin(latitude) ** 2
    first = (
        2.0 / SEMI_MAJOR * (1.0 + FLATTENING + ROTATION_RATIO - 2.0 * FLATTENING * sine_2)
    )
    return surface_gravity(latitude), first, 3.0 / SEMI_MAJOR**2


def gravity_line(
    law: str, latitude: Values, elevation: Values
) -> tuple[Values, Values, Values]:
    """Gravity at the launch point and its change with height, for the flight kernel.

    Parameters
    ----------
    law : {"normal", "standard", "none"}
    latitude : float or array [rad]
    elevation : float or array [m]

    Returns
    -------
    gravity, slope, curvature : [m/s2], [1/s2], [1/(m s2)]
        Gravity z above the launch point is gravity + slope z + curvature z^2.
    """
    if law == "none":
        return 0.0, 0.0, 0.0
    if law == "standard":
        return STANDARD_GRAVITY, 0.0, 0.0
    surface, first, second = height_series(latitude)
    here = normal_gravity(latitude, elevation)
    slope = surface * (-first + 2.0 * second * np.asarray(elevation))
    return here, slope, surface * second
