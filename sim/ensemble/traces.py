"""Traces of some flights in a netCDF group or file, CF feature type `trajectory`.

The incomplete multidimensional array representation (CF conventions 1.11, H.4.1): dimensions
`trace` and `obs`, short traces filled up with NaN.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.registry import TRACES, attributes

TRACE_GROUP = "traces"
_COORDINATES = ("time", "east", "north", "up")


@dataclass(frozen=True)
class Trace:
    """One flight as it went: run number (-1 for the nominal flight) and its series."""

    run: int
    series: Mapping[str, NDArray[Any]]


def write_traces(where: Any, traces: Sequence[Trace], *, compress: bool = True) -> None:
    """Write traces into an open netCDF group or file.

    Parameters
    ----------
    where : netCDF4.Dataset or netCDF4.Group
        Open for writing, without these variables.
    traces : sequence of Trace
        All with the same names, those of the registry. Lengths may differ.
    compress : bool
        zlib level 1 after byte shuffling.

    Raises
    ------
    ValueError
        A name that the registry does not have.
    """
    names = _checked_names(traces)
    longest = max(len(trace.series["time"]) for trace in traces)
    where.createDimension("trace", len(traces))
    where.createDimension("obs", longest)
    where.setncatts({"featureType": "trajectory"})
    run = where.createVariable("trace_run", "i8", ("trace",), fill_value=False)
    run.setncatts(
        {"long_name": "run number, -1 for the nominal flight", "units": "1",
         "cf_role": "trajectory_id"}
    )  # fmt: skip
    run[:] = [trace.run for trace in traces]
    for name in names:
        row = TRACES[name]
        variable = where.createVariable(
            name, row.dtype, row.dims, fill_value=np.float32(np.nan),
            compression="zlib" if compress else None, complevel=1, shuffle=compress,
            chunksizes=(1, max(longest, 1)),
        )  # fmt: skip
        variable.setncatts(attributes(row) | _coordinate_attributes(name))
        for place, trace in enumerate(traces):
            padded = np.full(longest, np.nan, dtype=np.float32)
            padded[: len(trace.series[name])] = trace.series[name]
            variable[place, :] = padded


def _checked_names(traces: Sequence[Trace]) -> list[str]:
    given = set(traces[0].series)
    unknown = given - set(TRACES)
    if unknown or any(set(trace.series) != given for trace in traces):
        raise ValueError(f"traces with names of their own: {sorted(unknown) or 'they differ'}")
    return [name for name in TRACES if name in given]


def _coordinate_attributes(name: str) -> dict[str, str]:
    if name not in _COORDINATES:
        return {"coordinates": " ".join(_COORDINATES)}
    # east and north are metres on a local level plane, neither longitude nor a map projection, and
    # time runs from ignition, not from a date: CF has no axis of that name for them
    return {"axis": "Z", "positive": "up"} if name == "up" else {}


def write_trace_file(path: Path, traces: Sequence[Trace], about: Mapping[str, Any]) -> None:
    """Write traces into a file of their own.

    Parameters
    ----------
    path : Path
        Written over if it is there.
    traces : sequence of Trace
        At least one.
    about : mapping
        Global attributes.
    """
    import netCDF4

    with netCDF4.Dataset(path, "w", format="NETCDF4") as file:
        file.setncatts({"Conventions": "CF-1.11"} | dict(about))
        write_traces(file, traces)
