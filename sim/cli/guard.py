"""What happens when something goes wrong: one place for messages and exit statuses.

0 done, 1 a failure that is not the user's, 2 a mistake the user can mend, 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import errno
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Any

import click

from sim.cli.leaving import leave_at_once, leave_with
from sim.errors import RunFailure, UserMistake

FAILED, MISTAKEN, STOPPED = 1, 2, 130
_OURS = ("flights", "loading ahead")  # names of the threads that may be left behind
_NO_ROOM = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))
_NOT_ALLOWED = (errno.EACCES, errno.EPERM, errno.EROFS)


def guarded(run: Callable[[], Any]) -> None:
    """Run a command and leave with its exit status; errors become one paragraph each.

    Raises
    ------
    SystemExit
        Always.
    """
    with _two_stops():
        status = _status(run)
        if status == STOPPED and _work_goes_on():
            leave_at_once(status)
        leave_with(status)


def _work_goes_on() -> bool:
    """Whether threads fly what nobody will save, for which the interpreter would wait."""
    return any(one.name.startswith(_OURS) for one in threading.enumerate())


def _status(run: Callable[[], Any]) -> int:
    try:
        left = run()
        sys.stdout.flush()
    except BrokenPipeError:
        return _quiet_pipe()
    except click.exceptions.Exit as asked:
        return asked.exit_code
    except click.ClickException as problem:
        problem.show()
        return MISTAKEN
    except UserMistake as mistake:
        return _say(str(mistake), MISTAKEN)
    except RunFailure as failure:
        return _say(str(failure), STOPPED if _was_stopped(failure) else FAILED)
    except (KeyboardInterrupt, click.exceptions.Abort):
        return _say("Stopped.", STOPPED)
    except OSError as problem:
        return _say(_about_files(problem), FAILED) if _is_plain(problem) else _unexpected(problem)
    except Exception as problem:
        return _unexpected(problem)
    return left if isinstance(left, int) else 0  # a verb may say that a flight failed


def _was_stopped(failure: BaseException) -> bool:
    return isinstance(failure.__cause__, KeyboardInterrupt)


def _say(text: str, status: int) -> int:
    click.echo(text, err=True)
    return status


def _quiet_pipe() -> int:
    """Whoever read our output has gone: no message, and none from Python at exit either."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return FAILED


def _is_plain(problem: OSError) -> bool:
    """Whether an operating system error explains itself: a full disk, a file, a permission."""
    return problem.errno in _NO_ROOM or problem.filename is not None


def _about_files(problem: OSError) -> str:
    where = f" {problem.filename}" if problem.filename else ""
    if problem.errno in _NO_ROOM:
        return (
            f"The disk is full: the file{where} could not be written. Make room, then give the "
            "same command again; what was finished before is kept."
        )
    reason = problem.strerror or str(problem)
    if problem.errno in _NOT_ALLOWED:
        return (
            f"The file{where} may not be read or written ({reason}). Change its permissions, or "
            "give another place with -o."
        )
    return f"The file{where} could not be used: {reason}. Mend that and give the command again."


def _unexpected(problem: BaseException) -> int:
    """Apologise, and keep the details in a file that can be sent in."""
    written = _write_details(problem)
    kept = f"The details are in {written}; please" if written else "Please"
    return _say(
        f"setdown failed in a way that it should not ({type(problem).__name__}: {problem}). This "
        f"is a fault of the program, not yours. {kept} report it together with the scenario.",
        FAILED,
    )


def _write_details(problem: BaseException) -> str | None:
    import platform
    import tempfile
    import traceback

    lines = [
        "command: " + " ".join(sys.argv),
        f"python: {platform.python_version()} on {platform.platform()}",
        "",
        *traceback.format_exception(problem),
    ]
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="setdown-details-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            file.write("\n".join(lines))
    except OSError:
        return None
    return file.name


@contextmanager
def _two_stops() -> Iterator[None]:
    """Let the first Ctrl-C stop in good order and the second at once."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.getsignal(signal.SIGINT)

    def first(_number: int, _frame: FrameType | None) -> None:
        signal.signal(signal.SIGINT, second)
        click.echo("\nStopping: what is finished is kept. Ctrl-C again: at once.", err=True)
        raise KeyboardInterrupt

    def second(_number: int, _frame: FrameType | None) -> None:
        os._exit(STOPPED)

    signal.signal(signal.SIGINT, first)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
