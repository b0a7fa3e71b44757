"""The whole avionics behind two compiled calls, so that a test's world can be plain numpy.

`OnBoard` stands on the launch pad with `begin`, then takes one tick at a time: true mean rate and
specific force in, commands and beliefs out, each an array over the lanes.
"""

from __future__ import annotations

import numpy as np
from numba import uint64

from sim.avionics import seam
from sim.avionics.computer import start, tick
from sim.avionics.memory import MEMORY, SETTINGS
from sim.avionics.sensors import CARRY, INPUTS, at_rest, inertial_sample
from sim.ensemble.prepare_inertial import inertial_fields
from sim.ensemble.settings import computer_settings
from sim.lanes import kernel, lane_record, lane_types, load, spread

STEP = 0.005
WIDTH = 8

rest_record = lane_record("rest", seam.AT_REST)
sample_record = lane_record("sample", seam.SAMPLE)
command_record = lane_record("command", seam.COMMAND)
belief_record = lane_record("belief", seam.BELIEF)
settings_record = lane_record("settings", SETTINGS)
memory_record = lane_record("memory", MEMORY)
inputs_record = lane_record("inputs", INPUTS)
carry_record = lane_record("carry", CARRY)


@kernel
def run(
    lanes, seed, flights, count, sampled, motion, settings_array, heights, pushes, inputs, carry,
    rest_array, sample_array, memory_array, command_array, belief_array,
):  # fmt: skip
    """Tick number count; count -1 stands on the launch pad. motion: rates, forces, vibration."""
    flight = load(lanes, flights, 0)
    settings, memory = settings_record(lanes, settings_array), memory_record(lanes, memory_array)
    p, w = inputs_record(lanes, inputs), carry_record(lanes, carry)
    rest, sample = rest_record(lanes, rest_array), sample_record(lanes, sample_array)
    command, belief = command_record(lanes, command_array), belief_record(lanes, belief_array)
    rate = load(lanes, motion, 0), load(lanes, motion, 1), load(lanes, motion, 2)
    force = load(lanes, motion, 3), load(lanes, motion, 4), load(lanes, motion, 5)
    if count < 0:
        at_rest(lanes, seed, flight, force, p, w, rest)
        start(lanes, rest, settings, memory_array, memory)
    else:
        sample.time = spread(lanes, STEP * (count + 1))
        sample.inertial_valid = spread(lanes, 0.0)
        if sampled:
            vibration = load(lanes, motion, 6)
            inertial_sample(
                lanes, seed, flight, count, count, STEP, rate, force, vibration, p, w, sample
            )
        tick(lanes, count, sample, settings, heights, pushes, memory_array, memory, command, belief)


def filled(names, values, width=WIDTH):
    """An array (fields, width) from values by name."""
    return np.array([np.broadcast_to(values[name], width) for name in names], dtype=np.float64)


class Rows:
    """An array (fields, width) whose rows are read by name."""

    def __init__(self, names):
        self.names, self.array = names, np.zeros((len(names), WIDTH))

    def __getattr__(self, name):
        return self.array[self.names.index(name)]


class OnBoard:
    """Sensors and flight computer of eight flights."""

    def __init__(self, scenario, errors=None, settings=None, seed=1, first_flight=0):
        own, tables = computer_settings(scenario)
        self.settings = filled(SETTINGS, own | (settings or {}))
        self.heights, self.pushes = tables["ignition_height"], tables["landing_push"]
        self.inputs = filled(INPUTS, inertial_fields(errors or {}, scenario))
        self.rest, self.sample = Rows(seam.AT_REST), Rows(seam.SAMPLE)
        self.command, self.belief = Rows(seam.COMMAND), Rows(seam.BELIEF)
        self.memory, self.carry = Rows(MEMORY), np.zeros((len(CARRY), WIDTH))
        self.flights = (first_flight + np.arange(WIDTH, dtype=np.uint64)).reshape(1, WIDTH)
        self.seed, self.count = uint64(seed), 0

    def begin(self, force):
        """Stand on the launch pad; force is the specific force in body axes, three values."""
        self._run(-1, np.zeros(3), force, 0.0)

    def tick(self, rate, force, vibration=0.0, sampled=True):
        """One tick; rate and force of shape (3,) or (3, width)."""
        self._run(self.count, rate, force, vibration, sampled)
        self.count += 1

    def _run(self, count, rate, force, vibration, sampled=True):
        motion = np.zeros((7, WIDTH))
        motion[:3], motion[3:6] = np.reshape(rate, (3, -1)), np.reshape(force, (3, -1))
        motion[6] = vibration
        run(
            lane_types(WIDTH), self.seed, self.flights, count, sampled, motion, self.settings,
            self.heights, self.pushes, self.inputs, self.carry, self.rest.array, self.sample.array,
            self.memory.array, self.command.array, self.belief.array,
        )  # fmt: skip
