"""Flying an ensemble or a sweep: draw, fly, keep, merge."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.draws import draw_numbers
from sim.ensemble.executors import Execute, Lost, in_threads
from sim.ensemble.manifest import Manifest, Task, chunk_size, make_manifest
from sim.ensemble.netcdf import write_netcdf
from sim.ensemble.opening import open_ensemble
from sim.ensemble.protocols import Floats, Fly, FlyTrace, Runs, ScenarioLike
from sim.ensemble.registry import OUTCOMES
from sim.ensemble.seal import seal
from sim.ensemble.store import Interrupted, Parts, Tell, flush_file, open_parts, put_in_place
from sim.ensemble.traces import Trace
from sim.ensemble.uniforms import METHODS
from sim.ensemble.vary import Vary, read_varied
from sim.errors import RunFailure, UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

Progress = Callable[[int, int], None]
"""Told flights done and flights in all, in the caller's thread."""

_LARGEST_SEED = 2**63 - 1


def disperse(
    scenario: ScenarioLike,
    *,
    flights: int = 10_000,
    seed: int = 1,
    out: str | Path | None = None,
    workers: int | None = None,
    method: str = "random",
    chunk: int | None = None,
    trace_runs: Sequence[int] = (),
    progress: Progress | None = None,
    tell: Tell | None = None,
    command: str = "",
    kernel: str = "",
    fly: Fly | None = None,
    fly_trace: FlyTrace | None = None,
    execute: Execute | None = None,
    allow_other_version: bool = False,
) -> Dataset:
    """Fly an ensemble of a scenario.

    With `out`, every finished chunk is safe on disk. If the run is stopped in whatever way, the
    same call goes on and ends with the same file as one that was never stopped. A file that is
    there already is replaced in the last moment, by a whole one.

    Parameters
    ----------
    scenario : Scenario
        What to fly.
    flights : int
        Number of runs, numbered from 0.
    seed : int
        From 0. Flight i of a seed is the same flight in every ensemble of the scenario.
    out : path, optional
        netCDF file to write. Without it the ensemble is kept in memory.
    workers : int, optional
        Threads; as many as there are processors.
    method : {"random", "latin_hypercube", "sobol"}
        How the laws are filled; see `sim.ensemble.uniforms`.
    chunk : int, optional
        Flights in one piece of work. Results do not depend on it.
    trace_runs : sequence of int
        Runs whose traces are stored too, in the group `traces`.
    progress : callable, optional
        Called with flights done and flights in all.
    tell : callable, optional
        Called with a sentence about what was found (going on, a damaged chunk).
    command : str
        As typed, for the record.
    kernel : str
        Hash of the sources of the flight code; a run goes on only with the same.
    fly : callable, optional
        `fly(scenario, seed, runs, values) -> {outcome: array}`, safe in threads;
        `sim.ensemble.fly_runs.fly_runs` if not given.
    fly_trace : callable, optional
        `fly_trace(scenario, seed, run, values) -> (outcomes, series)`, values of shape (1,);
        `sim.ensemble.fly_runs.fly_trace` if not given.
    execute : callable, optional
        Another executor in place of threads, as `sim.ensemble.cluster.on_cluster` makes.
    allow_other_version : bool
        Go on with what another version of the program has flown; the file will say so.

    Returns
    -------
    xarray.Dataset
        Dimension `run`. With `out` it is read from the file on demand; close it when done.

    Raises
    ------
    UserMistake
        Impossible options, an output that cannot be written, finished chunks of another run.
    RunFailure
        Disk full and the like; `Interrupted` after Ctrl-C. Finished chunks are kept.
    """
    order = _Order(
        scenario, [scenario], [], flights, seed, method, chunk, workers, command, kernel,
        progress, tell, fly or _default_fly(), execute, allow_other_version,
    )  # fmt: skip
    outside = [run for run in trace_runs if not 0 <= run < flights]
    if outside:
        raise UserMistake(f"no run {outside[0]} to trace; runs go from 0 to {flights - 1}")
    runs = sorted(set(trace_runs))
    return order.deliver(out, lambda: _traces(order, runs, fly_trace))


