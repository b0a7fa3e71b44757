"""`setdown watch`: how the figures of a run settle while it works elsewhere."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sim.cli import options
from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.cli.screen import Screen
    from sim.report.settling_view import View, Watcher

SHARE = click.FloatRange(0.0, 1.0, min_open=True, max_open=True)
EVERY_SCREEN, EVERY_LINE = 2.0, 10.0  # s
_REST = 30.0  # times as long as a look took: the run shall not feel it


@click.command(
    "watch",
    epilog=options.examples(
        "setdown watch results/heron.nc",
        "setdown watch results/heron.nc --success 0.8 >> night.log",
        "setdown watch results/heron.nc --once --picture settling.png",
    ),
)
@click.argument("running", metavar="RUNNING.nc", type=options.file_name)
@click.option("--once", is_flag=True, help="Show how it stands now, and leave.")
@click.option(
    "--every", type=click.FloatRange(0.2), metavar="SECONDS",
    help="Time between looks; 2 on a terminal, 10 in a file or a pipe.",
)  # fmt: skip
@click.option(
    "--within", type=SHARE, metavar="W",
    help='"May I stop?": success known to +/- W and the others to +/- W of themselves; 0.05 '
         "if --success is not given either.",
)  # fmt: skip
@click.option(
    "--success", type=SHARE, metavar="P",
    help='"May I stop?": whether at least P of all flights succeed is decided.',
)  # fmt: skip
@options.confidence
@click.option(
    "--picture", metavar="FILE.png", help="Draw how it settles, at each leaving; not while it runs."
)
@options.as_json
def verb(
    running: str, once: bool, every: float | None, within: float | None, success: float | None,
    confidence: float, picture: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Show how success and landing box of a run settle, and the time left.

    RUNNING.nc is the output of a disperse or sweep that works in another terminal, was stopped, or
    is finished. Only reading: Ctrl-C leaves the run alone. In a file or a pipe, a line each time
    that something has changed. With --json, one object as it stands now.
    """
    from sim.analysis.stopping import Aim
    from sim.cli.screen import Screen
    from sim.report.settling_view import Watcher

    screen = Screen(as_json=as_json)
    drawn = Path(picture) if picture else None
    if drawn is not None:
        _check_picture(drawn)
    aim = Aim(0.05 if within is None and success is None else within, success)
    watcher = Watcher(Path(running), confidence, aim)
    if once or as_json:
        _once(screen, watcher, drawn)
        return
    with _leaving(screen):
        view = _watch(screen, watcher, every)
    _draw(screen, view, drawn)


def _check_picture(path: Path) -> None:
    if path.suffix.lower() != ".png":
        raise UserMistake(f"--picture {path}: only PNG is drawn; give a name that ends in .png")
    options.check_output(path)


def _once(screen: Screen, watcher: Watcher, picture: Path | None) -> None:
    from sim.report import settling_answer

    view = watcher.look()
    if not view.now and view.state.state == "begun":
        raise UserMistake(
            f"the run for {view.target} has begun, but no part of it is finished yet; wait for the "
            "first (its kernel may be compiling), or leave out --once and --json"
        )
    if screen.as_json:
        _draw(screen, view, picture)
        screen.put_json(settling_answer.as_object(view, str(picture) if picture else None))
        return
    screen.say(*settling_answer.parts(view))
    _draw(screen, view, picture)


def _watch(screen: Screen, watcher: Watcher, every: float | None) -> View:
    """Look until the run is finished; returns the last look."""
    if screen.answers.is_terminal:
        with _redrawn(screen) as show:
            return _looking(watcher, every or EVERY_SCREEN, show)
    return _looking(watcher, every or EVERY_LINE, _lines(screen))


def _looking(watcher: Watcher, every: float, show: Callable[[View], None]) -> View:
    while True:
        begun = time.monotonic()
        view = watcher.look()
        show(view)
        if view.state.state == "finished":
            return view
        time.sleep(max(every, _REST * (time.monotonic() - begun)))


@contextmanager
def _redrawn(screen: Screen) -> Iterator[Callable[[View], None]]:
    """Draw in place over what was drawn before; the last stays."""
    from rich.console import Group
    from rich.live import Live

    from sim.report import settling_answer

    with Live(console=screen.answers, auto_refresh=False) as live:

        def show(view: View) -> None:
            body: list[Any] = list(settling_answer.parts(view))
            if view.state.state != "finished":
                body += ["", "Ctrl-C leaves; the run goes on."]
            live.update(Group(*body), refresh=True)

        yield show


def _lines(screen: Screen) -> Callable[[View], None]:
    """Print a line whenever there is something new to say."""
    from sim.report.settling_words import line, rule_words, stop_sentence, warnings

    before: list[Any] = []

    def show(view: View) -> None:
        state = view.state
        if not before and view.now:
            screen.log(f"# in brackets: bounds if you keep looking. {rule_words(view.confidence)}")
        key = (state.state, state.finished, state.counted, tuple(warnings(view)))
        if before and before[-1] == key:
            return
        before[:] = [key]
        screen.log(line(view))
        if state.state == "finished":
            screen.log(stop_sentence(view))

    return show


def _draw(screen: Screen, view: View, path: Path | None) -> None:
    if path is None or not view.now:
        return
    import numpy as np

    from sim.report.settling_picture import MOST, draw_settling
    from sim.report.settling_view import dataset_of

    count = len(view.now)
    chosen = sorted({round(float(x)) for x in np.linspace(0, count - 1, min(count, MOST))})
    draw_settling(path, [dataset_of(view, level) for level in chosen])
    left_out = f" ({len(chosen)} of {count} levels)" if len(chosen) < count else ""
    screen.say("", f"Written: {path}{left_out}")


@contextmanager
def _leaving(screen: Screen) -> Iterator[None]:
    """Let Ctrl-C leave with a word: nothing is being stopped here."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def leave(_number: int, _frame: Any) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, leave)
    try:
        yield
    except KeyboardInterrupt:
        screen.note("Left; the run is not touched.")
        raise click.exceptions.Exit(130) from None
    finally:
        signal.signal(signal.SIGINT, before)
