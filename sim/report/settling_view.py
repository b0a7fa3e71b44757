"""One look at a run with what it shows: the same for the screen, a log, JSON and the picture."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sim.analysis.flights import Floats
from sim.analysis.settling import figures, from_flown
from sim.analysis.stopping import Aim, Verdict, verdict
from sim.report.run_state import State
from sim.report.running import Running

if TYPE_CHECKING:
    from xarray import Dataset

_ROWS = 6  # of what was known with fewer flights
_LEAST = 64  # flights


@dataclass(frozen=True)
class View:
    """What one look shows.

    `now` has the figures of each level (from `sim.analysis.settling.figures`; empty while no flight
    is counted), `before` those of the first flights of the only level, by their number.
    """

    target: Path
    state: State
    confidence: float
    aim: Aim
    now: tuple[Floats, ...]
    before: dict[int, Floats]
    verdict: Verdict

    @property
    def independent(self) -> bool:
        """Whether flights are independent draws, for which alone the bounds are proven."""
        return self.state.method == "random"


class Watcher:
    """Looks at a run again and again.

    Parameters
    ----------
    target : Path
        The file that the run will write, or has written.
    confidence : float [1]
        Of each statistic by itself.
    aim : Aim
        What is to be known before one stops.
    """

    def __init__(self, target: Path, confidence: float, aim: Aim | None = None) -> None:
        self._running = Running(target)
        self._target, self._confidence, self._aim = target, confidence, aim or Aim()
        self._known: dict[int, Floats] = {}
        self._seed: int | None = None

    def look(self) -> View:
        """Look now.

        Raises
        ------
        UserMistake
            There is nothing that could be looked at.
        """
        state = self._running.look()
        if state.seed != self._seed:  # another run began
            self._known, self._seed = {}, state.seed
        size = state.counted
        now = tuple(figures(flown, self._confidence) for flown in state.flown) if size else ()
        found = verdict(now, size, self._aim, independent=state.method == "random")
        before = self._before(state) if len(now) == 1 else {}
        return View(self._target, state, self._confidence, self._aim, now, before, found)

    def _before(self, state: State) -> dict[int, Floats]:
        """Figures of fewer flights, by powers of two; kept, since they never change again."""
        numbers, number = [], _LEAST
        while number < state.counted:
            numbers.append(number)
            number *= 2
        for number in numbers[-_ROWS:]:
            if number not in self._known:
                self._known[number] = figures(state.flown[0].first(number), self._confidence)
        return {number: self._known[number] for number in numbers[-_ROWS:]}


def dataset_of(view: View, level: int = 0, points: int = 40) -> Dataset:
    """Dataset of `sim.analysis.settling.settling`, of one level of a run."""
    state = view.state
    found = from_flown(state.flown[level], confidence=view.confidence, points=points)
    about = {
        "vehicle": state.vehicle, "sampling_method": state.method, "seed": state.seed,
        "independent": int(view.independent),
    }  # fmt: skip
    if state.levels[level]:
        about["level"] = state.levels[level]
    if state.state != "finished":
        about["unfinished"] = f"{state.finished} of {state.total} runs are finished"
    return found.assign_attrs(about)