def sweep(
    scenario: ScenarioLike,
    vary: str | Vary | Sequence[str | Vary],
    *,
    flights: int = 1_000,
    seed: int = 1,
    out: str | Path | None = None,
    workers: int | None = None,
    method: str = "random",
    chunk: int | None = None,
    progress: Progress | None = None,
    tell: Tell | None = None,
    command: str = "",
    kernel: str = "",
    fly: Fly | None = None,
    execute: Execute | None = None,
    allow_other_version: bool = False,
) -> Dataset:
    """Fly the same ensemble at each level of one or two inputs.

    The runs of every level share their draws and their noise, so that levels can be compared
    flight by flight.

    Parameters
    ----------
    scenario : Scenario
        What to fly.
    vary : str, Vary, or two of them
        As `"launch_pad.tilt=0..1 deg/11"`; see `sim.ensemble.vary`.
    flights : int
        Runs at each level.
    seed, out, workers, method, chunk, progress, tell, command, kernel, fly, execute,
    allow_other_version
        As in `disperse`.

    Returns
    -------
    xarray.Dataset
        Dimensions `run` and one for each input varied. Drawn inputs that are the same at every
        level have `run` alone.

    Raises
    ------
    UserMistake, RunFailure
        As in `disperse`; also a level that cannot be set.
    """
    varied = read_varied(vary)
    scenarios = [
        scenario.with_values(dict(zip((v.key for v in varied), levels, strict=True)))
        for levels in product(*(v.levels for v in varied))
    ]
    order = _Order(
        scenario, scenarios, varied, flights, seed, method, chunk, workers, command, kernel,
        progress, tell, fly or _default_fly(), execute, allow_other_version,
    )  # fmt: skip
    return order.deliver(out, list)


@dataclass(frozen=True)
class ChunkWork:
    """Flying one chunk at one level; depends on nothing but its task."""

    scenarios: Sequence[ScenarioLike] | Mapping[int, ScenarioLike]
    manifest: Manifest
    fly: Fly

    def alone(self, task: Task) -> ChunkWork:
        """Make the work for one task, without what others need, to be sent elsewhere."""
        return replace(self, scenarios={task[1]: self.scenarios[task[1]]})

    def __call__(self, task: Task) -> Floats:
        """Return inputs and outcomes, (columns, runs)."""
        manifest, scenario = self.manifest, self.scenarios[task[1]]
        first, last = manifest.span(task[0])
        runs = np.arange(first, last, dtype=np.int64)
        block = np.empty((len(manifest.columns), len(runs)))
        try:
            values = draw_numbers(
                scenario, manifest.seed, runs, method=manifest.method, flights=manifest.flights
            )
            for row, column in zip(block, manifest.inputs, strict=False):
                fixed = scenario.numbers[column.key].value
                row[:] = values.get(column.key, fixed)
            found = self.fly(scenario, manifest.seed, runs, values)
            _pack(block[len(manifest.inputs) :], manifest.outcomes, found, runs)
        except (UserMistake, RunFailure):
            raise
        except Exception as problem:
            raise RunFailure(
                f"runs {first} to {last - 1} could not be flown "
                f"({type(problem).__name__}: {problem}). This is a fault of the program, not of "
                "the scenario; what was finished before is kept"
            ) from problem
        return block


def _pack(
    rows: Floats, names: Sequence[str], found: Mapping[str, np.ndarray[Any, Any]], runs: Runs
) -> None:
    unknown = sorted(set(found) - set(names))
    if unknown:
        raise ValueError(f"outcomes that the registry does not have: {', '.join(unknown)}")
    for row, name in zip(rows, names, strict=True):
        variable = OUTCOMES[name]
        if name in found:
            values = np.asarray(found[name])
            if values.shape != runs.shape:
                raise ValueError(f"{name} has shape {values.shape}, not {runs.shape}")
            row[:] = values
        elif variable.missing is None:
            raise ValueError(f"the flights do not say their {name}")
        else:
            row[:] = variable.missing
        if variable.dtype != "f8" and not np.all(np.isfinite(row)):
            raise ValueError(f"{name} is not a number for some flight")


