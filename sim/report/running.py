"""What a run has finished so far, read from outside without disturbing it.

A run in another process writes each finished part under its last name, whole (see
`sim.ensemble.store`); here parts are read once each, in the order of their flights, and nothing is
written, locked or taken away. Flights are counted up to the first part that is still missing: the
first n flights by number are independent draws whatever they were like, while those that happen to
be finished first are so only nearly.
"""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from sim.analysis.flights import NOT_DOWN
from sim.analysis.settling import Flown
from sim.ensemble.manifest import Manifest, Task
from sim.ensemble.registry import OUTCOME_MEANINGS
from sim.ensemble.store import Parts, parts_folder, read_manifest
from sim.errors import RunFailure, UserMistake
from sim.report.finished_run import finished, not_there
from sim.report.run_state import SILENT, State, level_words, pace

_NEEDED = ("outcome", "success", "miss_distance", "touchdown_speed", "weight")
_LOST = tuple(OUTCOME_MEANINGS.index(name) for name in NOT_DOWN)


class Running:
    """A run, looked at again and again.

    Parameters
    ----------
    target : Path
        The file that the run will write, or has written.
    """

    def __init__(self, target: Path) -> None:
        self.target = target
        self._manifest: Manifest | None = None
        self._flown: tuple[Flown, ...] = ()
        self._chunks = 0  # read without a gap
        self._ended: dict[Task, float] = {}  # when each part was finished
        self._damaged: dict[Path, float] = {}

    def look(self) -> State:
        """Read what was finished since the last look.

        Raises
        ------
        UserMistake
            There is no such run or ensemble, or what is there cannot be read; the message says
            what would be right.
        """
        for _ in range(3):  # it may end between two steps
            if not self._under_way():
                break
            try:
                return self._look_at_parts()
            except RunFailure as problem:
                if self._under_way():
                    raise UserMistake(str(problem)) from problem
        if self.target.is_file():
            return finished(self.target)
        if parts_folder(self.target).is_dir():
            return State("begun")
        if self._manifest is not None:
            raise UserMistake(
                f"the run that was to write {self.target} has ended, and its finished parts were "
                "taken away; begin it again with disperse or sweep"
            )
        raise UserMistake(not_there(self.target))

    def _under_way(self) -> bool:
        return (parts_folder(self.target) / "manifest.json").exists()

    def _look_at_parts(self) -> State:
        manifest = read_manifest(self.target)
        if manifest != self._manifest:
            self._begin(manifest)
        parts = Parts(self.target, manifest)
        parts.count_again()
        for task, path in parts.finished.items():
            if task not in self._ended:
                with suppress(OSError):  # taken away in this moment
                    self._ended[task] = path.stat().st_mtime
        self._read_on(parts)
        return self._state(parts)

    def _begin(self, manifest: Manifest) -> None:
        """Make room for all flights of a run; the system gives it only as it is filled."""
        lacking = sorted(set(_NEEDED) - set(manifest.outcomes))
        if lacking:
            raise UserMistake(
                f"the finished parts for {self.target} have no {', '.join(lacking)}: another "
                "version of setdown flies this run; watch it with that version"
            )
        size = manifest.flights
        self._flown = tuple(
            Flown(np.empty(size, dtype=np.bool_), np.empty(size), np.empty(size))
            for _ in range(manifest.levels)
        )
        self._manifest, self._chunks, self._ended, self._damaged = manifest, 0, {}, {}

    def _read_on(self, parts: Parts) -> None:
        """Read the parts that follow without a gap on those read before, each once."""
        manifest, levels = parts.manifest, range(parts.manifest.levels)
        while all((self._chunks, level) in parts.finished for level in levels):
            for level in levels:
                task = self._chunks, level
                path = parts.finished[task]
                if not self._readable(path):
                    return
                try:
                    block = parts.read(task)
                except RunFailure:
                    with suppress(OSError):
                        self._damaged[path] = path.stat().st_mtime
                    return
                self._keep(block, manifest, task)
            self._chunks += 1

    def _readable(self, path: Path) -> bool:
        """Whether a part is none that was found damaged and is still the same."""
        try:
            return path not in self._damaged or path.stat().st_mtime != self._damaged.pop(path)
        except OSError:
            return False

    def _keep(self, block: Any, manifest: Manifest, task: Task) -> None:
        first, last = manifest.span(task[0])
        rows = dict(zip(manifest.columns[-len(manifest.outcomes) :],
                        block[-len(manifest.outcomes) :], strict=True))  # fmt: skip
        if not np.all(rows["weight"] == 1.0):
            raise UserMistake(
                f"the flights of {self.target} carry weights; bounds by counting hold only for "
                "equally weighted flights"
            )
        far, fast = rows["miss_distance"], rows["touchdown_speed"]
        down = np.isfinite(far) & ~np.isin(rows["outcome"], _LOST)
        flown = self._flown[task[1]]
        flown.success[first:last] = down & (rows["success"] == 1.0)
        flown.distance[first:last] = np.where(down, far, np.inf)
        flown.speed[first:last] = np.where(down & np.isfinite(fast), fast, np.inf)

    def _state(self, parts: Parts) -> State:
        manifest = parts.manifest
        counted = min(self._chunks * manifest.chunk, manifest.flights)
        sizes = {t: np.diff(manifest.span(t[0]))[0] for t in self._ended if t in parts.finished}
        rate, usual, last = pace([(self._ended[task], int(n)) for task, n in sizes.items()])
        quiet = max(0.0, time.time() - last)
        total, done = manifest.flights * manifest.levels, parts.flown
        silent = quiet > max(SILENT, 10.0 * usual if np.isfinite(usual) else 0.0)
        state = "silent" if silent else "writing" if done >= total else "flying"
        return State(
            state if parts.finished else "begun",
            manifest.title.partition(":")[0], manifest.method, manifest.command, manifest.seed,
            total, done, level_words([(axis.key, axis.written) for axis in manifest.axes]),
            tuple(flown.first(counted) for flown in self._flown) if counted else (),
            rate, quiet, usual, tuple(path.name for path in self._damaged),
        )  # fmt: skip
