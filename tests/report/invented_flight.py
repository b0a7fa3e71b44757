"""A flight for pictures: up and down a parabola. Invented, and no vehicle flies like that."""

import math

import numpy as np

from sim.report.flight_body import Body
from sim.report.flight_sheet import Pad, Sheet

PAD = Pad(4.0, 0.0, 0.0, 3.0)
BODY = Body(
    length=1.0, diameter=0.1, nose_length=0.2, stage_end=1.3, cg=0.6, unit=(0.3, 0.02, 0.0),
    foot_azimuths=tuple(math.radians(90.0 * i) for i in range(4)),
    foot_open=(1.1, 0.3), foot_folded=(0.8, 0.08), hinge=(0.9, 0.05),
)  # fmt: skip
OPENS = 7.0  # s
LEAN = 0.01  # rad/s, towards east


def sheet(pad=PAD, body=None):
    """Make its sheet; with a body, what the trace of a whole vehicle has too."""
    time = np.arange(0.0, 9.0, 0.05)
    zero = np.zeros_like(time)
    up = 20.0 * time - 2.22 * time**2 + 0.6
    lean = LEAN * time
    # nose up is a turn by -90 deg about north's opposite: half angles of 90 deg less the lean
    half = 0.5 * (0.5 * math.pi - lean)
    line = {
        "time": time, "east": 0.4 * time, "north": zero, "up": up, "velocity_east": zero + 0.4,
        "velocity_north": zero, "velocity_up": 20.0 - 4.44 * time, "tilt": lean,
        "quaternion_0": np.cos(half), "quaternion_1": zero, "quaternion_2": -np.sin(half),
        "quaternion_3": zero, "throttle": zero + 1.0, "gimbal_y": zero, "gimbal_z": zero,
        "height_feet": up - 0.6,
    }  # fmt: skip
    times = {
        "lift_off_time": 0.1, "ascent_burn_out_time": 1.6, "separation_time": 2.0,
        "apogee_time": 4.5, "landing_light_time": 6.5,
    }  # fmt: skip
    if body is not None:
        _add_body(line, body)
    return Sheet("Made up: in the air", 1, pad, times, line, body)


def _add_body(line, body):
    """Place the inertial unit, and the feet: folded, and open from `OPENS` on."""
    sine, cosine = np.sin(line["tilt"]), np.cos(line["tilt"])
    station, right, _down = body.unit
    # body x is (sine, 0, cosine) in east, north, up; z, a quarter turn on, has no part here
    y = (np.zeros_like(sine), np.ones_like(sine), np.zeros_like(sine))
    ahead = body.cg - station
    way = (
        line["east"] + ahead * sine + right * y[0], line["north"] + right * y[1],
        line["up"] + ahead * cosine + right * y[2],
    )  # fmt: skip
    for axis, place in zip(("east", "north", "up"), way, strict=True):
        line[f"true_unit_{axis}"] = place - place[0]
        line[f"believed_{axis}"] = line[f"true_unit_{axis}"] + 0.01 * line["time"]
    nose = line["up"] + body.cg * cosine
    places = (body.foot_folded, body.foot_open)
    lowest = [nose - at * cosine - radius * sine for at, radius in places]
    line["height_feet"] = np.where(line["time"] < OPENS, *lowest)
    line["thrust_ascent"] = np.where(line["time"] < 1.6, 40.0, 0.0)
    line["thrust_landing"] = np.where(line["time"] > 6.5, 20.0, 0.0)
