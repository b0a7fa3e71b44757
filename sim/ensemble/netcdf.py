"""Merging finished chunks into one netCDF-4 file by the CF conventions 1.11.

No clock time is stored anywhere, so that the same ensemble always gives the same bytes.

Names: an outcome keeps its name of the registry, a drawn input is the scenario's key with each dot
as two underscores (`launch_pad__tilt`; attribute `scenario_key` has the key itself), the dimension
of a swept input is the key with each dot as one underscore (`launch_pad_tilt`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import accumulate
from pathlib import Path
from typing import Any

import numpy as np

from sim.ensemble.manifest import Axis, InputColumn, Manifest, Task
from sim.ensemble.protocols import Floats
from sim.ensemble.registry import OUTCOMES, attributes, input_units
from sim.ensemble.traces import TRACE_GROUP, Trace, write_traces
from sim.ensemble.versions import libraries, processor

CONVENTIONS = "CF-1.11"
CAUTION = (
    "Results of a simulation, no better than the scenario and the model behind them. Clear areas "
    "and limits are for the local code and the range safety officer to decide."
)
_BLOCK = 16_384  # runs in one compressed block of a variable

Read = Callable[[Task], Floats]


def write_netcdf(
    path: Path,
    manifest: Manifest,
    read: Read,
    *,
    chunks: Sequence[int] | None = None,
    traces: Sequence[Trace] = (),
    compress: bool = True,
) -> None:
    """Write an ensemble, a block of runs at a time.

    Parameters
    ----------
    path : Path
        Written over if it is there.
    manifest : Manifest
        What the ensemble is.
    read : callable
        `(chunk, level) -> ndarray (columns, runs)`.
    chunks : sequence of int, optional
        Only these, for an unfinished ensemble; the attribute `unfinished` then says so.
    traces : sequence of Trace
        Written into the group `traces`.
    compress : bool
        Outcomes with zlib level 1 after byte shuffling. Drawn inputs are never compressed: they are
        random, so that half of the time of merging would save a tenth of the file.

    Raises
    ------
    OSError, RuntimeError
        From the netCDF library: no room, no permission.
    """
    import netCDF4

    wanted = list(range(manifest.chunks)) if chunks is None else list(chunks)
    runs = np.concatenate(
        [np.empty(0, np.int64)] + [np.arange(*manifest.span(chunk)) for chunk in wanted]
    )
    with netCDF4.Dataset(path, "w", format="NETCDF4") as file:
        file.set_fill_off()
        file.setncatts(_global_attributes(manifest))
        if chunks is not None:
            total = manifest.flights
            file.setncattr("unfinished", f"{len(runs)} of {total} runs are finished")
        columns = _define(file, manifest, len(runs), compress=compress)
        file["run"][:] = runs
        for axis in manifest.axes:
            file[axis.name][:] = axis.values
        _fill(columns, manifest, read, wanted)
        if traces:
            write_traces(file.createGroup(TRACE_GROUP), traces, compress=compress)


def _global_attributes(manifest: Manifest) -> dict[str, Any]:
    return {
        "Conventions": CONVENTIONS,
        "title": f"{manifest.title}: ensemble of simulated flights",
        "source": f"setdown {manifest.setdown_version}, simulation of whole flights",
        "history": manifest.command or "flown and merged by setdown",  # without a clock time
        "comment": CAUTION,
        "setdown_version": manifest.setdown_version,
        "kernel": manifest.kernel or "not recorded",
        "command": manifest.command or "not recorded",
        "scenario": manifest.scenario,
        "scenario_digest": manifest.scenario_digest,
        "success_predicate": manifest.success or "none",
        "seed": np.int64(manifest.seed),
        "flights": np.int64(manifest.flights),
        "sampling_method": manifest.method,
        "processor": processor(),
        "libraries": libraries(),
    }


# -- definitions -------------------------------------------------------------------------------


def _define(file: Any, manifest: Manifest, runs: int, *, compress: bool) -> list[Any]:
    """Make dimensions and variables; the data variables, in the order of the columns."""
    file.createDimension("run", runs)
    for axis in manifest.axes:
        file.createDimension(axis.name, len(axis.values))
    run = file.createVariable("run", "i8", ("run",), fill_value=False)
    run.setncatts({"long_name": "run number", "units": "1"})
    for axis in manifest.axes:
        _define_axis(file, axis)
    swept = ("run", *(axis.name for axis in manifest.axes))
    made = []
    for column in manifest.inputs:
        dims = swept if column.varied else ("run",)
        variable = _create(file, column.name, "f8", dims, False, compress=False)
        variable.setncatts(_input_attributes(column))
        made.append(variable)
    for name in manifest.outcomes:
        row = OUTCOMES[name]
        fill = np.nan if row.dtype == "f8" else False
        variable = _create(file, name, row.dtype, swept, fill, compress=compress)
        variable.setncatts(attributes(row))
        made.append(variable)
    return made


def _define_axis(file: Any, axis: Axis) -> None:
    variable = file.createVariable(axis.name, "f8", (axis.name,), fill_value=False)
    variable.setncatts(
        {"long_name": f"swept input {axis.key}"}
        | _unit_attributes(axis.unit)
        | {"scenario_key": axis.key, "levels_as_written": ", ".join(axis.written)}
    )


def _create(
    file: Any, name: str, dtype: str, dims: tuple[str, ...], fill: Any, *, compress: bool
) -> Any:
    rows = max(1, min(_BLOCK, len(file.dimensions["run"])))
    shape = (rows, *(1 for _ in dims[1:]))
    variable = file.createVariable(
        name, dtype, dims, fill_value=fill, chunksizes=shape,
        compression="zlib" if compress else None, complevel=1, shuffle=compress,
    )  # fmt: skip
    # each block is written once and whole: the library need keep no more than one
    variable.set_var_chunk_cache(rows * np.dtype(dtype).itemsize, 1, 1.0)
    return variable


def _input_attributes(column: InputColumn) -> dict[str, Any]:
    found: dict[str, Any] = {"long_name": column.long_name}
    found |= _unit_attributes(column.unit)
    found |= {"scenario_key": column.key, "law": column.law}
    return found | ({"source": column.source} if column.source else {})


def _unit_attributes(unit: str) -> dict[str, str]:
    units = input_units(unit)
    return {"comment": f"in {unit}"} if units is None else {"units": units}


# -- data --------------------------------------------------------------------------------------


def _fill(columns: list[Any], manifest: Manifest, read: Read, wanted: Sequence[int]) -> None:
    """Write block by block of the file, so that its bytes do not depend on the chunk size."""
    sizes = [last - first for first, last in map(manifest.span, wanted)]
    starts = [0, *accumulate(sizes)]
    for first in range(0, starts[-1], _BLOCK):
        last = min(first + _BLOCK, starts[-1])
        there = [i for i, start in enumerate(starts[:-1]) if start < last and starts[i + 1] > first]
        rows = slice(first - starts[there[0]], last - starts[there[0]])
        for level in range(manifest.levels):
            block = np.concatenate([read((wanted[i], level)) for i in there], axis=1)
            _write_block(columns, manifest, block[:, rows], first, level)


def _write_block(
    columns: list[Any], manifest: Manifest, block: Floats, start: int, level: int
) -> None:
    rows = slice(start, start + block.shape[1])
    place = tuple(int(i) for i in np.unravel_index(level, manifest.shape or (1,)))
    for variable, values in zip(columns, block, strict=True):
        if variable.ndim > 1:
            variable[(rows, *place)] = values.astype(variable.dtype)
        elif level == 0:  # the same at every level
            variable[rows] = values.astype(variable.dtype)
