"""Arguments of a kernel as one row of 64-bit words, which needs no compiler to be made.

A number is one word; a family of lanes none, since its width is part of the code; a tuple the words
of its fields; an array the place of its first number, how many there are, its shape and strides.
What reads them is sim.lanes.compiled.entry.
"""

import struct
from typing import Any

import numpy as np

from sim.lanes.types import LaneTypes

KINDS = ("float64", "int64", "uint64")  # of numbers in arrays
_WORD = 0xFFFFFFFFFFFFFFFF


def words_of(arguments: tuple[Any, ...]) -> tuple[str, list[int]] | None:
    """Describe arguments and write them as words.

    Parameters
    ----------
    arguments : tuple
        Lane families, numbers, arrays in C order, and tuples of these. The words hold addresses:
        keep the arguments alive.

    Returns
    -------
    description : str
        The same for arguments that the same machine code takes.
    words : list of int
    None, where an argument is of another kind.
    """
    told: list[str] = []
    words: list[int] = []
    return ("".join(told), words) if all(_take(x, told, words) for x in arguments) else None


def _take(value: Any, told: list[str], words: list[int]) -> bool:
    if isinstance(value, np.ndarray):
        return _take_array(value, told, words)
    if isinstance(value, tuple):
        kind = type(value)
        told.append(f"{kind.__module__}.{kind.__qualname__}{getattr(value, '_fields', '')}<")
        if not all(_take(field, told, words) for field in value):
            return False
        told.append(">,")
    elif isinstance(value, LaneTypes):
        told.append(f"lanes{value.width},")
    elif isinstance(value, bool | np.bool_):
        told.append("bool,")
        words.append(int(value))
    elif isinstance(value, float):  # numpy's float64 is one
        told.append("float64,")
        words.append(struct.unpack("=Q", struct.pack("=d", value))[0])
    elif isinstance(value, np.uint64):
        told.append("uint64,")
        words.append(int(value))
    elif isinstance(value, int | np.int64) and -(2**63) <= value < 2**63:
        told.append("int64,")
        words.append(int(value) & _WORD)
    else:
        return False
    return True


def _take_array(array: Any, told: list[str], words: list[int]) -> bool:
    flags = array.flags
    plain = type(array) is np.ndarray and array.dtype.name in KINDS and array.dtype.isnative
    if not (plain and array.ndim > 0 and flags.c_contiguous and flags.aligned):
        return False
    kept = "" if flags.writeable else " read only"
    told.append(f"{array.dtype.name}[{array.ndim}{kept}],")
    words += [array.ctypes.data, array.size, *array.shape]
    words += [stride & _WORD for stride in array.strides]
    return True
