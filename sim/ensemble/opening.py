"""Opening an ensemble that was written before, whole or unfinished."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from sim.ensemble.netcdf import write_netcdf
from sim.ensemble.seal import check_seal
from sim.ensemble.store import Parts, holds_chunks, parts_folder, read_manifest
from sim.ensemble.traces import TRACE_GROUP
from sim.errors import RunFailure, UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

_NEEDED = ("setdown_version", "scenario_digest")


def open_ensemble(
    path: str | Path, *, unfinished: bool = False, just_sealed: bool = False
) -> Dataset:
    """Open an ensemble.

    Parameters
    ----------
    path : path
        The netCDF file that `disperse` or `sweep` wrote, or is about to write.
    unfinished : bool
        Read what is finished so far of a run that goes on or was stopped. It disturbs nothing.
    just_sealed : bool
        The caller has written it this moment: its checksums, made from what the file gave back,
        are not compared once more.

    Returns
    -------
    xarray.Dataset
        Read from the file on demand; close it when done. Unfinished: in memory, with the attribute
        `unfinished`; of a sweep, the runs that are finished at every level.

    Raises
    ------
    UserMistake
        Not there, not finished, not netCDF, not one of ours, or damaged (`sim.ensemble.seal`); the
        message says what to do.
    """
    target = Path(path)
    if unfinished and parts_folder(target).is_dir():
        found = _open_unfinished(target)
        if found is not None:
            return found
    if not target.exists():
        raise UserMistake(_not_there(target))
    if target.is_dir():
        raise UserMistake(f"{target} is a folder; give an ensemble file (.nc) in it")
    if not just_sealed:
        with suppress(OSError):  # no netCDF: opening it says so
            check_seal(target)  # before it is open: two who read share what the library takes
    dataset = _open(target, None)
    if "run" not in dataset.dims or any(name not in dataset.attrs for name in _NEEDED):
        dataset.close()
        raise UserMistake(
            f"{target} is a netCDF file, but not an ensemble of setdown: it lacks the dimension "
            f"run or the attributes {' and '.join(_NEEDED)}; give a file that disperse or sweep "
            "wrote"
        )
    return dataset


def open_traces(path: str | Path) -> Dataset:
    """Open the traces that are stored with an ensemble.

    Parameters
    ----------
    path : path
        The ensemble's file.

    Returns
    -------
    xarray.Dataset
        Dimensions `trace` and `obs`.

    Raises
    ------
    UserMistake
        As `open_ensemble`, or the ensemble has no traces.
    """
    open_ensemble(path).close()
    try:
        return _open(Path(path), TRACE_GROUP)
    except UserMistake as problem:
        raise UserMistake(f"{path} has no traces; name some runs to trace when flying") from problem


def _open(path: Path, group: str | None) -> Dataset:
    import xarray as xr

    try:
        return xr.open_dataset(path, engine="netcdf4", group=group)
    except PermissionError as problem:
        raise UserMistake(f"{path} may not be read; change its permissions") from problem
    except (OSError, RuntimeError, ValueError, KeyError, TypeError, AttributeError) as problem:
        raise UserMistake(
            f"{path} cannot be read as netCDF ({problem}): it is another kind of file, or cut "
            "short; give a whole file that disperse or sweep wrote"
        ) from problem


def _open_unfinished(target: Path) -> Dataset | None:
    """Read the finished chunks; None if the run ended meanwhile, and the file is whole."""
    try:
        return _read_finished(target)
    except (RunFailure, UserMistake):
        if not target.exists() or holds_chunks(target):
            raise
        return None


def _read_finished(target: Path) -> Dataset:
    if not holds_chunks(target):
        raise UserMistake(f"{target} has no finished chunk yet; wait for the first")
    parts = Parts(target, read_manifest(target))
    parts.look()
    levels = range(parts.manifest.levels)
    chunks = [
        chunk
        for chunk in range(parts.manifest.chunks)
        if all((chunk, level) in parts.finished for level in levels)
    ]
    if not chunks:
        raise UserMistake(f"{target} has no finished chunk yet; wait for the first")
    with tempfile.TemporaryDirectory(prefix="setdown-") as folder:
        copy = Path(folder) / "unfinished.nc"
        write_netcdf(copy, parts.manifest, parts.read, chunks=chunks, compress=False)
        with _open(copy, None) as lazy:
            dataset = lazy.load()
    dataset.encoding.pop("source", None)
    return dataset


def _not_there(target: Path) -> str:
    if parts_folder(target).is_dir():
        return (
            f"{target} is not finished: its flights so far are in {parts_folder(target)}. Give "
            "the command that began it again to go on, or read what is finished with "
            "--unfinished (from Python: open_ensemble(path, unfinished=True))"
        )
    beside = sorted(p.name for p in target.parent.glob("*.nc")) if target.parent.is_dir() else []
    there = f"; in that folder are {', '.join(beside[:6])}" if beside else ""
    return f"{target} does not exist{there}. Fly it first: setdown disperse SCENARIO -o {target}"
