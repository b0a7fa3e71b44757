"""The computer as a whole: nothing lingers from an earlier flight, and the idle one keeps time."""

from __future__ import annotations

import numpy as np

from sim.avionics import seam
from sim.avionics.computer import idle_tick
from sim.lanes import kernel, lane_types
from tests.avionics.heron_numbers import heron
from tests.avionics.on_board import (
    WIDTH,
    OnBoard,
    Rows,
    belief_record,
    command_record,
    sample_record,
    settings_record,
)

GRAVITY = 9.80665


def thrown(board, ticks=120):
    """Stand, be pushed off, tumble a little; returns what is believed and commanded."""
    board.count = 0
    board.begin([GRAVITY, 0.0, 0.0])
    for count in range(ticks):
        board.tick([0.1, 0.05, -0.02], [30.0 if count > 10 else GRAVITY, 0.1, 0.0])
    return board.belief.array.copy(), board.command.array.copy()


def test_start__forgets_the_flight_before():
    board = OnBoard(heron({"inertial.gyro.noise": 1e-4}))
    first, again = thrown(board), thrown(board)
    np.testing.assert_array_equal(first[0], again[0])
    np.testing.assert_array_equal(first[1], again[1])


def test_tick__a_lane_does_not_see_its_neighbours():
    scenario = heron({"inertial.gyro.noise": 1e-4, "inertial.accelerometer.noise": 1e-3})
    alone = thrown(OnBoard(scenario, first_flight=3))
    among = thrown(OnBoard(scenario, first_flight=0))
    np.testing.assert_array_equal(alone[0][:, 0], among[0][:, 3])
    np.testing.assert_array_equal(alone[1][:, 0], among[1][:, 3])


def test_tick__no_sample_no_news():
    """A tick between samples keeps the last rates and reckons nothing."""
    board = OnBoard(heron())
    believed, _ = thrown(board)
    kept = board.memory.rate_x.copy()
    board.tick([9.0, 9.0, 9.0], [90.0, 9.0, 9.0], sampled=False)
    np.testing.assert_array_equal(board.belief.array, believed)
    np.testing.assert_array_equal(board.memory.rate_x, kept)
    board.tick([9.0, 9.0, 9.0], [90.0, 9.0, 9.0])
    assert np.all(board.belief.up > believed[seam.BELIEF.index("up")])


@kernel
def idle(lanes, sample, settings, command, belief):
    idle_tick(
        lanes,
        sample_record(lanes, sample),
        settings_record(lanes, settings),
        command_record(lanes, command),
        belief_record(lanes, belief),
    )


def test_idle__lights_and_drops_by_the_clock():
    settings = OnBoard(heron()).settings
    sample, command, belief = Rows(seam.SAMPLE), Rows(seam.COMMAND), Rows(seam.BELIEF)
    sample.time[:] = np.arange(WIDTH)  # 0 to 7 s; ascent burn-out at 1.6 s, ignition at 7 s
    idle(lane_types(WIDTH), sample.array, settings, command.array, belief.array)
    np.testing.assert_array_equal(command.ignite_ascent, np.ones(WIDTH))
    np.testing.assert_array_equal(command.separate, sample.time > 1.5)
    np.testing.assert_array_equal(command.ignite_landing, sample.time > 6.5)
    np.testing.assert_array_equal(command.throttle, np.ones(WIDTH))
    assert not command.gimbal_y.any()
    assert not command.wheel_x.any()
