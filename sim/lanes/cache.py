"""Where compiled kernels are kept between runs, and under which key.

numba's own cache looks at the file of the cached function only: a callee changed in another file
is served stale, silently. So the folder is named by a hash of every source a kernel can be made
of, and of the versions and settings that shape the code. An edit anywhere gives another folder.

This file imports neither numba nor anything else that is slow.
"""

import hashlib
import os
import platform
import re
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Iterator
from functools import cache
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WATCHED_FOLDERS = ("lanes", "physics", "avionics")
WATCHED_FILES = "*.py"  # of the package folder itself: the loop and what it calls
SETTINGS = (  # numba's, as far as they change the machine code
    "CPU_NAME", "CPU_FEATURES", "OPT", "BOUNDSCHECK", "ENABLE_AVX", "LOOP_VECTORIZE",
    "SLP_VECTORIZE", "DEBUGINFO",
)  # fmt: skip
OLD = 30 * 86400.0  # s without use, after which the folder of another key may go
SUFFIX = ".kernel"


def sources(root: Path = ROOT) -> Iterator[Path]:
    """Every file that a cached kernel may be made of, in a fixed order."""
    found = [path for folder in WATCHED_FOLDERS for path in (root / folder).rglob("*.py")]
    found += root.glob(WATCHED_FILES)
    return iter(sorted(found, key=lambda path: path.relative_to(root).as_posix()))


def is_watched(path: str | Path, root: Path = ROOT) -> bool:
    """Whether an edit of this file changes the key, so that its kernels may be cached."""
    path = Path(path).resolve()
    if not path.is_relative_to(root):
        return False
    inside = path.relative_to(root)
    return inside.parts[0] in WATCHED_FOLDERS or (
        len(inside.parts) == 1 and inside.match(WATCHED_FILES)
    )


def make_key(root: Path = ROOT) -> str:
    """Sixteen hexadecimal digits that change whenever compiled code could.

    Parameters
    ----------
    root : Path
        The package folder, with `lanes`, `physics` and `avionics` in it, and the files of the loop.

    Returns
    -------
    str
        Hash of the sources (names and contents), of the versions of Python, numba, llvmlite and
        numpy, of the machine's kind and of numba's settings in the environment.
    """
    digest = hashlib.sha256()
    facts = [sys.version, sys.platform, platform.machine()]
    facts += [f"{name} {_version(name)}" for name in ("numba", "llvmlite", "numpy")]
    facts += [f"{name}={os.environ.get('NUMBA_' + name)}" for name in SETTINGS]
    for fact in facts:
        digest.update(fact.encode() + b"\0")
    for path in sources(root):
        content = path.read_bytes()
        name = path.relative_to(root).as_posix()
        digest.update(f"{name}\0{len(content)}\0".encode() + content)
    return digest.hexdigest()[:16]


def _version(distribution: str) -> str:
    try:
        return metadata.version(distribution)
    except metadata.PackageNotFoundError:
        return "unknown"


@cache
def key() -> str:
    """Return the key of the sources as they were when first asked, before kernels are made."""
    return make_key()


def base_folder() -> Path | None:
    """Folder that holds the keyed folders: the user's choice, or the place for caches here."""
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen:
        return Path(chosen).absolute() / "setdown"
    try:
        home = Path.home()
    except RuntimeError:  # no home folder to be found
        return None
    if sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA")
        return (Path(local) if local else home / "AppData" / "Local") / "setdown"
    if sys.platform == "darwin":
        return home / "Library" / "Caches" / "setdown"
    standard = Path(os.environ.get("XDG_CACHE_HOME", ""))
    return (standard if standard.is_absolute() else home / ".cache") / "setdown"


def _private_temporary_folder() -> Path | None:
    """Fallback, for a home that cannot be written. What is loaded from it is run: ours only."""
    if sys.platform == "win32":  # the temporary folder is the user's own there
        return Path(tempfile.gettempdir()) / "setdown"
    return Path(tempfile.gettempdir()) / f"setdown-{os.getuid()}"


def _is_private(folder: Path) -> bool:
    if sys.platform == "win32":
        return True
    status = folder.lstat()
    return (
        stat.S_ISDIR(status.st_mode)
        and status.st_uid == os.getuid()
        and not status.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
    )


def keyed_folders() -> list[Path]:
    """List the folders to look in: under the user's caches, then a private temporary one."""
    bases = [base_folder(), _private_temporary_folder()]
    return [base / key() for base in bases if base]


def read(name: str) -> bytes | None:
    """Return the stored bytes of that name, or None."""
    for folder in keyed_folders():
        try:
            if not _is_private(folder.parent) and folder.parent != base_folder():
                continue
            content = (folder / (name + SUFFIX)).read_bytes()
        except OSError:
            continue
        _mark_as_used(folder)
        return content
    return None


def write(name: str, content: bytes) -> Path | None:
    """Store bytes where they can be; None, and no complaint, where nothing can be written.

    Written beside the target and renamed over it, one file a kernel and signature and no common
    index: processes that start at once write the same content twice, never half of each.
    """
    for folder in keyed_folders():
        try:
            fresh = not folder.is_dir()
            folder.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            if not _is_private(folder.parent) and folder.parent != base_folder():
                continue
            folder.mkdir(exist_ok=True, mode=0o700)
            handle, temporary = tempfile.mkstemp(dir=folder, suffix=".partial")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(content)
                Path(temporary).replace(folder / (name + SUFFIX))
            except OSError:
                Path(temporary).unlink(missing_ok=True)
                raise
        except OSError:
            continue
        if fresh:
            remove_old_folders(folder.parent, keep=folder.name)
        return folder
    return None


def can_be_written() -> bool:
    """Whether `write` would find a place, as far as one can tell without writing."""
    for folder in keyed_folders():
        there = next((place for place in (folder, *folder.parents) if place.exists()), None)
        if there is not None and there.is_dir() and os.access(there, os.W_OK | os.X_OK):
            return True
    return False


def remove_old_folders(base: Path, keep: str, older_than: float = OLD) -> list[str]:
    """Remove folders of other keys that nothing has touched for that many seconds."""
    removed: list[str] = []
    try:
        inside = list(base.iterdir())
    except OSError:
        return removed
    for folder in inside:
        try:
            idle = time.time() - folder.lstat().st_mtime
            ours = re.fullmatch("[0-9a-f]{16}", folder.name) and not folder.is_symlink()
        except OSError:  # another process was faster
            continue
        if ours and folder.name != keep and idle > older_than:
            shutil.rmtree(folder, ignore_errors=True)
            removed.append(folder.name)
    return removed


def _mark_as_used(folder: Path) -> None:
    """Renew the folder's time about once a day, so that its age says when it was last of use."""
    try:
        if time.time() - folder.stat().st_mtime > 86400.0:
            os.utime(folder)
    except OSError:
        pass


def cache_is_warm(kernel: str = "", width: int | None = None) -> bool:
    """Whether compiled kernels are stored for these sources, versions and settings.

    Parameters
    ----------
    kernel : str
        Name of a kernel's function; any kernel if empty.
    width : int, optional
        Flights in lock step the kernel was compiled for; any width if not given.

    Returns
    -------
    bool
        False means that the first call compiles, which takes seconds. Only looks at file names.
    """
    family = "*" if width is None else f"lanes{width}"
    pattern = f"{kernel or '*'}-{family}-*{SUFFIX}"
    return any(True for folder in keyed_folders() for _ in folder.glob(pattern))
