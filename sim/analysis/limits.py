"""The limits that make a flight a success, one by one.

They stand in the section [success] of the scenario, whose resolved text every ensemble carries.
"""

from __future__ import annotations

import math
import tomllib
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.flights import Mask, came_down, is_any, meanings
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario.success import Limit


def read_limits(ds: Dataset) -> tuple[Limit, ...]:
    """Limits of the scenario that an ensemble was flown from; none if it has no such text.

    Raises
    ------
    UserMistake
        If the text cannot be read; the message says which limit.
    """
    from sim.scenario.success import read_limit

    tree = _scenario(ds)
    # without a word, a vehicle with legs succeeds feet first
    lines = tree.get("success", {"first_contact": "foot"} if "legs" in tree else {})
    if not isinstance(lines, dict):
        raise UserMistake("[success] of the ensemble's scenario is no section of limits")
    limits = []
    for variable, raw in lines.items():
        try:
            limits.append(read_limit(variable, raw))
        except ValueError as problem:
            raise UserMistake(
                f"[success] of the ensemble's scenario: {variable}: {problem}"
            ) from problem
    return tuple(limits)


def name_of(limit: Limit) -> str:
    """How a limit is named in a table: its variable and its text."""
    return f"{limit.variable} {limit.text}"


def holds(limit: Limit, ds: Dataset) -> Mask | None:
    """Flights on which a limit holds; flights without a touchdown or a value fail it.

    Returns
    -------
    ndarray of bool or None
        None if the ensemble does not hold what the limit speaks of.
    """
    if isinstance(limit.flag, str):
        name = {"first_contact": "contact_point"}.get(limit.variable, limit.variable)
        if name not in ds or limit.flag not in meanings(ds[name]):
            return None
        return came_down(ds) & is_any(ds[name], [limit.flag])
    if limit.flag is not None:
        return _switch_holds(limit, ds)
    if limit.variable not in ds:
        return None
    return came_down(ds) & limit.holds(ds[limit.variable].to_numpy())


def foot_radius(ds: Dataset) -> float | None:
    """Distance [m] of the open feet from the long axis, from the ensemble's scenario.

    Returns
    -------
    float or None
        0 for a vehicle without legs; None if the ensemble carries no scenario or the radius varies.
    """
    return _length(ds, "legs", "foot_radius", without=0.0)


def landing_pad_radius(ds: Dataset) -> float | None:
    """Radius [m] of the scenario's landing pad, infinite without one; None as `foot_radius`."""
    return _length(ds, "landing_pad", "radius", without=math.inf)


def _switch_holds(limit: Limit, ds: Dataset) -> Mask | None:
    """Limit that is true or false: inside_landing_pad, or another that the file holds."""
    state: Mask
    if limit.variable in ds:
        state = ds[limit.variable].to_numpy() == 1
    elif limit.variable == "inside_landing_pad":
        room, feet = landing_pad_radius(ds), foot_radius(ds)
        if room is None or feet is None:
            return None
        state = np.asarray(ds["miss_distance"].to_numpy() + feet <= room)
    else:
        return None
    return came_down(ds) & (state if limit.flag else ~state)


def _scenario(ds: Dataset) -> dict[str, Any]:
    return _tree(str(ds.attrs.get("scenario", "")))


@lru_cache(maxsize=8)
def _tree(text: str) -> dict[str, Any]:
    """What a scenario's text says; every table and picture asks for it again. Not to be changed."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UserMistake(
            f"the scenario stored with the ensemble cannot be read: {error}"
        ) from error


def _length(ds: Dataset, part: str, key: str, *, without: float) -> float | None:
    """Length of the stored scenario if it is the same for every flight."""
    from sim.scenario.amounts import read_amount
    from sim.scenario.dimensions import DIMENSIONS

    tree = _scenario(ds)
    axis = f"{part}_{key}"  # a sweep over it: the scenario's value is not the one flown
    if axis in ds.coords:
        return float(ds[axis]) if ds[axis].ndim == 0 else None
    if not tree:
        return None
    if part not in tree:
        return without
    raw = tree[part].get(key)
    if raw is None:
        return None
    try:
        amount = read_amount(raw, DIMENSIONS["length"])
    except ValueError as problem:
        raise UserMistake(f"the ensemble's scenario: {part}.{key}: {problem}") from problem
    return None if amount.law.varies else amount.value
