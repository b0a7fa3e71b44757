"""The inertial unit: true motion in, samples with all their errors out.

Each axis of a gyro or an accelerometer reads, in this order:

1. the mean of the truth over the interval, by a triad that is turned by a small rotation vector
   (misalignment) and off in scale;
2. plus turn-on bias, drift (bias instability, a first-order Gauss-Markov process), and what
   vibration rectifies (coefficient times the mean square); a gyro also feels its own axis'
   specific force (g-sensitivity);
3. through a first-order low pass (bandwidth): the input is held over the interval, the reading is
   the mean of the output over it, so no angle or speed is lost, only late;
4. plus white noise; 5. rounded to the resolution; 6. held inside the range.

The noise density given is the random-walk coefficient N, the square root of the two-sided density:
the mean over an interval h has the standard deviation N / sqrt(h). A one-sided data-sheet figure
is larger by sqrt(2) (IEEE Std 952, annex C; Woodman, UCAM-CL-TR-696, 2007; R4.7).
"""

from sim.avionics.rotation import cross
from sim.lanes import (
    asin,
    clamp,
    floor,
    fma,
    maximum,
    normal_quad,
    part,
    rare_normal_quad,
    room,
    spread,
    sqrt,
    sum2,
)

GYRO, ACCELEROMETER, REST = 1, 2, 5  # streams of noise
DRIFT_SAMPLES = 20  # the drift of an axis moves on once in so many samples, exactly


def _axes(name):
    return tuple(f"{name}_{axis}" for axis in "xyz")


def _inputs(sensor):
    """Names of what one sensor's draw and data sheet say."""
    return (
        *_axes(f"{sensor}_bias"),
        *_axes(f"{sensor}_scale"),  # share too much
        *_axes(f"{sensor}_turn"),  # rad, rotation vector of its triad
        *_axes(f"{sensor}_vibration"),  # reading per mean square specific force
        f"{sensor}_noise",  # standard deviation of a sample
        f"{sensor}_rest_noise",  # of the mean over the wait, for a known drift at its end
        f"{sensor}_rest_drift",  # share of the drift at the end that the mean over the wait has
        f"{sensor}_drift",  # standard deviation of the drift
        f"{sensor}_drift_keep",  # share of it left after DRIFT_SAMPLES
        f"{sensor}_drift_step",  # standard deviation of what joins it in that time
        f"{sensor}_keep",  # low pass: share of the gap left after a sample
        f"{sensor}_lag",  # low pass: mean share of the gap over a sample
        f"{sensor}_range",
        f"{sensor}_resolution",
        f"{sensor}_steps",  # 1 / resolution
    )


INPUTS = (
    *_inputs("gyro"),
    *_axes("gyro_force"),  # rad/s per m/s2, g-sensitivity
    *_inputs("accelerometer"),
    "vibration_level",  # m/s2 root mean square while a motor burns, for the caller
    "level_error_y", "level_error_z",  # rad, of the level
    "heading_reading",  # rad, true heading and its error
    "wind_reading_east", "wind_reading_north",  # m/s, anemometer on the field
)  # fmt: skip

CARRY = (
    *_axes("gyro_offset"),  # bias and drift
    *_axes("gyro_output"),  # of the low pass
    *_axes("accelerometer_offset"),
    *_axes("accelerometer_output"),
)


@part
def seen(truth, scale, turn):
    """Return what a triad that is turned and off in scale makes of a vector."""
    across = cross(truth, turn)
    return (
        truth[0] + scale[0] * truth[0] + across[0],
        truth[1] + scale[1] * truth[1] + across[1],
        truth[2] + scale[2] * truth[2] + across[2],
    )


@part
def seen_rate(rate, force, vibration, p, w):
    """Gyro readings, rad/s, before the low pass."""
    x, y, z = seen(
        rate,
        (p.gyro_scale_x, p.gyro_scale_y, p.gyro_scale_z),
        (p.gyro_turn_x, p.gyro_turn_y, p.gyro_turn_z),
    )
    square = vibration * vibration
    return (
        x + w.gyro_offset_x + p.gyro_force_x * force[0] + p.gyro_vibration_x * square,
        y + w.gyro_offset_y + p.gyro_force_y * force[1] + p.gyro_vibration_y * square,
        z + w.gyro_offset_z + p.gyro_force_z * force[2] + p.gyro_vibration_z * square,
    )


