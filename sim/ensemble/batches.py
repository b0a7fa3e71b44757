"""Flying sets of runs in memory for experiments: in threads, counted, always the same."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.draws import draw_numbers
from sim.ensemble.protocols import Floats, Fly, Runs, ScenarioLike
from sim.ensemble.registry import OUTCOMES, attributes
from sim.errors import RunFailure, UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

Outcomes = dict[str, Floats]
Progress = Callable[[int, int], None]

PIECE = 256  # flights in one piece of work; results do not depend on it
_HEARTBEAT = 0.5  # s, so that Ctrl-C is noticed


@dataclass(frozen=True)
class Batch:
    """Runs to fly.

    Attributes
    ----------
    scenario : Scenario
    runs : ndarray of int64 (n,)
        They key the draws and the noise in flight.
    values : mapping of str to ndarray (n,), optional
        Values in place of what would be drawn for these runs; others are drawn.
    drawn : bool
        Draw what `values` does not give; else it is at its nominal value.
    """

    scenario: ScenarioLike
    runs: Runs
    values: Mapping[str, Floats] = field(default_factory=dict)
    drawn: bool = True


class Campaign:
    """Flies batches of one seed and counts the flights.

    Parameters
    ----------
    seed : int
    fly : callable, optional
        `sim.ensemble.fly_runs.fly_runs` if not given.
    workers : int, optional
        Threads; as many as there are processors.
    progress : callable, optional
        Called with flights done and flights planned.
    """

    def __init__(
        self,
        seed: int,
        *,
        fly: Fly | None = None,
        workers: int | None = None,
        progress: Progress | None = None,
    ) -> None:
        if not 0 <= seed < 2**63:
            raise UserMistake(f"seed {seed}; give a whole number from 0 to 2^63 - 1")
        if workers is not None and workers < 1:
            raise UserMistake(f"{workers} workers; give at least 1")
        self.seed = seed
        self.flown = 0
        self.planned = 0
        self._fly = fly or _default_fly()
        self._workers = workers or os.cpu_count() or 1
        self._progress = progress

    def plan(self, flights: int) -> None:
        """Say how many flights there will be in all."""
        self.planned = flights

    def fly(self, batches: Sequence[Batch]) -> list[Outcomes]:
        """Fly batches.

        Parameters
        ----------
        batches : sequence of Batch

        Returns
        -------
        list of dict of str to ndarray (n,)
            Outcomes of each batch, in the order of its runs.

        Raises
        ------
        RunFailure
            A piece could not be flown.
        """
        total = self.flown + sum(len(batch.runs) for batch in batches)
        self.planned = max(self.planned, total)
        pieces = [
            (place, start)
            for place, batch in enumerate(batches)
            for start in range(0, len(batch.runs), PIECE)
        ]
        found: dict[tuple[int, int], Outcomes] = {}
        with ThreadPoolExecutor(self._workers, thread_name_prefix="flights") as pool:
            try:
                self._gather(pool, batches, pieces, found)
            except BaseException:
                pool.shutdown(wait=True, cancel_futures=True)
                raise
        return [
            _joined([found[p, s] for p, s in pieces if p == place]) for place in range(len(batches))
        ]

    def fly_one(self, batch: Batch) -> Outcomes:
        """Fly one batch; see `fly`."""
        return self.fly([batch])[0]

    def _gather(
        self,
        pool: ThreadPoolExecutor,
        batches: Sequence[Batch],
        pieces: list[tuple[int, int]],
        found: dict[tuple[int, int], Outcomes],
    ) -> None:
        waiting: dict[Future[Outcomes], tuple[int, int]] = {
            pool.submit(self._piece, batches[place], start): (place, start)
            for place, start in pieces
        }
        self._report()
        while waiting:
            ready, _ = wait(waiting, timeout=_HEARTBEAT, return_when=FIRST_COMPLETED)
            for future in ready:
                key = waiting.pop(future)
                found[key] = future.result()
                self.flown += len(found[key]["outcome"])
            if ready:
                self._report()

    def _piece(self, batch: Batch, start: int) -> Outcomes:
        part = slice(start, start + PIECE)
        runs = batch.runs[part]
        try:
            values = draw_numbers(batch.scenario, self.seed, runs) if batch.drawn else {}
            values |= {name: column[part] for name, column in batch.values.items()}
            out = self._fly(batch.scenario, self.seed, runs, values)
        except (UserMistake, RunFailure):
            raise
        except Exception as problem:
            raise RunFailure(
                f"runs {runs[0]} to {runs[-1]} could not be flown ({type(problem).__name__}: "
                f"{problem}). This is a fault of the program, not of the scenario"
            ) from problem
        return {name: np.asarray(column, dtype=np.float64) for name, column in out.items()}

    def _report(self) -> None:
        if self._progress is not None:
            self._progress(self.flown, self.planned)


def first_runs(count: int, start: int = 0) -> Runs:
    """Run numbers from `start`."""
    return np.arange(start, start + count, dtype=np.int64)


def join(parts: Sequence[Outcomes]) -> Outcomes:
    """Outcomes of several batches, one after the other."""
    return _joined(parts)


def outcome_dataset(outcomes: Mapping[str, NDArray[Any]], runs: Runs, seed: int) -> Dataset:
    """Outcomes as the analyses read them, dimension `run`.

    Parameters
    ----------
    outcomes : mapping of str to ndarray (n,)
    runs : ndarray of int64 (n,)
    seed : int

    Returns
    -------
    Dataset
    """
    import xarray as xr

    entries = {
        name: (("run",), np.asarray(column, dtype=OUTCOMES[name].dtype), attributes(OUTCOMES[name]))
        for name, column in outcomes.items()
        if name in OUTCOMES
    }
    return xr.Dataset(entries, coords={"run": runs}, attrs={"seed": seed})


def _joined(parts: Sequence[Outcomes]) -> Outcomes:
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def _default_fly() -> Fly:
    from sim.ensemble.fly_runs import fly_runs

    return fly_runs
