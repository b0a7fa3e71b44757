"""How tight the size of a landing pad is known: the bound beside the size that the flights show."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from sim.analysis.circle import (
    Circle,
    Rectangle,
    circle_distance,
    rectangle_excess,
    trimmed_circle,
    trimmed_rectangle,
)
from sim.analysis.flights import Floats, on_feet
from sim.analysis.landing_box import PAD_STATES
from sim.analysis.landing_pad import landing_pad
from sim.analysis.order_statistics import quantile_of_sorted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from xarray import Dataset

ATTAINED = PAD_STATES.index("attained")


def pad_sizes(
    ds: Dataset,
    *,
    foot_radius: float,
    probability: Sequence[float],
    confidence: float,
    pilot: int,
    risk: float = 1.0,
    east: str = "miss_east",
    north: str = "miss_north",
) -> Dataset:
    """Landing pads, and how tight their bounds are.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`.
    foot_radius : float [m]
        Of the open feet from the long axis.
    probability : sequence of float [1]
    confidence : float [1]
        Of each size by itself, at all looks together.
    pilot : int
        Flights that choose place and shape, fixed before the first look.
    risk : float [1]
        Share of the risk that this look spends.
    east, north : str
        Variables of the point that must be on the landing pad [m].

    Returns
    -------
    Dataset
        As `sim.analysis.landing_pad.landing_pad`, and per probability circle_slack and
        rectangle_slack [m]: the bound of radius and of half the sides minus what the flights show;
        infinite while there is no bound.
    """
    found = landing_pad(
        ds, foot_radius=foot_radius, probability=probability, confidence=confidence, pilot=pilot,
        risk=risk, east=east, north=north,
    )  # fmt: skip
    points = np.stack([ds[east].to_numpy(), ds[north].to_numpy()], axis=1)
    standing = (on_feet(ds) & np.isfinite(points).all(axis=1))[pilot:]
    rest = points[pilot:]
    circles, boxes = [], []
    for place, share in enumerate(found["probability"].to_numpy()):
        row = found.isel(probability=place)
        if int(row["state"]) != ATTAINED:
            circles.append(np.inf)
            boxes.append(np.inf)
            continue
        circle, box = _shapes(row)
        reach = circle_distance(circle, rest) + foot_radius
        circles.append(circle.radius - _quantile(reach, standing, float(share)))
        # how far outside the bounded rectangle, feet counted; negative inside
        excess = rectangle_excess(box, rest) + foot_radius
        boxes.append(-_quantile(excess, standing, float(share)))
    about = {"units": "m", "long_name": "bound minus what the flights show"}
    return found.assign(
        circle_slack=(("probability",), circles, about),
        rectangle_slack=(("probability",), boxes, about),
    )


def flights_for_slack(
    ds: Dataset, *, share: float, confidence: float, within: float,
    east: str = "miss_east", north: str = "miss_north",
) -> float:
    """Flights after the pilot at which the bounds of both shapes should be within a length.

    Parameters
    ----------
    ds : Dataset
        The pilot flights, all of them.
    share : float [1]
        Of flights that the landing pad takes.
    confidence : float [1]
        Of the bound, at the first look.
    within : float [m]
    east, north : str

    Returns
    -------
    float
        A guess; infinite if too few come down on their feet. The bound is true whatever it says.

    Notes
    -----
    The bound of a quantile is, for many flights, the quantile of the share
    p + z sqrt(p (1 - p) / n); the slope of the quantile is that of the pilot, two such standard
    errors to either side.
    """
    points = np.stack([ds[east].to_numpy(), ds[north].to_numpy()], axis=1)
    standing = on_feet(ds) & np.isfinite(points).all(axis=1)
    size, chosen = len(points), points[standing]
    if len(chosen) <= share * size:
        return np.inf
    among = share * size / len(chosen)
    error = float(np.sqrt(share * (1.0 - share) / size))
    z = float(special.ndtri(confidence))
    most = 0.0
    for reach in (
        circle_distance(trimmed_circle(chosen, among), points),
        rectangle_excess(trimmed_rectangle(chosen, among), points),
    ):
        above = _quantile(reach, standing, min(1.0, share + 2.0 * error))
        below = _quantile(reach, standing, share - 2.0 * error)
        most = max(most, size * (z * (above - below) / (4.0 * within)) ** 2)
    return most


def _shapes(row: Dataset) -> tuple[Circle, Rectangle]:
    def value(name: str) -> float:
        return float(row[name])

    circle = Circle(value("circle_east"), value("circle_north"), value("circle_radius"))
    box = Rectangle(
        value("rectangle_east"), value("rectangle_north"), value("rectangle_azimuth"),
        0.5 * value("rectangle_length"), 0.5 * value("rectangle_width"),
    )  # fmt: skip
    return circle, box


def _quantile(values: Floats, standing: Floats, share: float) -> float:
    return quantile_of_sorted(np.sort(np.where(standing, values, np.inf)), share)
