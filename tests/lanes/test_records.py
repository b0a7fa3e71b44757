import numba
import numpy as np
import pytest
from lane_kernels import Pair, record

from sim.lanes import add_scaled, kernel, lane_record, lane_types


@kernel
def heavier(lanes, work):
    p = record(lanes, work)
    p.mass = p.mass + 1.0
    p.outcome = 3


@pytest.mark.parametrize("width", [1, 4])
def test_record__reads_and_writes_rows_by_name(width):
    work = np.arange(3.0 * width).reshape(3, width)
    heavier(lane_types(width), work)
    assert np.array_equal(work[0], np.arange(width) + 1.0)
    assert np.array_equal(work[1], np.arange(width) + 1.0 * width)
    assert np.array_equal(work[2], np.full(width, 3.0))


def test_record__wrong_shape_is_an_error_that_says_the_right_one():
    with pytest.raises(ValueError, match=r"record: the array must have shape \(3, 4\)"):
        heavier(lane_types(4), np.zeros((2, 4)))
    with pytest.raises(ValueError, match=r"record: the array must have shape \(3, 1\)"):
        record(lane_types(1), np.zeros((2, 1)))


def test_record__unknown_field_is_an_error_that_names_the_nearest():
    @kernel
    def push(lanes, work):
        return record(lanes, work).trust

    message = "record has no field 'trust'; did you mean 'thrust'"
    with pytest.raises(numba.TypingError, match=message):
        push(lane_types(4), np.zeros((3, 4)))
    with pytest.raises(AttributeError, match=message):
        _ = record(lane_types(1), np.zeros((3, 1))).trust
    with pytest.raises(AttributeError, match=r"record has no field 'colour'$"):
        record(lane_types(1), np.zeros((3, 1))).colour = 1.0


@pytest.mark.parametrize("fields", [("a", "a"), ("a b",)])
def test_lane_record__refuses_names_that_cannot_be_told_apart(fields):
    with pytest.raises(ValueError, match="stands twice or is no identifier"):
        lane_record("thing", fields)


def test_record__runs_of_the_kernels_agree_with_a_plain_loop(by_width):
    """Follows lane_kernels.records by hand."""
    table, a, b, rare = [0.0, 1.0, 4.0, 9.0, 16.0], 0.0, 1.0, 0
    for i, value in enumerate(np.linspace(-2, 9, 64)):
        a, b = a + 0.5 * value, b + 0.5 * 2.0
        large = a > 5.0
        if large:
            a, rare = a - 5.0, rare + 1
        else:
            a, b = a + value * 2.0, b + value * value
        place = int(np.floor(value))
        wanted = a + b + table[place if 0 <= place < 5 else 4]
        assert by_width[8]["records"][i] == wanted
    assert by_width[8]["records"][-1] == rare > 0


def test_add_scaled__plain_and_refusals():
    assert add_scaled(Pair(1.0, 2.0), 0.5, (4.0, 6.0)) == Pair(3.0, 5.0)
    assert add_scaled((1.0,), 2.0, (3.0,)) == (7.0,)

    @kernel
    def unequal(lanes, work):
        add_scaled((1.0, 2.0), 0.5, (1.0,))

    with pytest.raises(numba.TypingError, match="two tuples of equal length"):
        unequal(lane_types(4), np.zeros((3, 4)))
