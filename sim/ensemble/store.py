"""Finished chunks of a running ensemble, each safe on disk for good.

Beside the target `heron.nc` stands a private folder `.heron.nc.parts`:

    manifest.json                  what is being flown
    lock                           held by the run that writes here
    000012-0000.5f3a9c01.npy       chunk 12, level 0, CRC-32 of the file: (columns, runs) float64

A shard is written under a temporary name, flushed to the disk, renamed, and the folder flushed, so
that a file with a shard's name is whole. Its name carries its checksum, so that no list can fall
out of step with what is there. The folder goes when the target has been written and renamed.
"""

from __future__ import annotations

import errno
import io
import os
import re
import shutil
import sys
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import numpy as np

from sim.ensemble.lock import FileLock
from sim.ensemble.manifest import Manifest, Task, differences, gone_on, other_version
from sim.ensemble.protocols import Floats
from sim.errors import RunFailure, UserMistake

_SHARD = re.compile(r"(\d{6,})-(\d{4,})\.([0-9a-f]{8})\.npy")
_MANIFEST = "manifest.json"
_LOCK = "lock"
_UNFINISHED = ".tmp"
_NO_ROOM = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))
_ROOM = 2**18  # bytes; more than one compressed block of a variable

Tell = Callable[[str], None]


class Interrupted(RunFailure):
    """The person at the keyboard stopped the run; what was finished is kept."""


def parts_folder(target: Path) -> Path:
    """Where the finished chunks of an ensemble lie until it is whole."""
    return target.with_name(f".{target.name}.parts")


def holds_chunks(target: Path) -> bool:
    """Whether a run for this target has begun and finished some chunk, and has not tidied up."""
    folder = parts_folder(target)
    try:
        return (folder / _MANIFEST).exists() and any(True for _ in _shards(folder))
    except OSError:  # it goes in this moment
        return False


