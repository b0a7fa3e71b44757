"""Flying on a Dask cluster: pieces of work go out, results come back to be saved here.

No file is shared: a worker needs this program, installed, and its connection. Each piece is
compared with this program before it is flown, so that a worker that joins late is held to it too.
"""

from __future__ import annotations

import logging
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from importlib import import_module
from multiprocessing import resource_tracker
from typing import Any
from uuid import uuid4

from sim.ensemble.executors import Execute, Lost, Results, Work
from sim.ensemble.manifest import Task
from sim.ensemble.program import Program, this_program
from sim.ensemble.protocols import Floats
from sim.errors import RunFailure, UserMistake

LOCAL = "local"
"""In place of an address: start a cluster on this machine."""

PATIENCE = 60.0  # s without a worker or a scheduler, after which a run gives up
_HEARTBEAT = 0.2  # s, so that a lost connection and Ctrl-C are noticed
_CLOSING = 0.5  # s, for saying goodbye
_LOOK_EVERY = 1.0  # s, between counts of the workers
_AHEAD = 2  # pieces for each thread of the cluster, so that none idles


class OtherProgram(Exception):
    """A worker computes with something else than the process that asks it."""


@dataclass(frozen=True)
class Piece:
    """What a worker is given: the work, and the program it must be flown by."""

    work: Work
    wanted: Program

    def __call__(self, task: Task) -> Floats:
        """Fly one task, or raise `OtherProgram`."""
        mine = this_program()
        found = self.wanted.differences(mine)
        if found:
            raise OtherProgram(f"{mine.machine}: {'; '.join(found)}")
        return self.work(task)


def on_cluster(
    address: str,
    *,
    workers: int | None = None,
    tell: Callable[[str], None] | None = None,
    patience: float = PATIENCE,
) -> Execute:
    """Executor with the workers of a Dask cluster.

    A piece whose worker dies is flown by another one; when the scheduler is restarted, the pieces
    that it had are given out again.

    Parameters
    ----------
    address : str
        Of the scheduler, as `tcp://host:8786`; "local" starts a cluster on this machine.
    workers : int, optional
        Processes of a local cluster; as many as there are processors.
    tell : callable, optional
        Told in a sentence what happens.
    patience : float [s]
        Without any worker, or without the scheduler, before giving up.

    Returns
    -------
    callable
        As `sim.ensemble.executors.in_threads` gives. It raises `UserMistake` for an address where
        no scheduler answers and for workers with another program, `Lost` when the cluster is gone.

    Raises
    ------
    UserMistake
        Dask is not installed, or a number of workers is given for a cluster that has its own.
    """
    _library()
    if address != LOCAL and workers is not None:
        raise UserMistake(
            "--workers is for this machine; a cluster has as many workers as were started there"
        )

    def execute(work: Work, tasks: Iterable[Task]) -> Results:
        say = tell or (lambda _text: None)
        with _quiet(), _connected(address, workers, patience) as client:
            _wait_for_worker(client, patience, say)
            _check_workers(client)
            yield from _Cluster(client, work, patience, say).results(tasks)

    return execute


class _Cluster:
    """The pieces that are out."""

    def __init__(
        self, client: Any, work: Work, patience: float, say: Callable[[str], None]
    ) -> None:
        self._client = client
        self._work = work
        self._wanted = this_program()
        self._patience = patience
        self._say = say
        self._out: dict[Task, Any] = {}
        self._again: list[Task] = []
        self._bell = threading.Event()
        self._name = f"setdown-{uuid4().hex[:12]}"
        self._sent = 0
        self._given_out = False  # all tasks, at least once
        self._room = 0
        self._seen = time.monotonic()
        self._next_look = 0.0

    def results(self, tasks: Iterable[Task]) -> Results:
        queue = iter(tasks)
        try:
            while True:
                self._look_after()
                self._fill(queue)
                if self._given_out and not self._out and not self._again:
                    return
                self._bell.wait(_HEARTBEAT)
                self._bell.clear()
                for task in [t for t, future in self._out.items() if future.status != "pending"]:
                    block = self._taken(task, self._out.pop(task))
                    if block is None:
                        self._again.append(task)
                    else:
                        yield task, block
        finally:
            if self._out and self._client.status == "running":
                with suppress(Exception):
                    self._client.cancel(list(self._out.values()), force=True)
            self._out.clear()

    def _look_after(self) -> None:
        """Count the workers now and then, and give up if there is none for long."""
        now = time.monotonic()
        if now < self._next_look and self._client.status == "running":
            return
        self._next_look = now + _LOOK_EVERY
        threads = _threads(self._client)
        if threads:
            self._seen, self._room = now, threads
        elif self._client.status == "closed" or now - self._seen > self._patience:
            raise Lost(
                f"the cluster is gone: no scheduler with a worker for {now - self._seen:.0f} s"
            )
        elif self._room:
            self._room = 0
            self._say("the cluster has no workers any more, or its scheduler is gone; waiting")

    def _fill(self, queue: Iterator[Task]) -> None:
        if self._client.status != "running":
            return
        while len(self._out) < _AHEAD * self._room:
            task = self._again.pop() if self._again else next(queue, None)
            if task is None:
                self._given_out = True
                return
            self._sent += 1
            alone = getattr(self._work, "alone", None)  # need not carry all levels of a sweep
            piece = Piece(self._work if alone is None else alone(task), self._wanted)
            try:
                future = self._client.submit(
                    piece, task, key=f"{self._name}-{self._sent}", pure=False
                )
            except Exception:  # the connection went in this moment
                self._again.append(task)
                return
            future.add_done_callback(lambda _future: self._bell.set())
            self._out[task] = future

    def _taken(self, task: Task, future: Any) -> Floats | None:
        """Result of a finished piece; None if it went with the scheduler."""
        from concurrent.futures import CancelledError

        if future.status == "error":
            problem = future.exception()
            if isinstance(problem, (UserMistake, RunFailure)):
                raise problem
            if isinstance(problem, _library().KilledWorker):
                raise Lost(f"piece {task} was given to several workers, and each of them died")
            raise _refusal([str(problem)], problem)
        try:
            block: Floats = future.result()
        except (CancelledError, OSError, TimeoutError):
            return None
        return block


