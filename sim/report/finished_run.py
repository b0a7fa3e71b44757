"""An ensemble whose file is whole, as the last state of its run; what to say if there is none."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.analysis.flights import check_weights, swept_dimensions
from sim.analysis.settling import flown_flights
from sim.ensemble.opening import open_ensemble
from sim.report.run_state import State, level_words

if TYPE_CHECKING:
    from xarray import Dataset

_NEEDED = ("outcome", "success", "miss_distance", "touchdown_speed", "weight")


def finished(target: Path) -> State:
    """Read an ensemble whose file is whole.

    Raises
    ------
    UserMistake
        It is none, or damaged.
    """
    with open_ensemble(target) as ds:
        return _from_file(ds)


def _from_file(ds: Dataset) -> State:
    swept = swept_dimensions(ds)
    check_weights(ds)
    names = [name for name in _NEEDED if name in ds]
    flat = ds[names].stack(level=swept, create_index=False) if swept else ds[names]
    if swept:
        flown = tuple(flown_flights(flat.isel(level=place)) for place in range(flat.sizes["level"]))
    else:
        flown = (flown_flights(flat.load()),)
    axes = [
        (str(ds[dim].attrs.get("scenario_key", dim)), _written(ds[dim])) for dim in swept
    ]  # fmt: skip
    total = ds["outcome"].size
    return State(
        "finished", str(ds.attrs.get("title", "")).partition(":")[0],
        str(ds.attrs.get("sampling_method", "random")), str(ds.attrs.get("command", "")),
        int(ds.attrs.get("seed", 0)), total, total, level_words(axes), flown,
    )  # fmt: skip


def _written(axis: Any) -> tuple[str, ...]:
    """Levels of an axis as they were written, or by their numbers."""
    written = str(axis.attrs.get("levels_as_written", "")).split(", ")
    if len(written) == axis.size:
        return tuple(written)
    return tuple(f"{float(value):.4g} {axis.attrs.get('units', '')}" for value in axis.to_numpy())


def not_there(target: Path) -> str:
    """Say what is missing, and which files there come near."""
    from difflib import get_close_matches

    folder = target.parent
    if not folder.is_dir():
        return f"{target}: the folder {folder} does not exist; give the output of a run"
    if target.name.startswith(".") and target.name.endswith(".parts"):
        right = target.with_name(target.name[1 : -len(".parts")])
        return f"{target} is not what a run writes; give the file that it will become: {right}"
    running = {path.name[1 : -len(".parts")] for path in folder.glob(".*.parts")}
    names = sorted({path.name for path in folder.glob("*.nc")} | running)
    near = get_close_matches(target.name, names, n=3, cutoff=0.5)
    if near:
        hint = f"did you mean {' or '.join(str(folder / name) for name in near)}?"
    elif names:
        hint = f"in that folder are {', '.join(names[:6])}."
    else:
        hint = "no ensemble and no run is in that folder."
    return (
        f"{target} is not there, and no run has begun to write it; {hint} Give what stands after "
        "-o of the disperse or sweep to be watched (results/NAME.nc without one)"
    )
