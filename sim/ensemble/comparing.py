"""Two designs, flown or read, ready to be compared flight by flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs, outcome_dataset
from sim.ensemble.protocols import Fly, ScenarioLike
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

# attributes of an ensemble that must be the same in both, or their flights are not pairs
_MATCH = {
    "seed": "seed",
    "sampling_method": "way of drawing",
    "setdown_version": "version of setdown",
    "kernel": "flight code",
}


@dataclass(frozen=True)
class Design:
    """One side of a comparison: a scenario to be flown, or an ensemble that was.

    Attributes
    ----------
    name : str
        On screen.
    label : str
        In pictures: the same without the folder.
    scenario : Scenario or None
    ensemble : Dataset or None
    """

    name: str
    label: str = ""
    scenario: ScenarioLike | None = None
    ensemble: Dataset | None = None


def read_design(path: str, sets: Sequence[str] = ()) -> Design:
    """Read a scenario, or open an ensemble (.nc).

    Raises
    ------
    UserMistake
        It is neither, or values are set in an ensemble.
    """
    if Path(path).suffix == ".nc":
        from sim.ensemble.opening import open_ensemble

        if sets:
            raise UserMistake(f"{path} is flown already; --set is for scenarios")
        with open_ensemble(path) as lazy:
            return Design(path, Path(path).name, ensemble=lazy.load())
    from sim.scenario import load_scenario

    name, label = (" ".join([place, *sets]) for place in (path, Path(path).name))
    return Design(name, label, scenario=load_scenario(path, sets))


def fly_pair(
    a: Design,
    b: Design,
    *,
    flights: int = 4_000,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> tuple[Dataset, Dataset]:
    """Ensembles of both designs with the same draws and the same noise.

    Parameters
    ----------
    a, b : Design
        A scenario beside an ensemble is flown with the runs and the seed of that ensemble.
    flights : int
        Of each scenario, where none is an ensemble.
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Dataset, Dataset
        Dimension `run`.

    Raises
    ------
    UserMistake
        The ensembles cannot be paired.
    """
    known = [design.ensemble for design in (a, b) if design.ensemble is not None]
    if len(known) == 2:
        check_pair(*known)
        return known[0], known[1]
    runs = first_runs(flights)
    if known:
        runs, seed = known[0]["run"].to_numpy(), int(known[0].attrs["seed"])
        if str(known[0].attrs.get("sampling_method", "random")) != "random":
            raise UserMistake(
                "the ensemble was not drawn at random, so a scenario cannot be flown with its "
                "draws; fly both with disperse and compare the two files"
            )
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    todo = [design.scenario for design in (a, b) if design.scenario is not None]
    flown = iter(campaign.fly([Batch(scenario, runs) for scenario in todo]))
    sides = [
        design.ensemble
        if design.ensemble is not None
        else outcome_dataset(next(flown), runs, seed)
        for design in (a, b)
    ]
    return sides[0], sides[1]


def check_pair(a: Dataset, b: Dataset) -> None:
    """Raise UserMistake unless two ensembles have pairs of flights."""
    for name, words in _MATCH.items():
        one, two = (str(ds.attrs[name]) if name in ds.attrs else None for ds in (a, b))
        if one is not None and two is not None and one != two:
            shown = f" ({one} and {two})" if len(one + two) < 60 else ""
            raise UserMistake(
                f"the two ensembles have another {words} each{shown}, so their flights are not "
                "pairs; fly one again like the other"
            )
    if str(a.attrs.get("sampling_method")) == "latin_hypercube" and a.sizes != b.sizes:
        raise UserMistake(
            "a Latin hypercube of another size has other flights: fly both with as many flights"
        )
