"""Merging finished chunks into one netCDF-4 file by the CF conventions 1.11.

No clock time is stored anywhere, so that the same ensemble always gives the same bytes.

Names: an outcome keeps its name of the registry, a drawn input is the scenario's key with each dot
as two underscores (`launch_pad__tilt`; attribute `scenario_key` has the key itself), the dimension
of a swept input is the key with each dot as one underscore (`launch_pad_tilt`).
"""

from __future__ import annotations

import zlib
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from itertools import accumulate
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

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
_BLOCK = 16_384  # runs in one block of a variable, at most
_SAMPLE = 4_096  # runs that decide whether a variable is compressed
_WORTH_IT = 2 / 3  # of its size that a block may keep, for a variable to be compressed

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
        zlib level 1 after byte shuffling, for those outcomes whose first runs lose a third by it:
        classes, counts, marks, what is the same on most flights. The digits of the others, and of
        the drawn inputs, are all but random: to compress them takes nine tenths of the time of
        merging and saves a tenth of the file.

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
        blocks = _Blocks(manifest, read, wanted)
        packed = _packed(manifest, blocks) if compress else [False] * len(manifest.outcomes)
        columns = _define(file, manifest, blocks, packed)
        file["run"][:] = runs
        for axis in manifest.axes:
            file[axis.name][:] = axis.values
        _fill(columns, manifest, blocks)
        if traces:
            write_traces(file.createGroup(TRACE_GROUP), traces, compress=compress)


def _global_attributes(manifest: Manifest) -> dict[str, Any]:
    earlier = {"earlier_versions": "\n".join(manifest.earlier)} if manifest.earlier else {}
    return earlier | {
        "Conventions": CONVENTIONS,
        "title": f"{manifest.title}: ensemble of simulated flights",
        "source": f"setdown {manifest.setdown_version}, simulation of whole flights",
        "history": manifest.command or "flown and merged by setdown",  # without a clock time
        "comment": CAUTION,
        "setdown_version": manifest.setdown_version,
        "kernel": manifest.kernel or "not recorded",
        "program": manifest.program,
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


def _define(file: Any, manifest: Manifest, blocks: _Blocks, packed: Sequence[bool]) -> list[Any]:
    """Make dimensions and variables; the data variables, in the order of the columns."""
    file.createDimension("run", blocks.runs)
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
        variable = _create(file, column.name, "f8", dims, False, blocks.rows, compress=False)
        variable.setncatts(_input_attributes(column))
        made.append(variable)
    for name, compress in zip(manifest.outcomes, packed, strict=True):
        row = OUTCOMES[name]
        fill = np.nan if row.dtype == "f8" else False
        variable = _create(file, name, row.dtype, swept, fill, blocks.rows, compress=compress)
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
    file: Any, name: str, dtype: str, dims: tuple[str, ...], fill: Any, rows: int, *, compress: bool
) -> Any:
    shape = (rows, *(1 for _ in dims[1:]))
    variable = file.createVariable(
        name, dtype, dims, fill_value=fill, chunksizes=shape,
        compression="zlib" if compress else None, complevel=1, shuffle=compress,
    )  # fmt: skip
    # each block is written once and whole: the library need keep no more than one
    variable.set_var_chunk_cache(rows * np.dtype(dtype).itemsize, 1, 1.0)
    variable.set_auto_maskandscale(False)  # values are stored as they are
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


class _Blocks:
    """Runs of the file, block by block, so that its bytes do not depend on the chunk size.

    All blocks but the last have `rows` runs, as even as they come: the library stores whole blocks,
    and a last one that is nearly empty would be stored as if it were full.
    """

    def __init__(self, manifest: Manifest, read: Read, wanted: Sequence[int]) -> None:
        self._read = read
        self._wanted = wanted
        sizes = [last - first for first, last in map(manifest.span, wanted)]
        self._starts = [0, *accumulate(sizes)]
        self.runs = self._starts[-1]
        count = max(1, -(-self.runs // _BLOCK))
        self.rows = max(1, -(-self.runs // count))
        self._last: tuple[tuple[int, int], Floats] | None = None

    def firsts(self) -> range:
        """First run of each block, counted in the file."""
        return range(0, self.runs, self.rows)

    def block(self, first: int, level: int) -> Floats:
        """Columns by runs of one block; the same one asked for again is not read again."""
        if self._last is None or self._last[0] != (first, level):
            self._last = None  # let go of it first: no more than one is held
            self._last = (first, level), self._gather(first, level)
        return self._last[1]

    def _gather(self, first: int, level: int) -> Floats:
        last = min(first + self.rows, self.runs)
        starts = self._starts
        begin, end = bisect_right(starts, first) - 1, bisect_left(starts, last)
        parts = [self._read((chunk, level)) for chunk in self._wanted[begin:end]]
        rows = slice(first - starts[begin], last - starts[begin])
        return np.concatenate(parts, axis=1)[:, rows]


def _packed(manifest: Manifest, blocks: _Blocks) -> list[bool]:
    """For each outcome, whether compressing is worth it, from the first runs of the first level."""
    if blocks.runs == 0:
        return [False] * len(manifest.outcomes)
    rows = blocks.block(0, 0)[len(manifest.inputs) :, :_SAMPLE]
    return [
        _shrinks(values.astype(OUTCOMES[name].dtype))
        for name, values in zip(manifest.outcomes, rows, strict=True)
    ]


def _shrinks(values: NDArray[Any]) -> bool:
    shuffled = values.view(np.uint8).reshape(len(values), -1).T.tobytes()
    return len(zlib.compress(shuffled, 1)) < _WORTH_IT * len(shuffled)


def _fill(columns: list[Any], manifest: Manifest, blocks: _Blocks) -> None:
    for first in blocks.firsts():
        for level in range(manifest.levels):
            _write_block(columns, manifest, blocks.block(first, level), first, level)


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