@part
def seen_force(force, vibration, p, w):
    """Accelerometer readings, m/s2, before the low pass."""
    x, y, z = seen(
        force,
        (p.accelerometer_scale_x, p.accelerometer_scale_y, p.accelerometer_scale_z),
        (p.accelerometer_turn_x, p.accelerometer_turn_y, p.accelerometer_turn_z),
    )
    square = vibration * vibration
    return (
        x + w.accelerometer_offset_x + p.accelerometer_vibration_x * square,
        y + w.accelerometer_offset_y + p.accelerometer_vibration_y * square,
        z + w.accelerometer_offset_z + p.accelerometer_vibration_z * square,
    )


@room
def at_rest(lanes, seed, flight, force, p, w, rest):
    """Stand on the launch pad for the wait: fill AT_REST, start the drifts and the low passes.

    `force` is the true specific force there, in body axes [m/s2]; the body does not turn.
    """
    zero = spread(lanes, 0.0)
    drift = other_drift = noise = (zero, zero, zero, zero)
    for count in range(3):  # a loop, so that it is compiled once
        drift, other_drift, noise = other_drift, noise, rare_normal_quad(seed, flight, REST, count)
    gyro_drift, force_drift, gyro_noise = drift, other_drift, noise
    force_noise = (drift[3], other_drift[3], noise[3])

    w.gyro_offset_x = p.gyro_bias_x + p.gyro_drift * gyro_drift[0]
    w.gyro_offset_y = p.gyro_bias_y + p.gyro_drift * gyro_drift[1]
    w.gyro_offset_z = p.gyro_bias_z + p.gyro_drift * gyro_drift[2]
    w.accelerometer_offset_x = p.accelerometer_bias_x + p.accelerometer_drift * force_drift[0]
    w.accelerometer_offset_y = p.accelerometer_bias_y + p.accelerometer_drift * force_drift[1]
    w.accelerometer_offset_z = p.accelerometer_bias_z + p.accelerometer_drift * force_drift[2]

    rate = seen_rate((zero, zero, zero), force, 0.0, p, w)
    w.gyro_output_x, w.gyro_output_y, w.gyro_output_z = rate
    read = seen_force(force, 0.0, p, w)
    w.accelerometer_output_x, w.accelerometer_output_y, w.accelerometer_output_z = read

    other = (p.gyro_rest_drift - 1.0) * p.gyro_drift
    rest.rest_rate_x = rate[0] + other * gyro_drift[0] + p.gyro_rest_noise * gyro_noise[0]
    rest.rest_rate_y = rate[1] + other * gyro_drift[1] + p.gyro_rest_noise * gyro_noise[1]
    rest.rest_rate_z = rate[2] + other * gyro_drift[2] + p.gyro_rest_noise * gyro_noise[2]
    other = (p.accelerometer_rest_drift - 1.0) * p.accelerometer_drift
    noise = p.accelerometer_rest_noise
    rest.rest_force_x = read[0] + other * force_drift[0] + noise * force_noise[0]
    rest.rest_force_y = read[1] + other * force_drift[1] + noise * force_noise[1]
    rest.rest_force_z = read[2] + other * force_drift[2] + noise * force_noise[2]

    # the nose leans towards +y where the vertical leans towards -y
    squared = force[0] * force[0] + force[1] * force[1] + force[2] * force[2]
    upward = maximum(sqrt(squared), 1e-9)  # where nothing weighs, the level reads zero
    rest.level_tilt_y = p.level_error_y - asin(force[1] / upward)
    rest.level_tilt_z = p.level_error_z - asin(force[2] / upward)
    rest.heading_reading = p.heading_reading
    rest.wind_reading_east = p.wind_reading_east
    rest.wind_reading_north = p.wind_reading_north


@part
def drifted(offset, bias, keep, step, fresh):
    """Bias and drift one exact step of a Gauss-Markov process later."""
    return bias + keep * (offset - bias) + step * fresh


@part
def drift_gyro(axis, fresh, p, w):
    """Move the drift of one axis on by DRIFT_SAMPLES samples."""
    keep, step = p.gyro_drift_keep, p.gyro_drift_step
    if axis == 0:
        w.gyro_offset_x = drifted(w.gyro_offset_x, p.gyro_bias_x, keep, step, fresh)
    elif axis == 1:
        w.gyro_offset_y = drifted(w.gyro_offset_y, p.gyro_bias_y, keep, step, fresh)
    elif axis == 2:
        w.gyro_offset_z = drifted(w.gyro_offset_z, p.gyro_bias_z, keep, step, fresh)


