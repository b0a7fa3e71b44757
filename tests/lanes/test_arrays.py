import numba
import numpy as np
import pytest

from sim.lanes import (
    gather,
    kernel,
    lane_numbers,
    lane_rows,
    lane_types,
    load,
    spread,
    store,
    whole,
)


@kernel
def look_up(lanes, table, places, out):
    """Row 0: the table at the places. Row 1: the number of each lane."""
    place = load(lanes, places, 0)
    store(out, 0, gather(table, whole(place)))
    store(out, 1, gather(table, lane_numbers(lanes)))


def test_gather__an_index_outside_reads_the_last_entry():
    table = np.array([10.0, 11.0, 12.0, 13.0])
    places = np.array([[0.0, 1.9, 3.0, 4.0, -1.0, np.nan, 1e300, 2.0]])
    out = np.empty((2, 8))
    look_up(lane_types(8), table, places, out)
    assert out[0].tolist() == [10.0, 11.0, 13.0, 13.0, 13.0, 13.0, 13.0, 12.0]
    assert out[1].tolist() == [10.0, 11.0, 12.0, 13.0, 13.0, 13.0, 13.0, 13.0]


def test_load__refuses_arrays_that_are_not_laid_out_for_lanes():
    @kernel
    def read(lanes, array):
        store(array, 0, load(lanes, array, 0) + spread(lanes, 1.0))

    for array in (np.ones(4), np.ones((4, 4)).T, np.ones((2, 4), np.float32)):
        with pytest.raises(numba.TypingError, match="lanes live in C-ordered"):
            read(lane_types(4), array)


def test_store__refuses_another_kind():
    @kernel
    def write(lanes, array):
        store(array, 0, lane_numbers(lanes))

    with pytest.raises(numba.TypingError):
        write(lane_types(4), np.ones((1, 4)))


def test_gather__refuses_other_tables():
    @kernel
    def read(lanes, table):
        gather(table, lane_numbers(lanes))

    with pytest.raises(numba.TypingError, match=r"gather\(\) reads contiguous"):
        read(lane_types(4), np.ones(8)[::2])


@pytest.mark.parametrize(
    ("rows", "width", "kind"), [(1, 8, np.uint64), (7, 4, float), (33, 1, float)]
)
def test_lane_rows__are_zeros_at_the_beginning_of_a_cache_line(rows, width, kind):
    kept = [lane_rows(rows, width, kind) for _ in range(5)]
    for array in kept:
        assert array.shape == (rows, width)
        assert array.dtype == kind
        assert array.ctypes.data % 64 == 0
        assert array.flags.c_contiguous
        assert array.flags.writeable
        assert not array.any()
