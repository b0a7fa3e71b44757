"""Datasets of the analyses as plain objects for JSON, by the registry's names, in SI units."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from xarray import DataArray, Dataset


def dataset_object(ds: Dataset) -> dict[str, Any]:
    """Object of a dataset: its attributes and, for each variable, unit and values.

    Values along labelled dimensions are objects by label, others are lists. What is not finite
    (no bound, no value) is null. Flags are their meanings in words.
    """
    return {
        "attributes": {str(key): scalar(value) for key, value in ds.attrs.items()},
        "variables": {str(name): _variable(ds[name]) for name in ds.data_vars},
    }


def _variable(array: DataArray) -> dict[str, Any]:
    found: dict[str, Any] = {}
    meanings = array.attrs.get("flag_meanings")
    if meanings is None:
        found["units"] = str(array.attrs.get("units", "1"))
        return found | {"value": _nested(array)}
    names = str(meanings).split()
    flags = [int(flag) for flag in np.atleast_1d(array.attrs["flag_values"])]
    named = dict(zip(flags, names, strict=True))
    if array.ndim == 0:
        return {"value": named.get(int(array), str(int(array)))}
    return {"value": [named.get(int(flag), str(int(flag))) for flag in array.to_numpy().ravel()]}


def _nested(array: DataArray) -> Any:
    if array.ndim == 0:
        return scalar(array.item())
    first = str(array.dims[0])
    rows = [_nested(array.isel({first: i})) for i in range(array.sizes[first])]
    if first not in array.coords:
        return rows
    labels = [_label(label) for label in array[first].to_numpy()]
    return dict(zip(labels, rows, strict=True))


def _label(label: Any) -> str:
    return f"{label:.12g}" if isinstance(label, int | float | np.number) else str(label)


def scalar(value: Any) -> Any:
    """Turn one value into what JSON has; null for what is not finite."""
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, bool | int | str) or value is None:
        return value
    if isinstance(value, np.ndarray | list | tuple):
        return [scalar(item) for item in value]
    return str(value)
