"""How flights go from one call of the kernel to the next, at the first touch, grouped anew."""

from __future__ import annotations

import numpy as np

from sim.flight_records import CARRY, HANDED_ROWS
from sim.lanes import load, part, store
from sim.physics.rigid_body import State

CARRY_STARTING, CARRY_FLYING, CARRY_SETTLED = (
    CARRY.index(name) for name in ("starting", "flying", "settled")
)


def handed_over(flights):
    """Array in which flights are handed from the first call to the second."""
    return np.zeros((flights, HANDED_ROWS))


@part
def hand_over(count, columns, state, handed, work):
    """Keep all that a flight is, in the tick of its first touch."""
    for i in range(len(state)):
        store(work.state, i, state[i])
    for lane in range(len(columns)):
        if work.carry[CARRY_STARTING, lane] > 0.5:
            row = 0
            for array in (
                work.state, work.carry, work.sample, work.command, work.belief, work.memory
            ):
                for i in range(array.shape[0]):
                    handed[columns[lane], row] = array[i, lane]
                    row += 1
            handed[columns[lane], row] = count


@part
def take_over(count, columns, handed, outcomes, work):
    """Load the flights whose tick of the first touch this is; return how many."""
    found = 0
    last = HANDED_ROWS - 1
    for lane in range(len(columns)):
        work.carry[CARRY_STARTING, lane] = 0.0
        if handed[columns[lane], last] == count:
            found += 1
            row = 0
            for array in (
                work.state, work.carry, work.sample, work.command, work.belief, work.memory
            ):
                for i in range(array.shape[0]):
                    array[i, lane] = handed[columns[lane], row]
                    row += 1
            for i in range(work.outcomes.shape[0]):
                work.outcomes[i, lane] = outcomes[i, columns[lane]]
            work.carry[CARRY_FLYING, lane] = 1.0
    return found


@part
def write_settled(columns, outcomes, work):
    """Write down the flights that are over in this tick."""
    for lane in range(len(columns)):
        if work.carry[CARRY_SETTLED, lane] > 0.5:
            for i in range(work.outcomes.shape[0]):
                outcomes[i, columns[lane]] = work.outcomes[i, lane]


@part
def first_and_last(columns, handed):
    """Numbers of the first and the last tick in which one of these flights touched."""
    row = HANDED_ROWS - 1
    first, last = handed[columns[0], row], handed[columns[0], row]
    for lane in range(len(columns)):
        tick = handed[columns[lane], row]
        if tick < first:
            first = tick
        if tick > last:
            last = tick
    return np.int64(first), np.int64(last)


@part
def handed_state(lanes, array):
    """The states that were handed over."""
    return State(
        load(lanes, array, 0), load(lanes, array, 1), load(lanes, array, 2),
        load(lanes, array, 3), load(lanes, array, 4), load(lanes, array, 5),
        load(lanes, array, 6), load(lanes, array, 7), load(lanes, array, 8),
        load(lanes, array, 9), load(lanes, array, 10), load(lanes, array, 11),
        load(lanes, array, 12), load(lanes, array, 13), load(lanes, array, 14),
        load(lanes, array, 15), load(lanes, array, 16), load(lanes, array, 17),
        load(lanes, array, 18), load(lanes, array, 19), load(lanes, array, 20),
    )  # fmt: skip
