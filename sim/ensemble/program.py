"""What may have a say in the numbers, for comparing one machine with another.

Two machines may share a run if they have the same sources, the same versions of the libraries that
make code or numbers, and if their mathematics gives the same digits.
"""

from __future__ import annotations

import hashlib
import platform
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("lanes", "physics", "avionics", "ensemble", "scenario")
_LIBRARIES = ("numpy", "scipy", "numba", "llvmlite")


@dataclass(frozen=True)
class Program:
    """What a process computes with.

    Attributes
    ----------
    sources : str
        Hash of the sources of drawing and flying.
    libraries : tuple of (name, version)
    digits : str
        Hash of the digits that the elementary functions give here.
    machine : str
        Name and kind of the machine, for messages.
    """

    sources: str
    libraries: tuple[tuple[str, str], ...]
    digits: str
    machine: str

    def differences(self, other: Program) -> list[str]:
        """Say why the other may not share a run with this one; nothing if it may."""
        found = []
        if self.sources != other.sources:
            found.append(f"another setdown (sources {other.sources}, here {self.sources})")
        there = dict(other.libraries)
        found += [
            f"{name} {there.get(name, 'missing')}, here {version}"
            for name, version in self.libraries
            if there.get(name) != version
        ]
        if self.digits != other.digits and not found:
            found.append("elementary functions that differ in their last digits from those here")
        return found


@cache
def this_program() -> Program:
    """Describe this process, as it was when first asked."""
    return Program(
        sources=source_hash(),
        libraries=tuple((name, _version(name)) for name in _LIBRARIES),
        digits=_digits(),
        machine=f"{platform.node()} ({platform.machine()}, {platform.system()})",
    )


@cache
def source_hash(root: Path = ROOT) -> str:
    """Sixteen hexadecimal digits that change with every source of drawing and flying.

    Read when first asked; line ends do not matter.

    Parameters
    ----------
    root : Path
        The package folder.
    """
    digest = hashlib.sha256()
    for path in _sources(root):
        content = path.read_bytes().replace(b"\r\n", b"\n")
        name = path.relative_to(root).as_posix()
        digest.update(f"{name}\0{len(content)}\0".encode() + content)
    return digest.hexdigest()[:16]


def _sources(root: Path) -> Iterator[Path]:
    found = [path for room in ROOMS for path in (root / room).rglob("*.py")]
    return iter(sorted([*found, *root.glob("*.py")], key=lambda path: path.as_posix()))


def _digits() -> str:
    """Hash of what numpy and scipy make of a fixed set of numbers.

    Their routines for vectors of numbers are chosen by the processor and differ in last digits.
    """
    import numpy as np
    from scipy.special import ndtr, ndtri

    within = (np.arange(4096) + 0.5) / 4096.0
    wide = 12.0 * (within - 0.5)
    found = [ndtri(within), ndtr(wide), within**1.7, np.arctan2(wide, within), np.hypot(wide, 1.3)]
    one: Any
    for one in (np.sin, np.cos, np.tan, np.exp, np.expm1, np.arctan, np.sinh, np.cosh, np.tanh):
        found.append(one(wide))
    for one in (np.log, np.log1p, np.log10, np.sqrt, np.cbrt, np.arcsin, np.arccos):
        found.append(one(within))
    found.append(np.interp(wide, within, found[0]))
    digest = hashlib.sha256()
    for values in found:
        digest.update(np.ascontiguousarray(values, dtype="<f8").tobytes())
    return digest.hexdigest()[:16]


def _version(distribution: str) -> str:
    try:
        return metadata.version(distribution)
    except metadata.PackageNotFoundError:
        return "missing"
