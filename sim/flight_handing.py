"""How flights go from one call of the kernel to the next, at the first touch.

The first call hands every flight over as it touches. In the second a lane whose flight is over
takes the next one from a queue, so that none waits for the slowest of its group.
"""

from __future__ import annotations

import numpy as np

from sim.flight_records import CARRY, HANDED_ROWS
from sim.lanes import load, part, store
from sim.physics.rigid_body import State

CARRY_STARTING, CARRY_FLYING, CARRY_SETTLED, CARRY_LATE = (
    CARRY.index(name) for name in ("starting", "flying", "settled", "late")
)


def handed_over(flights):
    """Array in which flights are handed from the first call to the second."""
    return np.zeros((flights, HANDED_ROWS))


@part
def hand_over(count, state, handed, work):
    """Keep all that a flight is, in the tick of its first touch."""
    for i in range(len(state)):
        store(work.state, i, state[i])
    for lane in range(len(work.columns)):
        if work.carry[CARRY_STARTING, lane] > 0.5:
            column, row = work.columns[lane], 0
            for array in (
                work.state, work.carry, work.rest, work.sample, work.command, work.belief,
                work.memory,
            ):  # fmt: skip
                for i in range(array.shape[0]):
                    handed[column, row] = array[i, lane]
                    row += 1
            handed[column, row] = count


@part
def touched_at(column, handed):
    """Number of the tick in which a flight touched."""
    return np.int64(handed[column, HANDED_ROWS - 1])


@part
def take_over(count, period, handed, inputs, runs, outcomes, work):
    """Load the flights that are waiting in a lane and whose turn is now; return how many.

    A flight's own tick differs from `count` by a multiple of the period, so that what is done every
    so many ticks is done in all lanes at once, and in none out of turn.
    """
    found = 0
    for lane in range(len(work.columns)):
        column = work.columns[lane]
        work.carry[CARRY_STARTING, lane] = 0.0
        free = column >= 0 and work.carry[CARRY_FLYING, lane] < 0.5
        if free and (count - touched_at(column, handed)) % period == 0:
            found += 1
            row = 0
            for array in (
                work.state, work.carry, work.rest, work.sample, work.command, work.belief,
                work.memory,
            ):  # fmt: skip
                for i in range(array.shape[0]):
                    array[i, lane] = handed[column, row]
                    row += 1
            for i in range(work.outcomes.shape[0]):
                work.outcomes[i, lane] = outcomes[i, column]
            for i in range(work.inputs.shape[0]):
                work.inputs[i, lane] = inputs[i, column]
            work.keys[0, lane] = runs[column]
            work.carry[CARRY_FLYING, lane] = 1.0
            work.carry[CARRY_LATE, lane] = count - touched_at(column, handed)
    return found


@part
def next_in_line(count, queue):
    """Take from the queue the flight whose turn comes first from this tick on; -1 if none waits."""
    period = queue.turns.shape[1]
    for ahead in range(period):
        turn = (count + ahead) % period
        place = queue.turns[0, turn]
        if place < queue.turns[1, turn]:
            queue.turns[0, turn] = place + 1
            return queue.columns[place]
    return np.int64(-1)


@part
def write_settled(count, queue, outcomes, work):
    """Write down the flights that are over in this tick, and put the next ones into their lanes.

    Returns how many those are; they begin in the next tick at the earliest.
    """
    waiting = 0
    for lane in range(len(work.columns)):
        if work.carry[CARRY_SETTLED, lane] > 0.5:
            for i in range(work.outcomes.shape[0]):
                outcomes[i, work.columns[lane]] = work.outcomes[i, lane]
            work.columns[lane] = next_in_line(count + 1, queue)
            if work.columns[lane] >= 0:
                waiting += 1
    return waiting


@part
def when_to_settle(columns, queued, plan, handed):
    """Tick of the first touch among the first flights, and one by which all must be over."""
    first = touched_at(columns[0], handed)
    last = first
    for lane in range(len(columns)):
        tick = touched_at(columns[lane], handed)
        if tick < first:
            first = tick
        if tick > last:
            last = tick
    return first, last + (plan.most_settle_ticks + plan.period) * (queued + 1)


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
