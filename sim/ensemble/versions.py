"""What program, libraries and processor made a file."""

from __future__ import annotations

import platform
import sys
from importlib import metadata
from pathlib import Path

_LIBRARIES = ("numpy", "scipy", "numba", "llvmlite", "netCDF4", "xarray")


def setdown_version() -> str:
    """Version of this program, "unknown" when run from a folder without being installed."""
    return _version("setdown")


def libraries() -> str:
    """Versions of Python and of the libraries that have a say in the numbers."""
    found = [f"Python {platform.python_version()}"]
    return ", ".join(found + [f"{name} {_version(name)}" for name in _LIBRARIES])


def processor() -> str:
    """Name of the processor, as far as the system tells, and of the system."""
    name = platform.processor()
    if sys.platform == "linux":
        try:
            lines = Path("/proc/cpuinfo").read_text(encoding="utf-8", errors="replace").splitlines()
        except OSError:
            lines = []
        named = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
        name = next(named, name)
    return f"{name or 'unknown'} ({platform.machine()}, {platform.system()})"


def _version(distribution: str) -> str:
    try:
        return metadata.version(distribution)
    except metadata.PackageNotFoundError:
        return "unknown"
