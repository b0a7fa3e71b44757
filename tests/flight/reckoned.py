"""Flights of the demo vehicle whose inertial unit has only the errors that a test gives it.

Each flight comes with its true way, cut off at the last tick before contact, from the moment at
which the flight computer began to reckon. Vectors are east, north, up; the place is that of the
inertial unit from where it stood.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.ensemble.draws import draw_numbers
from sim.ensemble.fly_runs import finished
from sim.ensemble.prepare import flight_inputs
from sim.flight_records import INPUTS
from sim.scenario import load_scenario
from tests.flight.eight import HERON, STANDARD_GRAVITY, WIDTH, fly_eight

DEGREE = np.pi / 180.0
TICK = 0.005
UP = np.array([0.0, 0.0, 1.0])
STILL_MARGIN, EXTRA_SAMPLES = 0.5, 2  # how far back it goes: sim/avionics/navigation.py

# inertial unit and alignment without any error
IDEAL = [
    "inertial.gyro.bias=0 deg/s", "inertial.accelerometer.bias=0 mg",
    "inertial.gyro.noise=0 deg/s/sqrt(Hz)", "inertial.accelerometer.noise=0 ug/sqrt(Hz)",
    "inertial.gyro.instability=0 deg/h", "inertial.accelerometer.instability=0 ug",
    "inertial.gyro.scale_factor=0", "inertial.accelerometer.scale_factor=0",
    "inertial.gyro.misalignment=0 deg", "inertial.accelerometer.misalignment=0 deg",
    "inertial.gyro.g_sensitivity=0 deg/s/g", "inertial.gyro.vibration_rectification=0 deg/s/g2",
    "inertial.accelerometer.vibration_rectification=0 mg/g2", "inertial.vibration.level=0 g",
    "inertial.gyro.range=1e9 deg/s", "inertial.accelerometer.range=1e9 g",
    "inertial.gyro.resolution=0 deg/s", "inertial.accelerometer.resolution=0 mg",
    "inertial.gyro.bandwidth=1e9 Hz", "inertial.accelerometer.bandwidth=1e9 Hz",
    "alignment.level_error=0 deg", "alignment.heading_error=0 deg",
    "alignment.attitude=plumb", "alignment.zeroing=none",
    "launch_pad.tilt=0 deg", "site.gravity=standard",
]  # fmt: skip
# straight up and down, so that the body axes keep their directions and vertical laws hold
STRAIGHT = [
    "wind.speed=0 m/s", "wind.turbulence=none", "landing_pad.east=0 m", "landing_pad.radius=100 m",
    "flight_computer.climb=programme", "flight_computer.climb_tilt=0 deg",
    "launch_pad.tip_off_rate=0 deg/s", "stage.side_rate=0 deg/s",
]  # fmt: skip


def ideal(*sets):
    """The demo vehicle with an inertial unit without errors, and these settings on top."""
    return load_scenario(HERON, sets=[*IDEAL, *sets])


def axis_turn(axis, angle):
    """Rotation matrix of a turn about a unit axis, by Rodrigues' formula."""
    k = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    return np.eye(3) + np.sin(angle) * k + (1.0 - np.cos(angle)) * k @ k


def on_the_launch_pad(heading, tilt=0.0, towards=0.0):
    """Matrix, body to local: body z points at the heading, the nose leans towards a direction."""
    upright = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])  # x up, y east
    lean = axis_turn([-np.cos(towards), np.sin(towards), 0.0], tilt)
    return lean @ axis_turn(UP, -heading) @ upright


def rotation_vector(matrix):
    """Small rotation vector of a matrix."""
    sines = 0.5 * np.array(
        [matrix[2, 1] - matrix[1, 2], matrix[0, 2] - matrix[2, 0], matrix[1, 0] - matrix[0, 1]]
    )
    size = np.linalg.norm(sines)
    return sines * (np.arcsin(size) / size if size > 0.0 else 1.0)


def matrices(q0, q1, q2, q3):
    """Rotation matrices (n, 3, 3), body to local, of unit quaternions."""
    rows = [
        [1 - 2 * (q2 * q2 + q3 * q3), 2 * (q1 * q2 - q0 * q3), 2 * (q1 * q3 + q0 * q2)],
        [2 * (q1 * q2 + q0 * q3), 1 - 2 * (q1 * q1 + q3 * q3), 2 * (q2 * q3 - q0 * q1)],
        [2 * (q1 * q3 - q0 * q2), 2 * (q2 * q3 + q0 * q1), 1 - 2 * (q1 * q1 + q2 * q2)],
    ]
    return np.moveaxis(np.array(rows), 2, 0)


def summed(values, axis=0):
    """Integral from the start to each tick, by the trapezoid rule."""
    pairs = 0.5 * TICK * (values[1:] + values[:-1])
    return np.concatenate((np.zeros_like(values[:1]), np.cumsum(pairs, axis=axis)))