@part
def drift_accelerometer(axis, fresh, p, w):
    """Move the drift of one axis on by DRIFT_SAMPLES samples."""
    keep, step = p.accelerometer_drift_keep, p.accelerometer_drift_step
    if axis == 0:
        bias = p.accelerometer_bias_x
        w.accelerometer_offset_x = drifted(w.accelerometer_offset_x, bias, keep, step, fresh)
    elif axis == 1:
        bias = p.accelerometer_bias_y
        w.accelerometer_offset_y = drifted(w.accelerometer_offset_y, bias, keep, step, fresh)
    elif axis == 2:
        bias = p.accelerometer_bias_z
        w.accelerometer_offset_z = drifted(w.accelerometer_offset_z, bias, keep, step, fresh)


@part
def readout(value, limit, resolution, steps):
    """Round to the nearest step and hold inside the range."""
    return clamp(resolution * floor(fma(value, steps, 0.5)), -limit, limit)


@room
def inertial_sample(
    lanes, seed, flight, number, count, interval, rate, force, vibration, p, w, sample
):  # fmt: skip
    """Take one inertial sample: writes rates, forces, interval, time and validity.

    Parameters
    ----------
    number : I lanes
        Of the sample, 0 for the first of the flight: it keys the noise.
    count : int
        The same for all lanes, and like `number` but for a multiple of DRIFT_SAMPLES: it says whose
        turn it is.
    interval : float [s]
        Since the last sample.
    rate, force : tuples of three lanes [rad/s], [m/s2]
        True means over the interval in body axes: rotation vector over interval, and specific
        force at the unit in the axes of mid-interval.
    vibration : lanes [m/s2]
        Root mean square felt at the unit; 0 when no motor burns.
    """
    axis = count % DRIFT_SAMPLES  # whose drift the fourth number of each draw moves on, if any
    value = seen_rate(rate, force, vibration, p, w)
    x, y, z = w.gyro_output_x - value[0], w.gyro_output_y - value[1], w.gyro_output_z - value[2]
    w.gyro_output_x = fma(p.gyro_keep, x, value[0])
    w.gyro_output_y = fma(p.gyro_keep, y, value[1])
    w.gyro_output_z = fma(p.gyro_keep, z, value[2])
    a = normal_quad(seed, flight, GYRO, number)
    drift_gyro(axis, a[3], p, w)
    limit, resolution, steps = p.gyro_range, p.gyro_resolution, p.gyro_steps
    lag, noise = p.gyro_lag, p.gyro_noise
    sample.rate_x = readout(value[0] + sum2(lag, x, noise, a[0]), limit, resolution, steps)
    sample.rate_y = readout(value[1] + sum2(lag, y, noise, a[1]), limit, resolution, steps)
    sample.rate_z = readout(value[2] + sum2(lag, z, noise, a[2]), limit, resolution, steps)

    value = seen_force(force, vibration, p, w)
    x = w.accelerometer_output_x - value[0]
    y = w.accelerometer_output_y - value[1]
    z = w.accelerometer_output_z - value[2]
    w.accelerometer_output_x = fma(p.accelerometer_keep, x, value[0])
    w.accelerometer_output_y = fma(p.accelerometer_keep, y, value[1])
    w.accelerometer_output_z = fma(p.accelerometer_keep, z, value[2])
    a = normal_quad(seed, flight, ACCELEROMETER, number)
    drift_accelerometer(axis, a[3], p, w)
    limit, resolution = p.accelerometer_range, p.accelerometer_resolution
    steps, lag, noise = p.accelerometer_steps, p.accelerometer_lag, p.accelerometer_noise
    sample.force_x = readout(value[0] + sum2(lag, x, noise, a[0]), limit, resolution, steps)
    sample.force_y = readout(value[1] + sum2(lag, y, noise, a[1]), limit, resolution, steps)
    sample.force_z = readout(value[2] + sum2(lag, z, noise, a[2]), limit, resolution, steps)

    sample.inertial_interval = interval
    sample.inertial_time = sample.time
    sample.inertial_valid = spread(lanes, 1.0)
