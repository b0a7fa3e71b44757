"""How far a run is: a bar on a terminal, a line now and then elsewhere; both on standard error."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sim.cli.screen import Screen

COMPILING = "Compiling the flight kernel: the first run only, about half a minute ..."
LINE_EVERY = 10.0  # s, between lines where there is no terminal


class Pace:
    """Time left, from the flights since the first that were reported finished.

    The first report of a run comes before any flight, and the first finished chunk holds the
    compiler's time; neither says how fast flights are.
    """

    def __init__(self) -> None:
        self._start: tuple[int, float] | None = None

    def left(self, done: int, total: int, now: float) -> str:
        """Time left in words; empty while it is not known."""
        if done <= 0:
            return ""
        if self._start is None or done < self._start[0]:
            self._start = (done, now)
        flown, elapsed = done - self._start[0], now - self._start[1]
        if done >= total or flown <= 0 or elapsed <= 0.0:
            return ""
        from sim.report.display import duration

        return f"{duration((total - done) * elapsed / flown)} left"


@contextmanager
def progress(screen: Screen, label: str) -> Iterator[Callable[[int, int], None]]:
    """Show how far a run is; yields what `disperse` and `sweep` call.

    Parameters
    ----------
    screen : Screen
    label : str
        Before the bar.
    """
    say_if_cold(screen)
    screen.tell(f"{label} ...")
    if screen.manner.quiet:
        yield lambda _done, _total: None
    elif screen.notes.is_terminal:
        with _bar(screen, label) as report:
            yield report
    else:
        yield _lines(screen, label)
    screen.tell(f"{label}: flown")


def say_if_cold(screen: Screen, width: int | None = None) -> None:
    """Say that the kernel will be compiled, if it will."""
    from sim.ensemble.fly_runs import WIDTH
    from sim.lanes.cache import cache_is_warm
    from sim.lanes.compiler import is_off

    if not is_off() and not cache_is_warm("fly", width or WIDTH):
        screen.note(COMPILING)


@contextmanager
def _bar(screen: Screen, label: str) -> Iterator[Callable[[int, int], None]]:
    from rich.progress import BarColumn, Progress, TextColumn

    pace = Pace()
    columns = (
        TextColumn("{task.description}"),
        BarColumn(bar_width=None),
        TextColumn("{task.completed:,.0f} of {task.total:,.0f}"),
        TextColumn("{task.fields[left]}"),
    )
    with Progress(*columns, console=screen.notes, transient=True) as bar:
        task = bar.add_task(label, total=1, left="")

        def report(done: int, total: int) -> None:
            left = pace.left(done, total, time.monotonic())
            bar.update(task, completed=done, total=total, left=left)

        yield report


def _lines(screen: Screen, label: str) -> Callable[[int, int], None]:
    pace, begun = Pace(), time.monotonic()
    last = begun

    def report(done: int, total: int) -> None:
        nonlocal last
        now = time.monotonic()
        left = pace.left(done, total, now)
        if now - last >= LINE_EVERY or (done >= total and now - begun >= LINE_EVERY):
            last = now
            tail = f", {left}" if left else ""
            screen.note(f"{label}: {done:,} of {total:,} flights{tail}")

    return report