class Parts:
    """The finished chunks of one ensemble.

    Parameters
    ----------
    target : Path
        The file that the ensemble will become.
    manifest : Manifest
        What is being flown.
    durable : bool
        Flush every file to the disk; without it a power cut may lose finished chunks.
    """

    def __init__(self, target: Path, manifest: Manifest, *, durable: bool = True) -> None:
        self.target = target
        self.folder = parts_folder(target)
        self.manifest = manifest
        self.finished: dict[Task, Path] = {}
        self._durable = durable

    @property
    def flown(self) -> int:
        """Flights finished, over all levels."""
        return sum(last - first for first, last in map(self.manifest.span, self._chunks()))

    def _chunks(self) -> Iterator[int]:
        return (chunk for chunk, _ in self.finished)

    def look(self) -> list[tuple[Task, Path]]:
        """List the finished chunks without touching anything; returns the damaged ones."""
        self.finished = {}
        damaged = []
        for task, path in _shards(self.folder):
            if self._load(task, path) is not None:
                self.finished[task] = path
            else:
                damaged.append((task, path))
        return damaged

    def count_again(self) -> None:
        """List the finished chunks by their names: an interrupt may have struck while saving."""
        with suppress(OSError):
            self.finished = dict(_shards(self.folder))

    def find(self, tell: Tell | None = None) -> None:
        """List the finished chunks, taking away those that are damaged and saying so."""
        for task, path in self.look():
            path.unlink(missing_ok=True)
            if task in self.finished:
                continue
            first, last = self.manifest.span(task[0])
            if tell is not None:
                tell(f"{path.name} is damaged (checksum): runs {first} to {last - 1} fly again")

    def save(self, task: Task, block: Floats) -> None:
        """Put one finished chunk on disk for good.

        Parameters
        ----------
        task : (chunk, level)
            Which.
        block : ndarray (columns, runs)
            In the order of `manifest.columns`.

        Raises
        ------
        RunFailure
            The disk is full, or the folder cannot be written any more.
        """
        buffer = io.BytesIO()
        np.lib.format.write_array(buffer, np.ascontiguousarray(block), allow_pickle=False)
        data = buffer.getvalue()
        path = self.folder / f"{task[0]:06d}-{task[1]:04d}.{zlib.crc32(data):08x}.npy"
        try:
            write_whole(path, data, durable=self._durable)
        except OSError as problem:
            raise self.failure(problem) from problem
        self.finished[task] = path

    def read(self, task: Task) -> Floats:
        """Read one finished chunk.

        Raises
        ------
        RunFailure
            It is gone or damaged.
        """
        block = self._load(task, self.finished[task])
        if block is None:
            raise RunFailure(
                f"{self.finished[task]} was damaged or removed while the run went on; "
                "give the same command again: that part is flown again, the rest is kept"
            )
        return block

    def _load(self, task: Task, path: Path) -> Floats | None:
        found = _SHARD.fullmatch(path.name)
        try:
            data = path.read_bytes()
            if found is None or zlib.crc32(data) != int(found[3], 16):
                return None
            block: Floats = np.lib.format.read_array(io.BytesIO(data), allow_pickle=False)
        except (OSError, ValueError):
            return None
        first, last = self.manifest.span(task[0])
        return block if block.shape == (len(self.manifest.columns), last - first) else None

    def failure(self, problem: BaseException) -> RunFailure:
        """Say what stopped the run, that finished chunks are safe, and how to go on."""
        if getattr(problem, "errno", None) in _NO_ROOM or self._no_room():
            what = f"the disk of {self.folder.parent} is full"
            mend = "make room, then give the same command to go on"
        else:
            reason = getattr(problem, "strerror", None) or str(problem) or type(problem).__name__
            what = f"{self.target} cannot be written: {reason}"
            mend = "mend that, then give the same command to go on"
        return RunFailure(f"{what}. {self.state()}; {mend}.")

    def _no_room(self) -> bool:
        """Whether the disk is as good as full: the netCDF library does not say why it failed."""
        try:
            return shutil.disk_usage(self.target.parent).free < _ROOM
        except OSError:
            return False

    def state(self) -> str:
        """How much is safe on disk, in words."""
        total = self.manifest.flights * self.manifest.levels
        if not self.finished:
            return "Nothing was finished yet"
        return f"{self.flown} of {total} flights are safe in {self.folder}"

    def begin(self) -> None:
        """Write the manifest; from here on the folder can be gone on with."""
        text = self.manifest.to_json().encode()
        write_whole(self.folder / _MANIFEST, text, durable=self._durable)

    def remove(self) -> None:
        """Take everything away but the lock, the manifest first: a half-empty folder is none."""
        (self.folder / _MANIFEST).unlink(missing_ok=True)
        for path in self.folder.iterdir():
            if path.name != _LOCK:
                with suppress(OSError):
                    path.unlink()
        self.finished = {}


@contextmanager
def open_parts(
    target: Path,
    manifest: Manifest,
    *,
    tell: Tell | None = None,
    durable: bool = True,
    allow_other_version: bool = False,
) -> Iterator[Parts]:
    """Hold the folder of finished chunks of a target, for a new run or one that goes on.

    The folder stays if the block fails and some chunk is finished; the block calls `remove` when
    the target is written.

    Parameters
    ----------
    target : Path
        The file that the ensemble will become.
    manifest : Manifest
        What is to be flown.
    tell : callable, optional
        Told in a sentence what was found.
    durable : bool
        As in `Parts`.
    allow_other_version : bool
        Go on with what another version of the program has flown; the manifest remembers it.

    Yields
    ------
    Parts

    Raises
    ------
    UserMistake
        The folder of the target is missing or read-only, another run holds it, or the finished
        chunks belong to another ensemble.
    """
    parts = Parts(target, manifest, durable=durable)
    try:
        with _held(target, parts.folder) as lock:
            try:
                _go_on(parts, tell, allow_other_version)
                yield parts
            finally:
                with suppress(OSError):
                    _tidy(parts, lock)
    finally:
        with suppress(OSError):  # only if nothing is left in it
            parts.folder.rmdir()


def _tidy(parts: Parts, lock: FileLock) -> None:
    """Leave nothing behind if no finished chunk lies there, whatever this run knows of them."""
    if not any(True for _ in _shards(parts.folder)):
        parts.remove()
        lock.remove()


