"""The first flight on a machine: flown in plain Python while the kernel is being compiled.

Compiling takes half a minute, one flight in plain Python some five seconds, with the same bits. So
two more Pythons are started: one compiles, stores the kernel and flies with it, the other flies in
plain Python. The one that is done first gives the answer; a long flight may be quicker compiled.

This file is loaded by all three processes and imports nothing slow.
"""

from __future__ import annotations

import os
import pickle
import queue
import subprocess
import sys
import threading
from contextlib import suppress
from types import TracebackType
from typing import TYPE_CHECKING, Any

from sim.errors import RunFailure, UserMistake

if TYPE_CHECKING:
    from sim.ensemble.fly_one import Flight
    from sim.scenario import Scenario

LOOK_EVERY = 0.2  # s, so that Ctrl-C is noticed while there is nothing to read


def pays(width: int) -> bool:
    """Whether there is a kernel to compile and a processor each for the two ways."""
    from sim.lanes import cache
    from sim.lanes.compiler import is_off

    return processors() > 1 and bool(sys.executable) and not is_off() and not (
        cache.cache_is_warm("fly", width)
    )  # fmt: skip


def processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class FirstFlight:
    """One flight, flown in two ways at once; used with `with`, which ends what still runs.

    Parameters
    ----------
    scenario : Scenario
    run : int or None
    seed : int
    width : int
        As for `sim.ensemble.fly_one.fly_arrays`; of the kernel that is compiled.
    """

    def __init__(self, scenario: Scenario, *, run: int | None, seed: int, width: int) -> None:
        self._done: queue.Queue[tuple[bool, Any]] = queue.Queue()
        self._running: dict[bool, subprocess.Popen[bytes]] = {}
        for plain in (True, False):
            order = pickle.dumps((scenario, run, seed, 1 if plain else width), -1)
            with suppress(OSError):  # no process to be had
                self._running[plain] = _start(plain)
                told = plain, self._running[plain], order
                threading.Thread(target=self._hear, args=told, daemon=True).start()

    def __enter__(self) -> FirstFlight:
        """Return itself."""
        return self

    def flight(self) -> Flight | None:
        """Return what was there first; None if neither way led anywhere.

        Raises
        ------
        UserMistake, RunFailure
            As `sim.ensemble.fly_one.fly_arrays`.
        """
        while self._running:
            found = self._next()
            if isinstance(found, UserMistake | RunFailure):
                raise found
            if found is not None:
                return found  # type: ignore[no-any-return]
        return None

    def still_compiles(self) -> bool:
        """Whether the kernel is not there yet, though it could be kept."""
        from sim.lanes import cache

        return False in self._running and cache.can_be_written()

    def wait_for_kernel(self) -> None:
        """Return when the kernel is stored, or at Ctrl-C: the next run then compiles it."""
        with suppress(KeyboardInterrupt):
            while False in self._running:
                self._next()

    def _next(self) -> Any:
        """Wait for the end of one way; return its flight, its error, or None."""
        while True:
            with suppress(queue.Empty):
                plain, found = self._done.get(timeout=LOOK_EVERY)
                self._running.pop(plain).wait()
                return found

    def _hear(self, plain: bool, process: subprocess.Popen[bytes], order: bytes) -> None:
        found = None
        with suppress(OSError, ValueError, EOFError, pickle.UnpicklingError):
            found = pickle.loads(process.communicate(order)[0])
        self._done.put((plain, found))

    def __exit__(
        self, kind: type[BaseException] | None, found: BaseException | None,
        where: TracebackType | None,
    ) -> None:  # fmt: skip
        """End what still runs."""
        for process in self._running.values():
            process.kill()
            process.wait()


def _start(plain: bool) -> subprocess.Popen[bytes]:
    """Start a Python that waits for an order; the one that compiles gives way to the other."""
    below = 0 if plain else getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0)
    return subprocess.Popen(
        [sys.executable, "-c", program(plain)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, creationflags=below,
        env=os.environ | ({"NUMBA_DISABLE_JIT": "1"} if plain else {}),
    )  # fmt: skip


def program(plain: bool) -> str:
    """Return what the other Pythons run: with the same path, so the same setdown."""
    give_way = "" if plain or not hasattr(os, "nice") else "import os; os.nice(10)\n"
    return (
        f"{give_way}import sys; sys.path[:] = {sys.path!r}\n"
        "from sim.ensemble.first_flight import fly_as_told; fly_as_told()"
    )


def fly_as_told() -> None:
    """Read an order from standard input, fly, and write what came of it to standard output."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process decides about Ctrl-C
    from sim.ensemble.fly_one import fly_arrays

    scenario, run, seed, width = pickle.load(sys.stdin.buffer)
    found: Any
    try:
        found = fly_arrays(scenario, run=run, seed=seed, width=width)
    except (UserMistake, RunFailure) as problem:
        found = problem
    sys.stdout.buffer.write(pickle.dumps(found, -1))
