"""What the analyses read from an ensemble: flights that came down, and what the others count as.

A flight is never dropped. One that failed numerically, never left the launch pad or never came down
has no miss and no touchdown speed: it counts as infinitely far and infinitely hard in every
percentile, and as a failure of every limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import DataArray, Dataset

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Used where a file does not carry the meanings of its flags.
MEANINGS: dict[str, tuple[str, ...]] = {
    "outcome": (
        "feet_first",
        "off_landing_pad",
        "airframe_first",
        "tumbled",
        "landing_motor_unlit",
        "never_came_down",
        "never_left_launch_pad",
        "numerical_failure",
        "standing",
        "tipped",
        "unsettled",
        "frame_struck",
        "leg_overloaded",
        "frame_overloaded",
        "too_fast",
    ),
    "contact_point": ("none", "foot", "nozzle", "tail_ring", "nose"),
}

# Outcomes without a touchdown.
NOT_DOWN = ("never_came_down", "never_left_launch_pad", "numerical_failure")

# The only outcomes that count as down on the feet; one that is not named here is a failure.
ON_FEET = ("feet_first", "off_landing_pad", "standing")

BOUND = ("lower", "estimate", "upper")


def need(ds: Dataset, names: Sequence[str]) -> None:
    """Raise UserMistake if the ensemble lacks a variable, naming all that are missing."""
    missing = [name for name in names if name not in ds]
    if missing:
        raise UserMistake(f"the ensemble has no {', '.join(missing)}; did setdown write this file?")


def swept_dimensions(ds: Dataset) -> tuple[str, ...]:
    """Names of the dimensions swept, in the order of the file."""
    need(ds, ["outcome"])
    return tuple(str(dim) for dim in ds["outcome"].dims if dim != "run")


def check_flat(ds: Dataset) -> None:
    """Raise UserMistake unless the ensemble is one set of equally weighted flights."""
    swept = swept_dimensions(ds)
    if swept:
        raise UserMistake(
            f"this ensemble is swept over {', '.join(swept)}; pick one level first, "
            f"for instance with .isel({{{swept[0]!r}: 0}})"
        )
    check_weights(ds)
    if ds.sizes.get("run", 0) == 0:
        raise UserMistake("the ensemble holds no flights")


def check_weights(ds: Dataset) -> None:
    """Raise UserMistake if flights carry unequal weights: ranks and counts would mislead."""
    if "weight" in ds and not bool((ds["weight"] == 1.0).all()):
        raise UserMistake(
            "the flights of this ensemble carry weights (a stratified one, with forced faults?); "
            "bounds by counting hold only for equally weighted flights: analyse one stratum"
        )


def meanings(flags: DataArray) -> dict[str, int]:
    """Value of each meaning of a flag variable, from its CF attributes if it has them."""
    text = flags.attrs.get("flag_meanings")
    if text is None:
        return {name: value for value, name in enumerate(MEANINGS[str(flags.name)])}
    names = text.split() if isinstance(text, str) else [str(name) for name in text]
    values = np.atleast_1d(flags.attrs.get("flag_values", np.arange(len(names))))
    return {name: int(value) for name, value in zip(names, values, strict=True)}


def is_any(flags: DataArray, names: Sequence[str]) -> Mask:
    """Flights whose flag has one of these meanings; a meaning the file does not know is absent."""
    known = meanings(flags)
    wanted = [known[name] for name in names if name in known]
    found: Mask = np.isin(flags.to_numpy(), wanted)
    return found


def came_down(ds: Dataset) -> Mask:
    """Flights that touched the ground and have a finite landing point.

    Returns
    -------
    ndarray of bool, shape of `outcome`
    """
    need(ds, ["outcome", "miss_distance"])
    placed: Mask = np.isfinite(ds["miss_distance"].to_numpy())
    return placed & ~is_any(ds["outcome"], NOT_DOWN)


def on_feet(ds: Dataset) -> Mask:
    """Flights that came down on their feet, on the landing pad or off it.

    Notes
    -----
    A flight that hit the ground unlit or tumbling with a foot first does not count.
    """
    feet = came_down(ds) & is_any(ds["outcome"], ON_FEET)
    if "contact_point" in ds:
        feet &= is_any(ds["contact_point"], ["foot"])
    return feet


def successes(ds: Dataset) -> Mask:
    """Flights that met the success predicate; one without a touchdown never does."""
    need(ds, ["success"])
    met: Mask = ds["success"].to_numpy() == 1
    return met & came_down(ds)


def worst_if_absent(ds: Dataset, name: str, down: Mask) -> Floats:
    """Variable of an ensemble with infinity for flights that did not come down or have no value.

    Parameters
    ----------
    ds : Dataset
    name : str
    down : ndarray of bool
        From `came_down`.

    Returns
    -------
    ndarray, shape of the variable
    """
    need(ds, [name])
    values = ds[name].to_numpy()
    return np.where(down & np.isfinite(values), values, np.inf).astype(np.float64, copy=False)


def units(ds: Dataset, name: str) -> str:
    """Return the unit of a variable as the file says it, "1" if it does not."""
    return str(ds[name].attrs.get("units", "1"))
