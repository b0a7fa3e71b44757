"""Eight flights at once through the real flight loop, with a trace of each.

All whole-flight tests of this folder go through here, so that one compiled kernel serves them all:
width 8, a trace, any inputs. A test names the inputs that it changes (`sim.flight_records.INPUTS`);
everything else comes from a scenario.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sim.ensemble.fly_runs import load_computer
from sim.ensemble.prepare import flight_inputs
from sim.flight import fly
from sim.flight_handing import handed_over
from sim.flight_records import INPUTS, OUTCOMES, TOUCHED, TRACE
from sim.flight_work import Queue, work_arrays
from sim.lanes import lane_types
from sim.scenario import load_scenario

WIDTH = 8
DATA = Path(__file__).parent / "data"
BRICK = DATA / "brick.toml"  # a body in empty space, nothing acts on it
HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"
STANDARD_GRAVITY = 9.80665


@dataclass
class Flown:
    """What eight flights wrote; `time` (n,) is that of the state in each row of the trace."""

    time: np.ndarray
    trace: dict[str, np.ndarray]  # (n, 8)
    outcomes: dict[str, np.ndarray]  # (8,)

    def __getitem__(self, name):
        return self.trace[name]

    def row(self, time):
        """Index of the trace's row at a time on the grid of the ticks."""
        index = int(np.argmin(np.abs(self.time - time)))
        assert abs(self.time[index] - time) < 1e-9
        return index

    def at(self, time, lane, *names):
        """Numbers of one lane at a time."""
        return np.array([self.trace[name][self.row(time), lane] for name in names])

    def quaternion(self, time, lane):
        return self.at(time, lane, *(f"quaternion_{i}" for i in range(4)))

    def rates(self, time, lane):
        return self.at(time, lane, "rate_x", "rate_y", "rate_z")


def fly_eight(scenario=None, changes=None, *, longest, tick=None, seed=1, curves=None,
              settle=0.0, steps=None):  # fmt: skip
    """Fly eight flights and keep their traces.

    Parameters
    ----------
    scenario : Scenario
        By default the body in empty space.
    changes : dict of str to float or array (8,)
        Inputs of the kernel that differ from the scenario's central values.
    longest : float [s]
    tick : float [s]
        Length of the control tick, which is the longest integration step.
    curves : dict of str to array
        Fields of `sim.flight.Tables` to put in place of the scenario's.
    settle : float [s]
        How long after the first touch flights are followed at most; 0 ends them there.
    steps : int
        Contact steps in a tick.
    """
    scenario = scenario or load_scenario(BRICK)
    loaded = load_computer(scenario)
    inputs = flight_inputs({}, scenario, WIDTH)
    for name, value in (changes or {}).items():
        inputs[INPUTS.index(name)] = value
    plan = loaded.plan
    tick = tick or plan.interval
    # a row is written at the start of a tick: one more shows the end
    plan = plan._replace(
        interval=tick,
        longest_step=1.01 * tick,
        most_ticks=round(longest / tick) + 1,
        trace_every=1,
        period=2**40,  # all keep the clock of the call, so that the rows of the trace are theirs
        most_settle_ticks=round(settle / tick) + 3,
    )
    if steps:
        plan = plan._replace(design=plan.design._replace(steps=steps))
    rows = plan.most_ticks + plan.most_settle_ticks
    traces = np.zeros((rows * len(TRACE), WIDTH))
    outcomes = np.empty((len(OUTCOMES), WIDTH))
    groups = np.arange(WIDTH).reshape(1, WIDTH)
    tables = loaded.tables._replace(**(curves or {}))
    handed, work = handed_over(WIDTH), work_arrays(WIDTH)
    inputs[INPUTS.index("settle_longest")] = settle

    nobody = Queue(np.zeros(0, dtype=np.int64), np.zeros((2, 0), dtype=np.int64))

    def call(columns, settling):
        fly(
            lane_types(WIDTH), np.uint64(seed), columns, np.arange(WIDTH, dtype=np.uint64), inputs,
            loaded.settings, settling, nobody, plan, tables, handed, outcomes, traces, work,
        )  # fmt: skip

    call(groups, False)
    touched = np.flatnonzero(outcomes[OUTCOMES.index("ending")] == TOUCHED)
    if settle > 0.0:
        assert len(touched) == WIDTH  # each in the lane of its column, so that the trace is one
        call(groups, True)
    table = traces.reshape(rows, len(TRACE), WIDTH)
    table = table[table[:, TRACE.index("mass")].max(axis=1) > 0.0]
    return Flown(
        table[:, TRACE.index("time")].max(axis=1),
        {name: table[:, i] for i, name in enumerate(TRACE)},
        dict(zip(OUTCOMES, outcomes, strict=True)),
    )


def burning(thrust, flow, seconds=100.0):
    """A motor with a constant thrust and mass flow: curve, and inputs of the ascent motor.

    The curve is longer than any test; nothing of the vehicle but the motor is set.
    """
    curve = np.array([0.0, seconds, seconds + 1e-3, thrust, thrust, 0.0])
    total = thrust * (seconds + 0.5e-3)
    inputs = {
        "has_stage": 1.0, "ascent_delay": 0.0, "ascent_thrust_scale": 1.0,
        "ascent_time_scale": 1.0, "ascent_total": total,
        "ascent_propellant": flow * total / thrust,
    }  # fmt: skip
    return curve, inputs


def rotation(q):
    """Matrix, body to local, of a quaternion with the scalar first (for vectors v' = q v q*)."""
    s, v = q[0], np.asarray(q[1:])
    cross = np.array([[0.0, -v[2], v[1]], [v[2], 0.0, -v[0]], [-v[1], v[0], 0.0]])
    return (s * s - v @ v) * np.eye(3) + 2.0 * np.outer(v, v) + 2.0 * s * cross


def quaternion_product(a, b):
    scalar = a[0] * b[0] - np.dot(a[1:], b[1:])
    vector = a[0] * np.asarray(b[1:]) + b[0] * np.asarray(a[1:]) + np.cross(a[1:], b[1:])
    return np.array([scalar, *vector])


def same_attitude(a, b):
    """Angle between two attitudes [rad]; q and -q are the same."""
    conjugate = np.array([a[0], -a[1], -a[2], -a[3]])
    turn = quaternion_product(conjugate, b)
    return 2.0 * np.arcsin(min(1.0, float(np.linalg.norm(turn[1:]))))
