"""A checksum of every variable of a finished ensemble, so that damage is found and not believed.

netCDF has checksums of its own, but theirs of a block of zeros is zero: what a bad disk leaves most
often would pass. Here the file has a group of attributes: the CRC-32 (ITU-T V.42) of the values of
each variable, by its name, and one of the words that tell how to read them. Who opens the file with
another program sees the same ensemble as before.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from sim.errors import UserMistake

GROUP, WORDS = "checksums", "words"
TOLD = ("title", "scenario", "scenario_digest", "success_predicate", "seed", "flights",
        "sampling_method")  # fmt: skip
"""Attributes that the statistics are read by; others may be edited by whoever keeps the file."""
_ROWS = 65_536  # of a variable that are read at a time
_CACHE = 1_048_576  # bytes
_OF_DAMAGE = (OSError, RuntimeError, ValueError, LookupError, AttributeError, TypeError)
"""What the netCDF library throws at who reads a value or an attribute that is damaged."""


def seal(path: Path) -> None:
    """Add the checksums to a file that is written.

    Raises
    ------
    OSError, RuntimeError
        From the netCDF library.
    """
    import netCDF4

    with netCDF4.Dataset(path, "a") as file:
        found = {name: _of_values(variable) for name, variable in _variables(file)}
        file.createGroup(GROUP).setncatts(found | {WORDS: _of_words(file)})


def check_seal(path: Path) -> None:
    """Read all of a file and compare it with its checksums; one without them has to be readable.

    Raises
    ------
    UserMistake
        It is damaged; the message names the variable, and what can be done.
    OSError
        From the netCDF library: it cannot be opened as netCDF at all.
    """
    import netCDF4

    with netCDF4.Dataset(path, "r") as file:
        where = "attributes"
        try:
            given = file.groups[GROUP].__dict__ if GROUP in file.groups else {}
            for where, variable in _variables(file):
                if _of_values(variable) != given.get(where) and given:
                    raise damaged(path, where)
            where = "attributes"
            if given and _of_words(file) != given.get(WORDS):
                raise damaged(path, where)
        except _OF_DAMAGE as problem:
            raise damaged(path, where) from problem


def damaged(path: Path, where: str) -> UserMistake:
    """Make the mistake that says so."""
    return UserMistake(
        f"{path} is damaged: what it holds as {where} is not what was written. Nothing that it "
        "says can be trusted; take a copy that is whole, or fly it again (its attribute command "
        "says how)"
    )


def _variables(file: Any) -> Iterator[tuple[str, Any]]:
    yield from file.variables.items()
    for group in file.groups.values():
        for name, variable in group.variables.items():
            yield f"{group.name}.{name}", variable


def _of_values(variable: Any) -> str:
    variable.set_auto_maskandscale(False)  # values as they are stored
    if variable.chunking() != "contiguous":  # the library would keep up to 64 MB of each
        variable.set_var_chunk_cache(_CACHE, 11, 1.0)
    found = 0
    for start in range(0, variable.shape[0] if variable.ndim else 1, _ROWS):
        rows = variable[start : start + _ROWS] if variable.ndim else variable[...]
        found = zlib.crc32(np.ascontiguousarray(rows).tobytes(), found)
    return f"{found:08x}"


def _of_words(file: Any) -> str:
    told = {name: str(file.getncattr(name)) for name in TOLD if name in file.ncattrs()}
    return f"{zlib.crc32(repr(told).encode()):08x}"