@dataclass(frozen=True)
class _Order:
    """All that a call asked for."""

    scenario: ScenarioLike
    scenarios: Sequence[ScenarioLike]
    varied: Sequence[Vary]
    flights: int
    seed: int
    method: str
    chunk: int | None
    workers: int | None
    command: str
    kernel: str
    progress: Progress | None
    tell: Tell | None
    fly: Fly
    execute: Execute | None
    allow_other_version: bool

    def deliver(self, out: str | Path | None, traces: Callable[[], list[Trace]]) -> Dataset:
        """Fly and merge, into a file or into memory."""
        self._check()
        manifest = self._manifest()
        if out is not None:
            self._fly(Path(out), manifest, traces, lasting=True)
            return open_ensemble(out, just_sealed=True)
        with tempfile.TemporaryDirectory(prefix="setdown-") as folder:
            target = Path(folder) / "ensemble.nc"
            self._fly(target, manifest, traces, lasting=False)
            with open_ensemble(target, just_sealed=True) as lazy:
                dataset = lazy.load()
        dataset.encoding.pop("source", None)
        return dataset

    def _check(self) -> None:
        if self.flights < 1:
            raise UserMistake(f"{self.flights} flights; give at least 1")
        if not 0 <= self.seed <= _LARGEST_SEED:
            raise UserMistake(f"seed {self.seed}; give a whole number from 0 to 2^63 - 1")
        if self.workers is not None and self.workers < 1:
            raise UserMistake(f"{self.workers} workers; give at least 1")
        if self.chunk is not None and self.chunk < 1:
            raise UserMistake(f"chunks of {self.chunk} flights; give at least 1")
        if self.method not in METHODS:
            raise UserMistake(f'sampling method "{self.method}"; known are {", ".join(METHODS)}')

    def _manifest(self) -> Manifest:
        return make_manifest(
            self.scenario, self.scenarios, self.varied,
            seed=self.seed, flights=self.flights, method=self.method,
            chunk=self.chunk or chunk_size(self.flights),
            command=self.command, kernel=self.kernel,
        )  # fmt: skip

    def _fly(
        self, target: Path, manifest: Manifest, traces: Callable[[], list[Trace]], *, lasting: bool
    ) -> None:
        with open_parts(
            target, manifest, tell=self.tell, durable=lasting,
            allow_other_version=self.allow_other_version,
        ) as parts:  # fmt: skip
            try:
                self._fly_chunks(parts)
                _merge(parts, traces(), lasting=lasting)
            except KeyboardInterrupt as stop:
                parts.count_again()
                raise Interrupted(f"Stopped. {_kept(parts, lasting)}.") from stop
            except Lost as loss:
                raise RunFailure(f"{loss}. {_kept(parts, lasting)}.") from loss
            parts.remove()

    def _fly_chunks(self, parts: Parts) -> None:
        manifest = parts.manifest
        total = manifest.flights * manifest.levels
        done = parts.flown
        self._report(done, total)
        execute = self.execute or in_threads(self.workers or os.cpu_count() or 1)
        before = frozenset(parts.finished)
        todo = (task for task in manifest.tasks() if task not in before)
        work = ChunkWork(self.scenarios, manifest, self.fly)
        with closing(execute(work, todo)) as results:
            for task, block in results:
                parts.save(task, block)
                done += block.shape[1]
                self._report(done, total)

    def _report(self, done: int, total: int) -> None:
        if self.progress is not None:
            self.progress(done, total)


def _kept(parts: Parts, lasting: bool) -> str:
    if lasting:
        return f"{parts.state()}; give the same command to go on"
    return "Nothing is kept, since no output was given"


def _merge(parts: Parts, traces: list[Trace], *, lasting: bool) -> None:
    """Write the file beside the target, make it last, and only then put it in its place."""
    written = parts.folder / "merged.nc.tmp"
    try:
        write_netcdf(written, parts.manifest, parts.read, traces=traces, compress=lasting)
        if lasting:
            seal(written)
            flush_file(written)
        put_in_place(written, parts.target, durable=lasting)
    except (OSError, RuntimeError) as problem:  # the netCDF library raises both
        failure = parts.failure(problem)  # looks at the room left, so before making some
        with suppress(OSError):
            written.unlink(missing_ok=True)
        raise failure from problem


def _traces(order: _Order, runs: Sequence[int], fly_trace: FlyTrace | None) -> list[Trace]:
    flown = []
    for run in runs:
        values = draw_numbers(
            order.scenario, order.seed, [run], method=order.method, flights=order.flights
        )
        fly = fly_trace or _default_fly_trace()
        flown.append(Trace(run, fly(order.scenario, order.seed, run, values)[1]))
    return flown


def _default_fly() -> Fly:
    from sim.ensemble.fly_runs import fly_runs

    return fly_runs


def _default_fly_trace() -> FlyTrace:
    from sim.ensemble.fly_runs import WIDTH, fly_trace

    return partial(fly_trace, width=WIDTH)  # which the ensemble has compiled already
