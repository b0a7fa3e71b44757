"""An exclusive lock on an open file: gone with the process that held it, however that ended."""

from __future__ import annotations

import errno
import os
import sys
from contextlib import suppress
from pathlib import Path
from types import TracebackType

from sim.errors import RunFailure, UserMistake

_HELD = (errno.EACCES, errno.EAGAIN, errno.EWOULDBLOCK, errno.EDEADLK)


class FileLock:
    """Hold `path` locked while the block runs.

    Parameters
    ----------
    path : Path
        Made if it is not there. Its folder must exist.
    what : str
        What the lock guards, for the message.

    Raises
    ------
    UserMistake
        Another process (or another run in this one) holds it.
    RunFailure
        The folder's file system cannot lock.
    """

    def __init__(self, path: Path, what: str) -> None:
        self._path = path
        self._what = what
        self._handle = -1

    def __enter__(self) -> FileLock:
        """Take the lock."""
        while True:
            self._handle = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)
            try:
                _lock(self._handle)
            except OSError as problem:
                os.close(self._handle)
                if problem.errno in _HELD:
                    raise UserMistake(
                        f"another run is writing {self._what}; wait for it to end, "
                        "or give this one another output"
                    ) from None
                raise RunFailure(
                    f"cannot lock files in {self._path.parent} ({problem.strerror}); "
                    "write to a folder on a local disk"
                ) from problem
            if self._still_there():
                return self
            os.close(self._handle)  # the run that held it tidied it away: take the new one

    def _still_there(self) -> bool:
        try:
            return os.path.samestat(os.fstat(self._handle), self._path.stat())
        except FileNotFoundError:
            return False

    def remove(self) -> None:
        """Take the file away, as the last thing before the block ends."""
        if sys.platform == "win32":  # where an open file cannot be removed
            os.close(self._handle)
            self._handle = -1
        with suppress(OSError):
            self._path.unlink()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Let the lock go."""
        if self._handle >= 0:
            os.close(self._handle)


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
