"""What is known of a run at one moment, and how fast it goes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.analysis.settling import Flown

RECENT = 200  # parts that the rate is measured over, at most
SILENT = 60.0  # s without a part, and ten times the usual wait, before it is called silent

STATES = ("begun", "flying", "silent", "writing", "finished")
"""begun: no part is finished; writing: all are flown, and the file is being made of them."""


@dataclass(frozen=True)
class State:
    """What is known of a run at one moment.

    Attributes
    ----------
    state : str
        One of STATES.
    vehicle, method, command : str
    seed : int
    total, finished : int
        Flights over all levels: asked for, and finished.
    levels : tuple of str
        Each level of a sweep in words; one empty word without a sweep.
    flown : tuple of Flown
        For each level the flights counted: the first by number, without a gap.
    rate : float [1/s]
        Flights, over the last parts; NaN while it is not known.
    quiet : float [s]
        Since the last part was finished; NaN if none is.
    usual : float [s]
        Median wait for a part; NaN while it is not known.
    damaged : tuple of str
        Parts that cannot be read; no flight after the first of them is counted.
    """

    state: str
    vehicle: str = ""
    method: str = "random"
    command: str = ""
    seed: int = 0
    total: int = 0
    finished: int = 0
    levels: tuple[str, ...] = ("",)
    flown: tuple[Flown, ...] = ()
    rate: float = np.nan
    quiet: float = np.nan
    usual: float = np.nan
    damaged: tuple[str, ...] = ()

    @property
    def counted(self) -> int:
        """Flights at each level that the statistics count."""
        return len(self.flown[0].success) if self.flown else 0

    @property
    def left(self) -> float:
        """Seconds left [s]; NaN where that is not known."""
        if self.state == "finished":
            return 0.0
        if self.state != "flying":
            return np.nan
        return max(0.0, (self.total - self.finished) / self.rate - self.quiet)


def pace(ended: list[tuple[float, int]]) -> tuple[float, float, float]:
    """Rate and usual wait from the times at which parts were finished.

    Parameters
    ----------
    ended : list of (time [s], flights)
        In any order.

    Returns
    -------
    rate : float [1/s]
        Flights a second since the last long pause: the run may have been stopped in between.
    usual : float [s]
        Median time between two parts.
    last : float [s]
        When the last one was finished.
    """
    if not ended:
        return np.nan, np.nan, np.nan
    recent = sorted(ended)[-RECENT:]
    times = np.array([moment for moment, _ in recent])
    flights = np.array([count for _, count in recent])
    if len(recent) < 3 or times[-1] <= times[0]:
        return np.nan, np.nan, float(times[-1])
    waits = np.diff(times)
    usual = float(np.median(waits))
    pauses = np.flatnonzero(waits > max(SILENT, 10.0 * usual))
    start = int(pauses[-1]) + 1 if pauses.size else 0
    elapsed = float(times[-1] - times[start])
    rate = float(flights[start + 1 :].sum()) / elapsed if elapsed > 0.0 else np.nan
    return rate, usual, float(times[-1])


def level_words(axes: list[tuple[str, tuple[str, ...]]]) -> tuple[str, ...]:
    """Every combination of levels in words, the last axis fastest."""
    found = [""]
    for key, written in axes:
        found = [f"{before}, {key} {w}".removeprefix(", ") for before in found for w in written]
    return tuple(found)
