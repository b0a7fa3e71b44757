"""Initial attitude and biases, from what was measured while standing on the launch pad.

Attitude is one of three choices: `plumb` takes the vehicle to stand vertical, `levelled` takes the
mean specific force as the vertical, `measured` takes the reading of a level. The heading is always
the reading. Zeroing then declares what the accelerometers read beyond gravity in that attitude to
be bias: on the nose axis, on all axes, or not at all. The two interact: levelled accelerometers
have no side bias left to zero, and a plumb vehicle with all axes zeroed takes its own tilt for one.

Sources: Titterton and Weston, Strapdown Inertial Navigation Technology, 2004, ch. 10; Groves,
Principles of GNSS, Inertial, and Multisensor Integrated Navigation Systems, 2013, ch. 5.6.
"""

from sim.avionics.memory import LEVELLED, MEASURED
from sim.avionics.rotation import multiply
from sim.lanes import maximum, part, room, sincos, sqrt, where


@part
def believed_vertical(rest, settings):
    """Return the upward direction in body axes."""
    x, y, z = rest.rest_force_x, rest.rest_force_y, rest.rest_force_z
    length = maximum(sqrt(x * x + y * y + z * z), 1e-9)
    levelled = settings.attitude_law == LEVELLED
    measured = settings.attitude_law == MEASURED
    lean_y, _ = sincos(rest.level_tilt_y)
    lean_z, _ = sincos(rest.level_tilt_z)
    # a nose that leans towards +y has its vertical leaning towards -y
    up_y = where(levelled, y / length, where(measured, -lean_y, 0.0))
    up_z = where(levelled, z / length, where(measured, -lean_z, 0.0))
    return sqrt(maximum(1.0 - up_y * up_y - up_z * up_z, 0.0)), up_y, up_z


@part
def standing(heading):
    """Attitude of a vehicle that stands upright with body z pointing that far east of north."""
    sine, cosine = sincos(0.5 * heading)
    zero = 0.0 * heading
    base = (zero + 0.5, zero - 0.5, zero - 0.5, zero - 0.5)  # x up, y east, z north
    return multiply((cosine, zero, zero, -sine), base)


@room
def align(rest, settings, memory):
    """Write attitude, biases and the attitude to hold into the memory."""
    up = believed_vertical(rest, settings)
    upright = standing(rest.heading_reading)
    # the shortest turn that takes the vertical to the nose
    length = sqrt(2.0 + 2.0 * up[0])
    lean = ((1.0 + up[0]) / length, 0.0 * length, up[2] / length, -up[1] / length)
    attitude = multiply(upright, lean)
    memory.upright_0, memory.upright_1, memory.upright_2, memory.upright_3 = upright
    memory.quaternion_0, memory.quaternion_1 = attitude[0], attitude[1]
    memory.quaternion_2, memory.quaternion_3 = attitude[2], attitude[3]

    memory.force_bias_x = settings.zero_nose * (rest.rest_force_x - settings.gravity * up[0])
    memory.force_bias_y = settings.zero_side * (rest.rest_force_y - settings.gravity * up[1])
    memory.force_bias_z = settings.zero_side * (rest.rest_force_z - settings.gravity * up[2])
    memory.gyro_bias_x = settings.zero_gyro * rest.rest_rate_x
    memory.gyro_bias_y = settings.zero_gyro * rest.rest_rate_y
    memory.gyro_bias_z = settings.zero_gyro * rest.rest_rate_z
