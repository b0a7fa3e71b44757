"""Moving values between arrays and lanes."""

from typing import Any

import numpy as np

CACHE_LINE = 64  # bytes; a vector of eight fills one


def lane_rows(rows: int, width: int, kind: Any = np.float64) -> Any:
    """Zeros of shape (rows, width) that begin where a cache line does.

    A vector that lies across two lines costs two of them at every load and store; numpy promises
    sixteen bytes only.
    """
    size = rows * width * np.dtype(kind).itemsize
    raw = np.zeros(size + CACHE_LINE, dtype=np.uint8)
    first = -raw.ctypes.data % CACHE_LINE
    return raw[first : first + size].view(kind).reshape(rows, width)


def spread(lanes: Any, x: Any) -> Any:  # noqa: ARG001
    """Copy one number to every lane."""
    return np.float64(x) if isinstance(x, float) else x


def lane_numbers(lanes: Any) -> Any:  # noqa: ARG001
    """Return 0, 1, ... width - 1 as U lanes."""
    return np.uint64(0)


def load(lanes: Any, array: Any, row: Any) -> Any:  # noqa: ARG001
    """Read array[row, 0:width] of a C-ordered two-dimensional array. Not bounds-checked."""
    return array[row, 0]


def store(array: Any, row: Any, values: Any) -> None:
    """Write array[row, 0:width] of a C-ordered two-dimensional array. Not bounds-checked."""
    array[row, 0] = values


def gather(table: Any, index: Any) -> Any:
    """Read table[index] lane by lane, for a float64 table; an index outside reads the last entry.

    (A nan position makes some huge index; it must not reach memory.)
    """
    return table[index if 0 <= index < len(table) else len(table) - 1]
