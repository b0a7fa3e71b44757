"""Flights take over free lanes, each at a tick of its own turn."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sim.avionics.filter import FILTER_TICKS
from sim.avionics.filter_memory import PAST
from sim.avionics.memory import RING
from sim.avionics.sensors import DRIFT_SAMPLES
from sim.ensemble.fly_runs import in_turn, turns_of
from sim.flight_handing import next_in_line
from sim.physics.wind import REFRESH


@given(st.lists(st.integers(0, 3000), max_size=60), st.integers(1, 40), st.integers(0, 3000))
def test_next_in_line__everyone_once_and_the_nearest_turn_first(ticks, period, count):
    columns, ticks = np.arange(len(ticks)) + 7, np.array(ticks, dtype=np.int64)
    queue = in_turn(columns, ticks, period)
    waits = []
    left = dict(zip(columns, ticks, strict=True))
    for _ in range(len(ticks)):
        found = next_in_line(count, queue)
        wait = (left[found] - count) % period
        assert wait == min((tick - count) % period for tick in left.values())
        waits.append(wait)
        del left[found]
    assert waits == sorted(waits)
    assert next_in_line(count, queue) == -1


def test_next_in_line__nobody_waits():
    nobody = np.empty(0, dtype=np.int64)
    assert next_in_line(5, in_turn(nobody, nobody, 20)) == -1


def test_turns__hold_everything_that_goes_by_turns():
    for every in (1, 2, 3, 5):
        for turns in (every * DRIFT_SAMPLES, every, REFRESH, RING, FILTER_TICKS * PAST):
            assert turns_of(every) % turns == 0