def _library() -> Any:
    try:
        return import_module("distributed")
    except ImportError as problem:
        raise UserMistake(
            "--cluster needs Dask, which is not installed here; give: "
            "pip install 'setdown[cluster]'"
        ) from problem


def _threads(client: Any) -> int:
    """Threads of all workers, 0 if the scheduler does not say."""
    if client.status != "running":
        return 0
    with suppress(Exception):
        return sum(client.nthreads().values())
    return 0


def _wait_for_worker(client: Any, patience: float, say: Callable[[str], None]) -> None:
    begun = time.monotonic()
    said = False
    while not _threads(client):
        if time.monotonic() - begun > patience:
            raise UserMistake(
                f"the cluster has no workers; start some: dask worker {client.scheduler.address}"
            )
        if not said:
            say("the cluster has no workers yet; waiting for the first")
            said = True
        time.sleep(_HEARTBEAT)


def _check_workers(client: Any) -> None:
    """Refuse workers that could give other flights, all at once and before any is flown."""
    mine = this_program()
    wrong = []
    for address, found in client.run(this_program, on_error="return").items():
        if isinstance(found, BaseException):
            wrong.append(f"{address}: {type(found).__name__}: {found}")
        elif mine.differences(found):
            wrong.append(f"{address}: {'; '.join(mine.differences(found))}")
    if wrong:
        raise _refusal(wrong)


def _refusal(wrong: list[str], problem: BaseException | None = None) -> Exception:
    if problem is None or isinstance(problem, (OtherProgram, ImportError, AttributeError)):
        more = f"; and {len(wrong) - 3} more" if len(wrong) > 3 else ""
        return UserMistake(
            "workers of the cluster have another program than this machine, and could fly other "
            f"flights: {'. '.join(wrong[:3])}{more}. Install the same setdown with the same "
            "libraries on all machines and start the workers anew"
        )
    return RunFailure(f"a worker of the cluster failed: {type(problem).__name__}: {problem}")


# -- connection ------------------------------------------------------------------------------------


@contextmanager
def _connected(address: str, workers: int | None, patience: float) -> Iterator[Any]:
    distributed = _library()
    if address == LOCAL:
        with _local_cluster(workers) as cluster, _closing(distributed.Client(cluster)) as client:
            yield client
        return
    try:
        client = distributed.Client(address, timeout=min(patience, 20.0), set_as_default=False)
    except (OSError, ValueError, TypeError) as problem:
        raise UserMistake(
            f"no Dask scheduler answers at {address} ({_first_line(problem)}); give the address "
            'that "dask scheduler" prints, as tcp://host:8786, or --cluster local'
        ) from problem
    with _closing(client):
        yield client


@contextmanager
def _closing(client: Any) -> Iterator[Any]:
    try:
        yield client
    finally:
        with suppress(Exception):
            client.close(timeout=_CLOSING)


@contextmanager
def _local_cluster(workers: int | None) -> Iterator[Any]:
    import os

    # The library starts new processes, not forked ones: this one has threads and compiled code.
    with _ctrl_c_is_for_this_process():
        cluster = _library().LocalCluster(
            n_workers=workers or os.cpu_count() or 1, threads_per_worker=1, processes=True,
            host="127.0.0.1", dashboard_address=None, memory_limit=0, silence_logs=logging.CRITICAL,
        )  # fmt: skip
    try:
        yield cluster
    finally:
        with suppress(Exception):
            cluster.close(timeout=_CLOSING)


@contextmanager
def _ctrl_c_is_for_this_process() -> Iterator[None]:
    """Let processes started here, and by threads started here, never see Ctrl-C.

    A terminal sends it to all of them; this process ends the others in good order. It waits here
    until the block is over.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    _start_tracker()  # before, since it lets the signal through again when it is started
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _start_tracker() -> None:
    """Start the process that tidies up after others, and let it do so without remarks."""
    sys.warnoptions.append("ignore::UserWarning:multiprocessing.resource_tracker")
    try:
        resource_tracker.ensure_running()
    finally:
        sys.warnoptions.pop()


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the library's own account of lost connections away from the person's screen."""
    logger = logging.getLogger("distributed")
    before = logger.level
    logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        logger.setLevel(before)


def _first_line(problem: BaseException) -> str:
    return (str(problem).splitlines() or [type(problem).__name__])[0]
