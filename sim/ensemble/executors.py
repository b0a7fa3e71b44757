"""How pieces of work are spread: a function from work and tasks to results as they come.

Work is a picklable callable that depends on its task alone, and results go back to the caller,
who saves them; so an executor may as well be one for many machines.
"""

from __future__ import annotations

import sys
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from itertools import islice

from sim.ensemble.manifest import Task
from sim.ensemble.protocols import Floats
from sim.errors import RunFailure

Work = Callable[[Task], Floats]
Results = Generator[tuple[Task, Floats], None, None]
Execute = Callable[[Work, Iterable[Task]], Results]


class Lost(RunFailure):
    """Whoever flies is gone; what came back is safe. The message has no full stop at its end."""


_HEARTBEAT = 0.5  # s, so that Ctrl-C is noticed on systems whose waits cannot be interrupted
_SWITCH = 0.0005  # s, see _quick_switching


def in_threads(workers: int) -> Execute:
    """Executor with threads of this process, for work that releases the interpreter lock.

    Parameters
    ----------
    workers : int
        Number of threads. At most twice as many tasks wait, and as many results.

    Returns
    -------
    callable
        `(work, tasks) -> iterator of (task, result)`, in the order of finishing. When it is
        closed or fails, tasks not begun are dropped and those under way left to end by
        themselves, their results unused.
    """

    def execute(work: Work, tasks: Iterable[Task]) -> Results:
        queue = iter(tasks)
        waiting: dict[Future[Floats], Task] = {}
        results: deque[tuple[Task, Future[Floats]]] = deque()
        pool = ThreadPoolExecutor(workers, thread_name_prefix="flights")
        try:
            with _quick_switching():
                while True:
                    # filled up before each result is handed over, so that threads never idle
                    for task in islice(queue, 2 * workers - len(waiting)):
                        waiting[pool.submit(work, task)] = task
                    if results:
                        done = results.popleft()
                        yield done[0], done[1].result()
                    elif waiting:
                        ready, _ = wait(waiting, timeout=_HEARTBEAT, return_when=FIRST_COMPLETED)
                        in_order = [future for future in waiting if future in ready]
                        results.extend((waiting.pop(future), future) for future in in_order)
                    else:
                        return
        finally:
            pool.shutdown(wait=False, cancel_futures=True)

    return execute


@contextmanager
def _quick_switching() -> Iterator[None]:
    """Let a thread that comes out of the kernel have the interpreter sooner than Python's 5 ms.

    Until it has it, its core flies nothing; each piece of work asks for it a dozen times, and
    meanwhile libraries may still be loading beside the flights.
    """
    before = sys.getswitchinterval()
    sys.setswitchinterval(min(before, _SWITCH))
    try:
        yield
    finally:
        sys.setswitchinterval(before)
