"""What `setdown sweep` shows: the answer, then success and touchdown speed level by level."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from rich.text import Text

from sim.report.as_json import dataset_object, scalar
from sim.report.display import in_unit, percent, plain, unit_for
from sim.report.sentences import CAUTION
from sim.report.tables import sweep_matrix, sweep_table

if TYPE_CHECKING:
    from xarray import DataArray, Dataset


def axes_of(summary: Dataset) -> list[str]:
    """Names of the swept dimensions."""
    return [str(dim) for dim in summary["success"].dims if dim != "bound"]


def levels_of(axis: DataArray) -> tuple[str, list[str], str]:
    """Key, levels in the unit to show, and that unit, of a swept input."""
    key = str(axis.attrs.get("scenario_key", axis.name))
    unit = str(axis.attrs.get("units", "1"))
    values = axis.to_numpy()
    shown = unit_for(key, unit, float(np.abs(values).max())) if values.size else unit
    numbers = [plain(in_unit(float(value), unit, shown), 4) for value in values]
    return key, numbers, shown


def parts(summary: Dataset) -> Iterator[Any]:
    """Answer and table, in the order of printing."""
    yield Text(_answer(summary), style="bold")
    yield ""
    named = [levels_of(summary[dim]) for dim in axes_of(summary)]
    heads = [f"{key} [{unit}]" if unit != "1" else key for key, _, unit in named]
    levels = [numbers for _, numbers, _ in named]
    if len(heads) == 1:
        yield sweep_table(summary, heads[0], levels[0])
    else:
        yield sweep_matrix(summary, "success", heads, levels)
        yield ""
        yield sweep_matrix(summary, "touchdown_speed", heads, levels)
    yield ""
    yield CAUTION


def _answer(summary: Dataset) -> str:
    share = summary["success"].sel(bound="estimate").to_numpy()
    best, worst = (np.unravel_index(pick(share), share.shape) for pick in (np.argmax, np.argmin))

    def at(place: tuple[Any, ...]) -> str:
        told = []
        for dim, i in zip(axes_of(summary), place, strict=True):
            key, levels, unit = levels_of(summary[dim])
            told.append(f"{key} {levels[int(i)]} {'' if unit == '1' else unit}".strip())
        return " and ".join(told)

    if share.max() == share.min():
        return f"Success is {percent(float(share.max()))} at every level."
    lower = float(summary["success"].sel(bound="lower").to_numpy()[best])
    upper = float(summary["success"].sel(bound="upper").to_numpy()[worst])
    apart = "; their bounds do not overlap" if lower > upper else "; their bounds overlap"
    return (
        f"Success is greatest, {percent(float(share[best]))}, at {at(best)}, and least, "
        f"{percent(float(share[worst]))}, at {at(worst)}{apart}."
    )


def as_object(dataset: Dataset, summary: Dataset, out: Path, picture: Path) -> dict[str, Any]:
    """Everything `sweep` shows, in SI units."""
    swept = {
        dim: {"scenario_key": str(summary[dim].attrs.get("scenario_key", dim)),
              "units": str(summary[dim].attrs.get("units", "1")),
              "levels": [scalar(value) for value in summary[dim].to_numpy()]}
        for dim in axes_of(summary)
    }  # fmt: skip
    return {
        "ensemble": str(out), "picture": str(picture), "title": dataset.attrs.get("title"),
        "seed": scalar(dataset.attrs.get("seed")), "swept": swept,
        "sweep": dataset_object(summary),
    }  # fmt: skip
