"""What the shorter list of passes must still do, and say."""

import sys

import numba
import numpy as np
import pytest

from sim.lanes import kernel, lane_types, load, part, spread, store


def run(function, width=4):
    array = np.ones((2, width))
    kernel(function)(lane_types(width), array)
    return array


@part
def counted_in_words(x):
    kind = "a word"
    kind = len(kind)  # one name, two types
    return x * kind


@part
def chosen_by_none(x, more=None):
    if more is None:
        return x + 1.0
    return x + more.missing


@part
def held_in_a_list(work, x):
    copies = [work, work]
    return x + copies[1].shape[0]


@pytest.mark.parametrize("width", [1, 4])
def test_part__name_with_two_types_pruned_branch_and_references(width):
    def use(lanes, array):
        x = counted_in_words(load(lanes, array, 0))
        store(array, 0, held_in_a_list(array, chosen_by_none(x)))

    assert np.array_equal(run(use, width)[0], np.full(width, 9.0))


def test_part__references_are_let_go_again():
    def use(lanes, array):
        store(array, 0, held_in_a_list(array, load(lanes, array, 0)))

    compiled, array = kernel(use), np.ones((2, 4))
    before = sys.getrefcount(array)  # what compiled code holds on to counts as one
    for _ in range(3):
        compiled(lane_types(4), array)
    assert sys.getrefcount(array) == before
    assert np.array_equal(array[0], np.full(4, 7.0))


def test_part__mistake_is_told_with_its_function_and_line():
    @part
    def misspelt(x):
        return x.masss

    def use(lanes, array):
        store(array, 0, misspelt(spread(lanes, 1.0)))

    with pytest.raises(numba.TypingError, match=r"(?s)masss.*test_pipeline.py.*misspelt") as caught:
        run(use)
    assert "return x.masss" in str(caught.value)
