"""What the picture of a flight is drawn from, as plain data, and a second process to draw it in.

Loading matplotlib and drawing takes about as long as loading the kernel and flying. So `setdown
fly` starts a second Python at once, which loads matplotlib meanwhile and is then told what to draw.
Whatever keeps that process from drawing, the picture is drawn in this one instead, where what is
wrong is also said.

This file is loaded by both processes and imports nothing slow.
"""

from __future__ import annotations

import math
import os
import pickle
import subprocess
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.report.flight_body import Body, body_of

if TYPE_CHECKING:
    from sim.ensemble.fly_one import Event, Flight
    from sim.scenario import Scenario

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Pad:
    """The landing pad: its middle from the launch point, its height and its radius [m]."""

    east: float
    north: float
    height: float
    radius: float


@dataclass(frozen=True)
class Sheet:
    """All that the picture of one flight shows.

    Attributes
    ----------
    title : str
    seed : int
    pad : Pad or None
    times : dict of str to float [s]
        Of the events that came, by the names of `sim.ensemble.fly_one.EVENTS`, in order.
    line : dict of str to ndarray (samples,)
        The trace, by the names of the registry.
    body : Body or None
        What the vehicle looks like, if that is known.
    """

    title: str
    seed: int
    pad: Pad | None
    times: dict[str, float]
    line: dict[str, Floats]
    body: Body | None = None

    @property
    def ground(self) -> float:
        """Height of the landing pad above the launch point's ground [m]."""
        return self.pad.height if self.pad else 0.0

    def along(self, east: Any, north: Any) -> Any:
        """Part of a place or direction towards the landing pad; towards east if none is apart."""
        distance = math.hypot(self.pad.east, self.pad.north) if self.pad else 0.0
        if self.pad is None or distance <= 1e-6:
            return east
        return (east * self.pad.east + north * self.pad.north) / distance


def make_sheet(scenario: Scenario, flight: Flight, events: Sequence[Event]) -> Sheet:
    """Gather what is drawn of a flight.

    Parameters
    ----------
    scenario : Scenario
    flight : Flight
        From `sim.ensemble.fly_one.fly_arrays`.
    events : sequence of Event

    Returns
    -------
    Sheet
    """
    from sim.report.display import words
    from sim.report.flight_tables import outcome_name

    pad = None
    if scenario.has("landing_pad"):
        keys = ("east", "north", "height", "radius")
        pad = Pad(*(float(scenario.numbers[f"landing_pad.{key}"].value) for key in keys))
    return Sheet(
        title=f"{flight.about['title']}: {words(outcome_name(flight))}",
        seed=flight.about["seed"],
        pad=pad,
        times={event.name: event.time for event in events},
        line=flight.trace,
        body=body_of(scenario),
    )


class Artist:
    """A second process that gets ready to draw one flight; used with `with`."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        if (os.cpu_count() or 1) > 1 and sys.executable:
            with suppress(OSError):  # no process to be had: it is drawn here
                self._process = subprocess.Popen(
                    [sys.executable, "-c", _program()], stdin=subprocess.PIPE,
                    stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                )  # fmt: skip

    def __enter__(self) -> Artist:
        """Return itself."""
        return self

    def draw(self, path: Path, sheet: Sheet) -> None:
        """Have the flight drawn, and wait for it.

        Parameters
        ----------
        path : Path
            PNG to write.
        sheet : Sheet

        Raises
        ------
        RunFailure
            The file cannot be written.
        """
        process, self._process = self._process, None
        if process is not None:
            process.communicate(pickle.dumps((path, sheet), pickle.HIGHEST_PROTOCOL))
            if process.returncode == 0:
                return
        from sim.report.flight_picture import draw_sheet

        draw_sheet(path, sheet)

    def __exit__(
        self, kind: type[BaseException] | None, found: BaseException | None,
        where: TracebackType | None,
    ) -> None:  # fmt: skip
        """End a process that was not needed; one that draws is waited for by `draw`."""
        if self._process is not None:
            self._process.kill()
            self._process.communicate()


def _program() -> str:
    """Return what the second Python runs: with the same path, so the same setdown."""
    return (
        f"import sys; sys.path[:] = {sys.path!r}\n"
        "from sim.report.flight_sheet import draw_as_told; draw_as_told()"
    )


def draw_as_told() -> None:
    """Load matplotlib, read an order from standard input, draw it: the second process."""
    import gc
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process decides about Ctrl-C
    gc.disable()  # a short life
    from sim.report.flight_picture import draw_sheet

    draw_sheet(*pickle.load(sys.stdin.buffer))
    os._exit(0)  # matplotlib is not taken apart while somebody waits; nothing is left to write
