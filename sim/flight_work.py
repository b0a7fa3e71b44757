"""What one call of the flight kernel is given: what all its flights share, and its scratch."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim.avionics.memory import MEMORY, SETTINGS
from sim.avionics.seam import AT_REST, BELIEF, COMMAND, SAMPLE
from sim.flight_honesty import SCRATCH
from sim.flight_records import CARRY, INPUTS, OUTCOMES, STATE
from sim.lanes import lane_rows
from sim.physics.standing import POINTS, ROWS, Design


class Plan(NamedTuple):
    """Numbers that are the same for all flights of a call."""

    interval: float  # s, tick of the flight computer
    longest_step: float  # s, of integration; a little over the tick for one step a tick
    most_ticks: int
    most_settle_ticks: int  # after the first touch
    period: int  # ticks after which all that is done in turns is at the same turn again
    inertial_every: int  # ticks between samples of the inertial unit
    trace_every: int  # ticks between rows of a trace
    built_in: bool  # the built-in flight computer flies, or one that only keeps time
    design: Design  # of the legs


class Tables(NamedTuple):
    """Curves and tables that are the same for all flights of a call; float64, one-dimensional."""

    ascent_curve: np.ndarray  # s then N, see sim.physics.motor
    landing_curve: np.ndarray
    legs: np.ndarray  # sines then cosines of the feet's azimuths
    wind_east: np.ndarray  # measured wind profile, see sim.physics.wind
    wind_north: np.ndarray
    air: np.ndarray  # forces of the air, see sim.physics.aerodynamics.tabled_loads
    ignition: np.ndarray  # what the flight computer was told, see sim.avionics.computer
    push: np.ndarray


class Queue(NamedTuple):
    """Flights that have touched and wait for a lane to come to rest in; see sim.flight_handing."""

    columns: np.ndarray  # int64, by turn
    turns: np.ndarray  # int64[2, period], first and end of those whose turn it is, in `columns`


class Work(NamedTuple):
    """Scratch of one call, float64 (fields, width) each but for the first two."""

    columns: np.ndarray  # int64[width], flight in each lane, -1 for none
    keys: np.ndarray  # uint64[1, width], its run number

    inputs: np.ndarray
    carry: np.ndarray
    outcomes: np.ndarray
    rest: np.ndarray
    sample: np.ndarray
    command: np.ndarray
    belief: np.ndarray
    settings: np.ndarray
    memory: np.ndarray
    state: np.ndarray  # of flights that touch in a tick
    memory_kept: np.ndarray  # while some flights' computers begin anew
    points: np.ndarray  # see sim.physics.standing
    honesty: np.ndarray  # scratch of sim.flight_honesty


def work_arrays(width):
    """Scratch arrays for one call of `fly` at a width."""
    names = (
        INPUTS, CARRY, OUTCOMES, AT_REST, SAMPLE, COMMAND, BELIEF, SETTINGS, MEMORY, STATE, MEMORY,
    )  # fmt: skip
    arrays = [lane_rows(len(fields), width) for fields in names]
    held = np.zeros(width, dtype=np.int64), lane_rows(1, width, np.uint64)
    return Work(*held, *arrays, lane_rows(POINTS * ROWS, width), lane_rows(SCRATCH, width))
