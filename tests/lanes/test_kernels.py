"""Kernels called by their words: every kind of argument, what is refused, what an error does."""

import subprocess
import sys
from typing import NamedTuple

import numpy as np
import pytest

from sim.lanes import cache, lane_types, load, native, store
from sim.lanes.compiled.entry import compile_entry
from sim.lanes.words import words_of


class Pair(NamedTuple):
    factor: float
    inside: tuple


def gather_all(lanes, table, pair, flag, whole, bits, out):
    factor, (shift, row) = pair
    for place in range(table.shape[0]):
        value = load(lanes, table, place) * factor + shift + row[1]
        store(out, place, value + whole + (1.0 if flag else 0.0) + bits[2])


def complain(lanes, out):
    if out[0] > 1.0:
        raise ValueError("too much")
    out[0] = 5.0


def give_back(lanes, out):
    return out[0]


def code_of(function, *arguments):
    return native.load(compile_entry(function, arguments))


@pytest.mark.parametrize("width", [1, 8])
def test_entry__takes_numbers_arrays_and_tuples(width):
    table = np.arange(3.0 * width).reshape(3, width)
    row, bits = np.array([0.0, 0.25]), np.array([0, 1, 2], dtype=np.int64)
    row.flags.writeable = False
    arguments = (
        lane_types(width), table, Pair(2.0, (0.5, row)), True, -7, bits, np.zeros((3, width)),
    )  # fmt: skip
    description, words = words_of(arguments)
    code_of(gather_all, *arguments)(words)
    assert np.array_equal(arguments[-1], table * 2.0 + 0.5 + 0.25 - 7 + 1.0 + 2.0)
    assert f"lanes{width}," in description
    assert "read only" in description


def test_entry__an_error_of_the_kernel_arrives():
    out = np.array([0.0])
    run = code_of(complain, lane_types(1), out)
    words = words_of((lane_types(1), out))[1]
    run(words)
    assert out[0] == 5.0
    with pytest.raises(ValueError, match="too much"):
        run(words)


def test_entry__what_returns_something_is_left_to_numba():
    with pytest.raises(native.NoNativeCode, match="returns"):
        compile_entry(give_back, (lane_types(1), np.zeros(1)))


@pytest.mark.parametrize(
    "value",
    ["text", None, 2**63, np.float32(1.0), np.zeros(3, dtype=np.float32), np.zeros((4, 4)).T[1:],
     np.zeros(6)[::2], np.array(1.0), {"a": 1}],
)  # fmt: skip
def test_words_of__other_kinds_are_left_to_numba(value):
    assert words_of((1.0, (2, value))) is None


def test_words_of__same_description_only_for_what_the_same_code_takes():
    kinds = [1.0, 1, True, np.uint64(1), np.zeros(2), np.zeros((2, 2)), np.zeros(2, dtype=np.int64),
             (1.0,), (1.0, 1.0), Pair(1.0, 1.0), lane_types(1), lane_types(4)]  # fmt: skip
    told = [words_of((kind,))[0] for kind in kinds]
    assert len(set(told)) == len(kinds)
    assert words_of((np.zeros(2),))[0] == words_of((np.ones(5),))[0]
    assert words_of((1.5,))[0] == words_of((np.float64(2.5),))[0]


def test_load__what_is_not_here_is_said_not_called():
    code = compile_entry(complain, (lane_types(1), np.zeros(1)))
    length = int.from_bytes(code[:4], "little")
    with pytest.raises(native.NoNativeCode, match="no_such_function"):
        native.load(native.packed(code[4 + length :], ["no_such_function"]))


def test_flight_kernel__is_imported_without_the_compiler():
    program = "import sys, sim.flight, sim.ensemble.fly_runs; print('numba' in sys.modules)"
    found = subprocess.run(
        [sys.executable, "-c", program], cwd=cache.ROOT.parent, capture_output=True, check=True
    )
    assert found.stdout.split() == [b"False"]
