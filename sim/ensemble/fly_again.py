"""Flying some flights of a stored ensemble again, to see how they went and not only how they ended.

The draws are those of the file, so that it does not matter how they were made; the scenario is the
text that the file carries.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Progress = Callable[[int, int], None]

STORED = "the ensemble's scenario"
_SAME = ("touchdown_speed", "tilt", "contact_time")  # by these a flight is known again


@dataclass(frozen=True)
class FlownAgain:
    """Traces of some flights of an ensemble.

    Attributes
    ----------
    runs : sequence of int
    series : list of dict of str to ndarray (samples,)
        One for each run, by the names of the registry.
    contact : list of float [s]
        First touch of each; NaN where it did not come.
    differing : int
        Flights that did not come out as the file has them: it was flown by another version.
    """

    runs: Sequence[int]
    series: list[dict[str, Floats]]
    contact: list[float]
    differing: int


def stored_scenario(ds: Dataset) -> Scenario:
    """Read the scenario that an ensemble carries.

    Raises
    ------
    UserMistake
        It carries none, or one that this version cannot read; the message says why.
    """
    from sim.scenario import load_scenario

    text = str(ds.attrs.get("scenario", ""))
    if not text.strip():
        raise UserMistake("the ensemble carries no scenario")
    with tempfile.TemporaryDirectory(prefix="setdown-") as folder:
        path = Path(folder) / f"{STORED}.toml"
        path.write_text(text, encoding="utf-8")
        try:
            return load_scenario(path)
        except UserMistake as problem:
            said = str(problem).replace(f"{folder}/", "").replace(path.name, STORED)
            raise UserMistake(f"this version cannot read {STORED}: {said}") from problem


def fly_again(
    ds: Dataset,
    scenario: Scenario,
    count: int,
    *,
    every: float = 0.05,
    progress: Progress | None = None,
) -> FlownAgain:
    """Fly the first flights of an ensemble again and keep their traces.

    Parameters
    ----------
    ds : Dataset
        One dimension, `run`; drawn inputs with the attribute `scenario_key`.
    scenario : Scenario
        From `stored_scenario`.
    count : int
        Flights, from the first one stored; fewer if there are fewer.
    every : float [s]
        Between samples of a trace, rounded to control ticks.
    progress : callable, optional
        Told flights done and flights in all.

    Returns
    -------
    FlownAgain
    """
    from sim.ensemble import fly_runs

    chosen = ds.isel(run=slice(0, count))
    runs = [int(run) for run in chosen["run"].to_numpy()]
    drawn = {
        str(variable.attrs["scenario_key"]): variable.to_numpy()
        for variable in chosen.data_vars.values()
        if "scenario_key" in variable.attrs and variable.dims == ("run",)
    }
    ticks = max(1, round(every * scenario.numbers["flight_computer.control_rate"].value))
    seed, series, contact, differing = int(ds.attrs["seed"]), [], [], 0
    for place, run in enumerate(runs):
        values = {name: column[place : place + 1] for name, column in drawn.items()}
        found, trace = fly_runs.fly_trace(
            scenario, seed, run, values, every=ticks, width=fly_runs.WIDTH
        )
        series.append({name: np.asarray(line) for name, line in trace.items()})
        contact.append(float(np.ravel(found.get("contact_time", np.nan))[0]))
        differing += not _same(found, chosen, place)
        if progress is not None:
            progress(place + 1, len(runs))
    return FlownAgain(runs, series, contact, differing)


def _same(found: Mapping[str, Any], stored: Dataset, place: int) -> bool:
    names = [name for name in _SAME if name in found and name in stored]
    return all(
        np.array_equal(np.ravel(found[name])[0], stored[name].to_numpy()[place], equal_nan=True)
        for name in names
    )
