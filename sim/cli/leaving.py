"""Ending the process once all is said and written.

Python would first take its modules and their objects apart one by one. With the libraries that a
verb has loaded that takes a quarter of a second, and changes nothing: the system takes the memory
back at once.
"""

from __future__ import annotations

import atexit
import os
import sys

_status: int | None = None


def leave_early() -> None:
    """Let `leave_with` end the process without taking it apart; for the command itself.

    Not for a caller that has work of its own afterwards. What is registered to be done at the end
    (`atexit`) is done if it is registered after this: call it before a verb is imported.
    """
    atexit.register(_at_the_end)


def leave_with(status: int) -> None:
    """Leave with an exit status.

    Raises
    ------
    SystemExit
        Always; threads are waited for, and all that was registered for the end is done.
    """
    global _status
    _status = status
    sys.exit(status)


def leave_at_once(status: int) -> None:
    """Leave without waiting for anything but what was printed."""
    flush()
    os._exit(status)


def flush() -> bool:
    """Pass on all that was printed; false if that failed."""
    passed = True
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):
            passed = False
    return passed


def _at_the_end() -> None:
    # a status that is not ours, or print that does not go out, is for Python to deal with
    if _status is not None and flush():
        os._exit(_status)
