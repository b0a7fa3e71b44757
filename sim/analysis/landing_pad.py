"""The smallest landing pad: a circle or a rectangle, where to put it and how to turn it.

A pad fitted to a sample flatters itself: it holds more of that sample than of flights to come. So
the first flights choose its place and shape, and the others, which had no say, bound its size.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from sim.analysis.circle import (
    Circle,
    Rectangle,
    circle_distance,
    rectangle_excess,
    trimmed_circle,
    trimmed_rectangle,
)
from sim.analysis.flights import Floats, Mask, check_flat, need, on_feet
from sim.analysis.landing_box import PAD_STATES
from sim.analysis.order_statistics import check_share, flights_for_bound, upper_rank
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

# More points than this do not improve the choice of a shape.
CHOOSERS = 20_000


class Pads(NamedTuple):
    """Bounded landing pads; a size is infinite unless its state, of PAD_STATES, is attained."""

    circle: Circle
    rectangle: Rectangle
    state: str


def landing_pad(
    ds: Dataset,
    *,
    foot_radius: float,
    probability: Sequence[float] = (0.80, 0.90, 0.95, 0.99),
    confidence: float = 0.95,
    pilot: int | None = None,
    risk: float = 1.0,
    east: str = "miss_east",
    north: str = "miss_north",
) -> Dataset:
    """Smallest circular and rectangular landing pads that take all feet of a share of all flights.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`.
    foot_radius : float [m]
        Of the open feet from the long axis.
    probability : sequence of float [1]
        Shares of all flights; one result each.
    confidence : float [1]
        Of each size by itself.
    pilot : int, optional
        So many first flights choose place and shape, the others bound the size; half by default.
    risk : float [1]
        Share of the risk 1 - confidence that this look may spend, if one looks more than once;
        see `sim.analysis.planned.planned_looks`.
    east, north : str
        Variables of the point that must be on the landing pad [m].

    Returns
    -------
    Dataset
        Per probability: circle_{east,north,radius,area}, rectangle_{east,north,azimuth,length,
        width,area}, state, and flights_needed to bound any size at all. Positions are from the
        present mark; azimuth is that of the length, east of north.

    Raises
    ------
    UserMistake
        If the ensemble is swept, weighted or lacks a variable, or the pilot is out of range.

    Notes
    -----
    Given the shape, its size is an order statistic of the other flights: Wilks (1941). A flight
    that is not down on its feet is infinitely far.
    """
    import xarray as xr

    check_share("confidence", confidence)
    check_flat(ds)
    need(ds, [east, north])
    total = ds.sizes["run"]
    if not 0.0 < risk <= 1.0:
        raise UserMistake(f"risk {risk}: give a share of the risk, above 0 and up to 1")
    spent = 1.0 - risk * (1.0 - confidence)
    first = total // 2 if pilot is None else pilot
    if not 2 <= first < total:
        raise UserMistake(
            f"{first} of {total} flights cannot choose the landing pad; "
            f"give from 2 to {total - 1}, or fly more"
        )
    points = np.stack([ds[east].to_numpy(), ds[north].to_numpy()], axis=1)
    standing = on_feet(ds) & np.isfinite(points).all(axis=1)
    found = [
        pads(points, standing, first, share, spent, foot_radius) for share in probability
    ]
    where = ("probability",)
    metres, square = {"units": "m"}, {"units": "m2"}
    circles = np.array([pad.circle for pad in found]).T
    boxes = np.array([pad.rectangle for pad in found]).T
    states = np.array([PAD_STATES.index(pad.state) for pad in found], dtype=np.int8)
    entries: dict[str, Any] = {
        "circle_east": (where, circles[0], metres),
        "circle_north": (where, circles[1], metres),
        "circle_radius": (where, circles[2], metres),
        "circle_area": (where, np.pi * circles[2] ** 2, square),
        "rectangle_east": (where, boxes[0], metres),
        "rectangle_north": (where, boxes[1], metres),
        "rectangle_azimuth": (where, boxes[2], {"units": "rad"}),
        "rectangle_length": (where, 2.0 * boxes[3], metres),
        "rectangle_width": (where, 2.0 * boxes[4], metres),
        "rectangle_area": (where, 4.0 * boxes[3] * boxes[4], square),
        "state": (
            where,
            states,
            {
                "flag_values": np.arange(len(PAD_STATES), dtype=np.int8),
                "flag_meanings": " ".join(PAD_STATES),
            },
        ),
        "flights_needed": (
            where,
            [first + flights_for_bound(share, spent) for share in probability],
            {"units": "1", "long_name": "least flights, pilot included, were all on their feet"},
        ),
        "flights": ((), total, {"units": "1"}),
        "pilot": ((), first, {"units": "1", "long_name": "flights that chose the shapes"}),
    }
    coords = {"probability": ("probability", list(probability), {"units": "1"})}
    attrs = {
        "title": "landing pad",
        "confidence": confidence,
        "foot_radius": foot_radius,
        "method": "order statistic of a split sample",
        "risk": risk,
    }
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def pads(
    points: Floats,
    standing: Mask,
    pilot: int,
    probability: float,
    confidence: float,
    foot_radius: float,
) -> Pads:
    """Choose both shapes on the first `pilot` flights and bound their sizes on the others.

    Parameters
    ----------
    points : ndarray (n, 2) [m]
        Landing points; whatever where not `standing`.
    standing : ndarray of bool (n,)
        Down on their feet.
    pilot : int
    probability, confidence : float [1]
    foot_radius : float [m]

    Returns
    -------
    Pads
    """
    check_share("probability", probability)
    chosen = points[:pilot][standing[:pilot]]
    rest, up = points[pilot:], standing[pilot:]
    size, finite = len(rest), int(np.count_nonzero(up))
    rank = upper_rank(size, probability, confidence)
    nowhere = Circle(np.nan, np.nan, np.inf), Rectangle(np.nan, np.nan, np.nan, np.inf, np.inf)
    if finite < probability * size or len(chosen) < probability * pilot:
        return Pads(*nowhere, "not_attainable")
    share = min(1.0, probability * pilot / len(chosen))
    circle = trimmed_circle(chosen[:CHOOSERS], share)
    box = trimmed_rectangle(chosen[:CHOOSERS], share)
    if rank > finite:
        state = "too_few_flights" if rank > size else "not_shown"
        halves = {"half_length": np.inf, "half_width": np.inf}
        return Pads(circle._replace(radius=np.inf), box._replace(**halves), state)
    radius = _at(circle_distance(circle, rest), up, rank) + foot_radius
    grow = _at(rectangle_excess(box, rest), up, rank) + foot_radius
    box = box._replace(half_length=box.half_length + grow, half_width=box.half_width + grow)
    return Pads(circle._replace(radius=radius), box, "attained")


def _at(values: Floats, up: Mask, rank: int) -> float:
    counted = np.where(up, values, np.inf)
    return float(np.partition(counted, rank - 1)[rank - 1])
