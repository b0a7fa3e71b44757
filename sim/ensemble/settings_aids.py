"""Settings of the navigation filter: what it believes of the sensors' errors, no draw among them.

What an error may be comes from the scenario's laws (the spread of a bias, of the launch pad's
tilt), from believed noises, and from the way of aligning. Errors that the fifteen states do not
have are made good in the simplest way:

- misalignments and scale errors of the inertial unit act like biases that follow the specific
  force; they join as noise with a memory of FOLLOWS, and what they are at one g on the launch pad
  joins the biases. What vibration rectifies joins as such noise too;
- the unit's low pass leaves the velocity short by its lag times the specific force, which is made
  good; of that, LAG_UNKNOWN may be wrong, and joins the velocity along the nose with each change of
  the push;
- where the nose axis was zeroed at one g, its bias is gone and its scale error is what is left: the
  state of the bias stands for it;
- an error of an aid that lasts (the receiver's drift, the barometer's pressure error and plume)
  cannot be averaged away: its variance counts as often as readings come in the time over which a
  flight could average it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol

from sim.avionics.filter_memory import FILTER_SETTINGS

if TYPE_CHECKING:
    from sim.scenario import Scenario

FOLLOWS = 1.0  # s, about a burn
LAG_UNKNOWN = 0.2  # share of the lag that a unit's bandwidth leaves open, assumed
WINDOW = 4.0  # s, over which the filter averages a fix's drift: somewhat under a flight
START_PLACE, START_VELOCITY = 0.01, 0.01  # m, m/s, of reckoning from back-dated lift-off
STANDARD_GRAVITY = 9.80665


class Believed(Protocol):
    """Believed numbers and choices of a scenario, by dotted name."""

    scenario: Scenario

    def __call__(self, name: str) -> float: ...

    def has(self, part: str) -> bool: ...


def filter_settings(believed: Believed, gravity: float) -> dict[str, float]:
    """Every field of `sim.avionics.filter_memory.FILTER_SETTINGS`, SI; zeros without a filter.

    Parameters
    ----------
    believed : callable
        Of a scenario; laws are read for their spreads, never for a draw.
    gravity : float [m/s^2]
        At launch.
    """
    settings = dict.fromkeys(FILTER_SETTINGS, 0.0)
    if believed.scenario.choices.get("flight_computer.navigation") != "aided":
        return settings
    settings |= _inertial(believed, max(gravity, 1e-6))
    settings |= {
        "aided": 1.0,
        "gate": believed("flight_computer.innovation_gate") ** 2,
        "start_place": START_PLACE,
        "start_velocity": START_VELOCITY,
    }
    unit = believed("inertial.station")
    if believed.has("gnss"):
        settings |= _gnss(believed, unit)
    if believed.has("barometer"):
        settings |= _barometer(believed, unit)
    if believed.has("range_finder"):
        settings |= {
            "range_forward": unit - believed("range_finder.station"),
            "range_variance": believed("range_finder.noise") ** 2,
        }
    return settings


def _spread(believed: Believed, name: str) -> float:
    """Root mean square of an error about what is believed, of the largest axis."""
    numbers = believed.scenario.numbers
    found = (name, *(f"{name}.{axis}" for axis in "xyz"))
    rows = [numbers[one] for one in found if one in numbers]
    return max(math.hypot(row.law.spread(), row.law.mean() - row.believed) for row in rows)


def _inertial(believed: Believed, gravity: float) -> dict[str, float]:
    def gyro(name: str) -> float:
        return _spread(believed, f"inertial.gyro.{name}")

    def accelerometer(name: str) -> float:
        return _spread(believed, f"inertial.accelerometer.{name}")

    choices = believed.scenario.choices
    wait, level = believed("alignment.wait"), believed("inertial.vibration.level")
    noise, gyro_noise = (believed(f"inertial.{s}.noise") for s in ("accelerometer", "gyro"))
    instability = believed("inertial.accelerometer.instability")
    gyro_instability = believed("inertial.gyro.instability")
    mean = math.hypot(noise / math.sqrt(wait), instability) if wait > 0.0 else math.inf
    gyro_mean = gyro_noise / math.sqrt(wait) if wait > 0.0 else math.inf
    scale, turned = accelerometer("scale_factor"), accelerometer("misalignment")
    bandwidth = believed("inertial.accelerometer.bandwidth")
    late = 1.0 / (2.0 * math.pi * bandwidth) if bandwidth > 0.0 else 0.0
    shaken = accelerometer("vibration_rectification") * level**2
    gyro_shaken = gyro("vibration_rectification") * level**2
    sensitive = gyro("g_sensitivity")

    bias = math.hypot(accelerometer("bias"), turned * gravity)
    rest = bias if math.isinf(mean) else mean
    zeroing = choices["alignment.zeroing"]
    levelled = choices["alignment.attitude"] == "levelled"
    tilt = {
        "levelled": math.hypot(bias / gravity, rest / gravity),
        "measured": _spread(believed, "alignment.level_error"),
        # of a launch pad taken to be upright, on one axis
        "plumb": max(_spread(believed, "launch_pad.tilt") / math.sqrt(2.0), 1e-6),
    }[str(choices["alignment.attitude"])]
    side, tie = bias, 0.0
    if levelled:
        tie = bias**2 / gravity
    elif zeroing == "all_axes":
        side, tie = math.hypot(gravity * tilt, rest), gravity * tilt**2
    zeroed = zeroing != "none"
    nose = math.hypot(rest, scale * gravity) if zeroed else accelerometer("bias")
    averaged = math.hypot(gyro_mean, math.hypot(gyro_instability, sensitive * gravity))
    at_rest = gyro("bias") if math.isinf(gyro_mean) else averaged
    times = (
        believed("inertial.gyro.instability_time"),
        believed("inertial.accelerometer.instability_time"),
    )
    return {
        "start_tilt": tilt,
        "start_heading": _spread(believed, "alignment.heading_error"),
        "start_gyro_bias": math.hypot(at_rest, gyro_shaken),
        "start_nose_bias": nose,
        "start_side_bias": side,
        "start_tie": tie,
        "turn_noise": gyro_noise**2,
        "turn_noise_by_force": sensitive**2 * FOLLOWS,
        "push_noise": noise**2 + shaken**2 * FOLLOWS,
        "push_noise_along": 0.0 if zeroed else scale**2 * FOLLOWS,
        "push_noise_across": turned**2 * FOLLOWS,
        "late": late,
        "push_late": (LAG_UNKNOWN * late) ** 2,
        "nose_follows": 1.0 / gravity if zeroed else 0.0,
        "gyro_bias_noise": 2.0 * gyro_instability**2 / max(times[0], 1e-3),
        "force_bias_noise": 2.0 * instability**2 / max(times[1], 1e-3),
    }


def _gnss(believed: Believed, unit: float) -> dict[str, float]:
    obstructed = believed.scenario.choices["gnss.sky"] == "obstructed"
    sky = believed("gnss.obstruction") if obstructed else 1.0
    noisy = sky * believed("gnss.interference")
    rate, time = believed("gnss.rate"), believed("gnss.drift_time")
    # the drift counts from its mean over the wait
    wandered = 2.0 * -math.expm1(-WINDOW / time)
    often = max(1.0, rate * min(WINDOW, 2.0 * time))

    def place(axis: str) -> float:
        white = noisy * believed(f"gnss.noise_{axis}")
        drift = sky * believed(f"gnss.drift_{axis}")
        return white**2 + often * wandered * drift**2

    def velocity(axis: str) -> float:
        return (noisy * believed(f"gnss.velocity_noise_{axis}")) ** 2

    return {
        "gnss_forward": unit - believed("gnss.station"),
        "gnss_horizontal": place("horizontal"),
        "gnss_vertical": place("vertical"),
        "gnss_velocity_horizontal": velocity("horizontal"),
        "gnss_velocity_vertical": velocity("vertical"),
    }


def _barometer(believed: Believed, unit: float) -> dict[str, float]:
    often = max(1.0, believed("barometer.rate") * WINDOW)
    pressure = _spread(believed, "barometer.pressure_coefficient") / (2.0 * STANDARD_GRAVITY)
    drift = _spread(believed, "barometer.drift") * WINDOW
    resolution = believed("barometer.resolution")
    return {
        "barometer_forward": unit - believed("barometer.station"),
        "barometer_lag": believed("barometer.lag"),
        "barometer_variance": believed("barometer.noise") ** 2
        + resolution**2 / 12.0
        + often * drift**2,
        "barometer_by_speed": often * pressure**2,
        "barometer_by_motor": often * _spread(believed, "barometer.plume_offset") ** 2,
    }
