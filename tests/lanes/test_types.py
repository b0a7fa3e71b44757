import numba
import pytest

from sim.lanes import LaneType, lane_type, lane_types


@pytest.mark.parametrize("width", [0, 3, 64, "8"])
def test_lane_types__other_widths_are_refused(width):
    with pytest.raises(ValueError, match="width must be 1, 2, 4, 8, 16 or 32"):
        lane_types(width)


def test_lane_type__is_the_plain_scalar_at_width_1():
    assert lane_type("F", 1) is numba.types.float64
    assert lane_types(1).U is numba.types.uint64
    assert lane_types(8).F == LaneType("F", 8) != LaneType("F", 4)
