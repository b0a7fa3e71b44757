"""Operators of lanes against numpy's, including signed zeros, infinities and nan."""

import operator

import numpy as np
import pytest
from lane_kernels import EXACT_NAMES, WHOLE_NAMES, exact_inputs, whole_inputs

COMPARISONS = ("lt", "le", "gt", "ge", "eq", "ne")


def same(ours, theirs):
    return np.array_equal(ours, theirs, equal_nan=True) and np.array_equal(
        np.signbit(ours[~np.isnan(ours)]), np.signbit(theirs[~np.isnan(theirs)])
    )


@pytest.mark.parametrize("name", ["add", "sub", "mul", "truediv", "neg", "pos"])
def test_arithmetic__as_numpy(by_width, name):
    x, y = exact_inputs()
    with np.errstate(all="ignore"):
        if name == "pos":  # + at the end of += *= -= /=
            wanted = ((x + 1.0) * 2.0 - y) / 4.0
        elif name == "neg":
            wanted = -x
        else:
            wanted = getattr(operator, name)(x, y)
    assert same(by_width[8]["exact"][EXACT_NAMES.index(name)], wanted)


@pytest.mark.parametrize("name", COMPARISONS)
def test_comparison__as_numpy_also_for_nan(by_width, name):
    x, y = exact_inputs()
    wanted = getattr(operator, name)(x, y)
    assert np.isnan(x).any()
    assert np.array_equal(by_width[8]["exact"][EXACT_NAMES.index(name)], wanted)


@pytest.mark.parametrize("name", WHOLE_NAMES)
def test_whole_numbers__as_numpy(by_width, name):
    x, y, _ = whole_inputs()
    functions = {
        "add": x + y, "sub": x - y, "mul": x * y, "and": x & y, "or": x | y, "xor": x ^ y,
        "shl": x << 3, "shr": x >> 3, "neg": -x, "lt": np.where(x < y, x, y),
        "whole_of_real": x, "eq": np.where(x == y, x, -x),
    }  # fmt: skip
    assert np.array_equal(by_width[8]["whole"][WHOLE_NAMES.index(name)], functions[name])


def test_random_words__wrap_and_shift_in_zeros(by_width):
    _, y, u = whole_inputs()
    v = y.view(np.uint64)
    seven, nine = np.uint64(7), np.uint64(9)
    wanted = [(u ^ v) + (u & v), u >> seven | v << nine, np.where(u > v, u - v, u * v)]
    assert np.array_equal(by_width[8]["words"], wanted)
