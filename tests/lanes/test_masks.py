import numba
import numpy as np
import pytest
from lane_kernels import EXACT_NAMES, exact_inputs

from sim.lanes import kernel, lane_types, load, spread, store, where


@pytest.mark.parametrize("name", ["not_", "and", "or", "xor"])
def test_masks__as_numpy(by_width, name):
    x, y = exact_inputs()
    less, positive = x < y, x > 0.0
    wanted = {
        "not_": ~less, "and": less & positive, "or": less | positive, "xor": less ^ positive
    }  # fmt: skip
    assert np.array_equal(by_width[8]["exact"][EXACT_NAMES.index(name)], wanted[name])


def call(function, width=4):
    array = np.ones((2, width))
    return kernel(function)(lane_types(width), array)


def test_if__on_a_mask_is_a_compile_error():
    def branch(lanes, array):
        if load(lanes, array, 0) > 0.0:
            store(array, 0, spread(lanes, 2.0))

    with pytest.raises(numba.TypingError, match="bool"):
        call(branch)


def test_where__needs_a_mask():
    def choose(lanes, array):
        store(array, 0, where(load(lanes, array, 0), 1.0, 2.0))

    with pytest.raises(numba.TypingError, match=r"where\(\) needs a mask"):
        call(choose)


def test_where__tuples_must_be_alike():
    def choose(lanes, array):
        x = load(lanes, array, 0)
        where(x > 0.0, (x, x), (x, 1))

    with pytest.raises(numba.TypingError, match=r"where\(\) on tuples needs two of a type"):
        call(choose)


def test_lanes__of_different_kinds_do_not_meet():
    def mix(lanes, array):
        return load(lanes, array, 0) + spread(lanes, np.uint64(1))

    with pytest.raises(numba.TypingError, match="different kinds"):
        call(mix)