@contextmanager
def _held(target: Path, folder: Path) -> Iterator[FileLock]:
    _check_target(target)
    lock = FileLock(folder / _LOCK, str(target))
    for attempt in range(10):
        try:
            folder.mkdir(exist_ok=True)
            lock.__enter__()
            break
        except FileNotFoundError:  # the run that held it has just taken it away
            if attempt == 9:
                raise
        except OSError as problem:
            reason = problem.strerror or str(problem)
            raise UserMistake(
                f"cannot write in the folder {target.parent} ({reason}); "
                "give an output in a folder that can be written"
            ) from problem
    try:
        yield lock
    finally:
        lock.__exit__(None, None, None)


def _check_target(target: Path) -> None:
    if target.is_dir():
        raise UserMistake(f"{target} is a folder; give the name of a file in it")
    if not target.parent.is_dir():
        raise UserMistake(f"the folder {target.parent} does not exist; make it, or give another")


def _go_on(parts: Parts, tell: Tell | None, allow_other_version: bool) -> None:
    for leftover in parts.folder.glob(f"*{_UNFINISHED}"):
        leftover.unlink(missing_ok=True)
    if holds_chunks(parts.target):
        before = read_manifest(parts.target)
        _check_the_same(parts, before, allow_other_version)
        parts.find(tell)
        parts.manifest = gone_on(before, parts.manifest, parts.flown)
        if tell is not None and parts.finished:
            tell(f"going on: {parts.state()}")
            if parts.manifest.earlier:
                tell("another version flew a part of them, which the file will say")
    else:
        parts.remove()
    try:
        parts.begin()
    except OSError as problem:
        raise parts.failure(problem) from problem


def _check_the_same(parts: Parts, before: Manifest, allow_other_version: bool) -> None:
    changed = differences(before, parts.manifest)
    version = other_version(before, parts.manifest)
    if version and not allow_other_version and not changed:
        raise UserMistake(
            f"{parts.folder} holds finished flights for {parts.target} by another version of the "
            f"program. Changed: {'. '.join(version)}. Go on with that version; or let this one fly "
            "the rest with --allow-other-version, which the file will say; or give another output; "
            "or delete that folder to start anew."
        )
    if changed:
        raise UserMistake(
            f"{parts.folder} holds finished flights of another run for {parts.target}. "
            f"Changed: {'. '.join(changed + version)}. Go on with the command and the scenario of "
            "that run, or give another output, or delete that folder to start anew."
        )


def read_manifest(target: Path) -> Manifest:
    """Read what the unfinished ensemble of a target is.

    Raises
    ------
    RunFailure
        It cannot be read.
    """
    path = parts_folder(target) / _MANIFEST
    try:
        return Manifest.from_json(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, KeyError, TypeError) as problem:
        raise RunFailure(
            f"{path} cannot be read ({problem}), so that the finished flights beside it are "
            "of no use; delete that folder to start anew, or give another output"
        ) from problem


def _shards(folder: Path) -> Iterator[tuple[Task, Path]]:
    for path in sorted(folder.iterdir()):
        found = _SHARD.fullmatch(path.name)
        if found is not None:
            yield (int(found[1]), int(found[2])), path


# -- files -------------------------------------------------------------------------------------


def write_whole(path: Path, data: bytes, *, durable: bool = True) -> None:
    """Write a file so that it is there whole or not at all, even after a power cut."""
    unfinished = path.with_name(path.name + _UNFINISHED)
    try:
        with unfinished.open("wb") as file:
            file.write(data)
            file.flush()
            if durable:
                os.fsync(file.fileno())
        put_in_place(unfinished, path, durable=durable)
    except BaseException:  # Ctrl-C too
        with suppress(OSError):
            unfinished.unlink(missing_ok=True)
        raise


def put_in_place(written: Path, path: Path, *, durable: bool = True) -> None:
    """Rename a flushed file over another name and flush the folder that holds the name."""
    written.replace(path)
    if durable:
        flush_folder(path.parent)


def flush_file(path: Path) -> None:
    """Make what was written to a closed file last through a power cut."""
    with path.open("r+b") as file:
        os.fsync(file.fileno())


def flush_folder(folder: Path) -> None:
    """Make renames in a folder last through a power cut, where the system has a way to ask."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