@dataclass
class Way:
    """One flight, from the moment that reckoning began to the last tick before contact."""

    time: np.ndarray  # s since reckoning began
    clock: np.ndarray  # s since ignition
    place: np.ndarray  # (n, 3) m, true
    believed: np.ndarray  # (n, 3) m
    attitude: np.ndarray  # (n, 3, 3) true, body to local
    believed_attitude: np.ndarray
    centre: np.ndarray  # (n, 3) m, true place of the centre of gravity from the launch point
    values: dict[str, float]
    outcomes: dict[str, float]

    @property
    def error(self):
        """Believed less true place (n, 3)."""
        return self.believed - self.place

    @property
    def navigation_error(self):
        return np.array([self.outcomes[f"navigation_error_{a}"] for a in ("east", "north", "up")])

    @property
    def ignition_row(self):
        return int(np.argmin(np.abs(self.clock - self.outcomes["ignition_command_time"])))

    @property
    def ignition_error(self):
        names = (f"ignition_navigation_error_{axis}" for axis in ("east", "north", "up"))
        return np.array([self.outcomes[name] for name in names])

    @cached_property
    def fallen(self):
        """Way gone by and beyond: r(t) - r(0) + g t^2 / 2 up, the double integral of what is felt.

        Titterton and Weston, Strapdown Inertial Navigation Technology (2004), ch. 12, from memory.
        """
        return self.place + 0.5 * STANDARD_GRAVITY * self.time[:, None] ** 2 * UP

    def reckoned(self, force):
        """Place error from an error of the felt force (n, 3) in body axes: its double integral."""
        return summed(summed(np.einsum("nij,nj->ni", self.attitude, force)))

    def turned(self, rate):
        """Attitude error from a constant error (3,) of the rates in body axes, local axes."""
        return summed(self.attitude @ rate)

    @cached_property
    def felt(self):
        """Specific force (n, 3) in local axes, by differences of the place."""
        felt = np.zeros_like(self.place)
        felt[1:-1] = np.diff(self.place, 2, axis=0) / TICK**2
        felt[-1] = felt[-2]
        return felt + STANDARD_GRAVITY * UP


def ways(scenario, flights, *, seed=1, longest=14.0, nominal=False, **overrides):
    """Fly numbered runs of a scenario and follow each.

    Parameters
    ----------
    scenario : Scenario
    flights : int
        A multiple of eight.
    nominal : bool
        Nothing is drawn: central numbers, but for the overrides.
    overrides : float or array (flights,)
        Numbers given instead of drawn, by name with double underscores for dots.
    """
    values = {} if nominal else draw_numbers(scenario, seed, np.arange(flights))
    for name, given in overrides.items():
        values[name.replace("__", ".")] = np.broadcast_to(given, flights).astype(float)
    found = []
    for first in range(0, flights, WIDTH):
        mine = {name: value[first : first + WIDTH] for name, value in values.items()}
        inputs = dict(zip(INPUTS, flight_inputs(mine, scenario, WIDTH), strict=True))
        flown = fly_eight(scenario, inputs, longest=longest, seed=seed + first)
        outcomes = finished(dict(flown.outcomes), scenario, mine)
        found += [_way(flown, outcomes, mine, lane) for lane in range(WIDTH)]
    return found


def _way(flown, outcomes, values, lane):
    outcomes = {name: float(value[lane]) for name, value in outcomes.items()}
    assert np.isfinite(outcomes["contact_time"])
    last = int(np.flatnonzero(flown["flying"][:, lane] > 0.5)[-1])

    def columns(*names):
        return np.stack([flown[name][: last + 1, lane] for name in names], axis=-1)

    axes = ("east", "north", "up")
    attitude = matrices(*columns(*(f"quaternion_{i}" for i in range(4))).T)
    velocity = columns(*(f"velocity_{axis}" for axis in axes))
    pushed = np.diff(velocity, axis=0) / TICK + STANDARD_GRAVITY * UP
    along = np.einsum("ni,ni->n", pushed, attitude[1:, :, 0])
    # row k ends the interval of sample k
    moving = int(np.argmax(along > STANDARD_GRAVITY + STILL_MARGIN)) + 1
    start = max(moving - EXTRA_SAMPLES - 1, 0)
    assert abs(flown.time[start] - outcomes["lift_off_time"]) < 0.025
    keep = slice(start, last + 1)
    return Way(
        time=flown.time[keep] - flown.time[start],
        clock=flown.time[keep],
        place=columns(*(f"true_unit_{axis}" for axis in axes))[keep],
        believed=columns(*(f"believed_{axis}" for axis in axes))[keep],
        attitude=attitude[keep],
        believed_attitude=matrices(*columns(*(f"believed_quaternion_{i}" for i in range(4))).T)[
            keep
        ],
        centre=columns(*axes)[keep],
        values={name: float(value[lane]) for name, value in values.items()},
        outcomes=outcomes,
    )
