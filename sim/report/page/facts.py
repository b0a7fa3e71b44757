"""What a page is written from: an ensemble, what the analyses find in it, and its scenario."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import RunFailure, UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.ensemble.fly_again import FlownAgain
    from sim.scenario import Scenario

MOST_DRAWN = 6_000  # flights in a scatter plot
MOST_READ = 20_000  # flights whose inputs are read


@dataclass(frozen=True)
class Facts:
    """One ensemble, ready to be written about.

    Attributes
    ----------
    path : Path
        As given.
    ds : Dataset
        Read from the file on demand.
    confidence : float [1]
    swept : tuple of str
        Dimensions swept; then `box`, `contact` and `split` are None.
    box, contact, split : Dataset or None
        From `sim.analysis`: landing box, touchdown, navigation.
    scenario : Scenario or None
        As stored in the file; None if it cannot be read, which `no_scenario` explains.
    no_scenario : str
    again : FlownAgain or None
        Flights flown again for their traces; None if there are none, which `no_traces` explains.
    no_traces : str
    """

    path: Path
    ds: Dataset
    confidence: float
    swept: tuple[str, ...]
    box: Dataset | None
    contact: Dataset | None
    split: Dataset | None
    scenario: Scenario | None
    no_scenario: str
    again: FlownAgain | None
    no_traces: str

    @property
    def vehicle(self) -> str:
        """Name of the vehicle."""
        return str(self.ds.attrs.get("title", "")).partition(":")[0] or self.path.stem

    @property
    def flights(self) -> int:
        """Flights in the file, at each level of a sweep."""
        return int(self.ds.sizes["run"])


def gather(
    path: Path,
    ds: Dataset,
    *,
    confidence: float = 0.95,
    traces: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Facts:
    """Analyse an ensemble and fly some of its flights again.

    Parameters
    ----------
    path : Path
        Of the file, for words alone.
    ds : Dataset
        From `sim.ensemble.opening.open_ensemble`.
    confidence : float [1]
        Of every bound by itself.
    traces : int
        Flights to fly again; none of a sweep.
    progress : callable, optional
        Told flights flown again and flights in all.

    Raises
    ------
    UserMistake
        The ensemble cannot be analysed; the message says why.
    """
    from sim.analysis.flights import need, swept_dimensions

    need(ds, ["outcome", "success", "miss_distance"])
    swept = swept_dimensions(ds)
    box = contact = split = None
    if not swept:
        from sim.analysis.landing_box import landing_box
        from sim.analysis.touchdown import touchdown

        box = landing_box(ds, confidence=confidence)
        contact = touchdown(ds, confidence=confidence)
        split = _navigation(ds, confidence)
    scenario, missing = _scenario(ds)
    again, untraced = None, "The flights of a sweep are not flown again for their traces."
    if not swept:
        again, untraced = _again(ds, scenario, missing, traces, progress)
    return Facts(
        path, ds, confidence, swept, box, contact, split, scenario, missing, again, untraced
    )


def _navigation(ds: Dataset, confidence: float) -> Dataset | None:
    from sim.analysis.navigation import PARTS, navigation

    there = all(name in ds for east, north, _ in PARTS.values() for name in (east, north))
    return navigation(ds, confidence=confidence) if there else None


def _scenario(ds: Dataset) -> tuple[Scenario | None, str]:
    from sim.ensemble.fly_again import stored_scenario

    try:
        return stored_scenario(ds), ""
    except UserMistake as problem:
        return None, str(problem)


def _again(
    ds: Dataset, scenario: Scenario | None, missing: str, traces: int,
    progress: Callable[[int, int], None] | None,
) -> tuple[FlownAgain | None, str]:  # fmt: skip
    if scenario is None:
        return None, f"No flight could be flown again for its trace: {missing}."
    if traces == 0:
        return None, "No flight was flown again for its trace, as asked (--traces 0)."
    if "seed" not in ds.attrs:
        return None, "No flight could be flown again: the file does not say its seed."
    from sim.ensemble.fly_again import fly_again

    try:
        return fly_again(ds, scenario, traces, progress=progress), ""
    except (UserMistake, RunFailure) as problem:
        return None, f"No flight could be flown again for its trace: {problem}."
