"""Strapdown dead reckoning, and the memory of the last samples that lets it start in time.

Each sample turns the attitude by its rotation vector exactly, and adds its specific force in the
attitude of mid-interval; position follows by the trapezoid rule. With samples that are true means
(rotation vector over interval, specific force in mid-interval axes) the velocity is exact and the
position off by the change of acceleration over h^2 / 12: 0.1 mm in a flight at 200 Hz.

The computer knows that it has left only some samples late. Until then it keeps the last RING of
them; when lift-off is declared it goes back to where the specific force left its resting value,
a little further to be sure (a sample at rest adds nothing), and reckons from there.

Source: Titterton and Weston 2004, ch. 11; Savage, Strapdown inertial navigation integration
algorithm design, J. Guidance, Control, and Dynamics 21 (1998).
"""

import numpy as np

from sim.avionics.memory import RING, RING_FIELDS, RING_START
from sim.avionics.rotation import half_way, multiply, rotate
from sim.avionics.seam import CLIMB
from sim.lanes import any_lane, fma, load, part, room, spread, store, sum3, where

STILL_MARGIN = 0.5  # m/s2 of specific force above gravity that may still be noise and bias
EXTRA_SAMPLES = 2.0  # gone back before the first sample that is not still


@part
def reckon(memory, rate, force, interval, settings):
    """One sample on; an interval of zero changes nothing."""
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    half = half_way((interval * rate[0], interval * rate[1], interval * rate[2]))
    middle = multiply(q, half)
    east, north, up = rotate(middle, force)
    q = multiply(middle, half)
    # back to unit length, which rounding leaves by parts in 1e16
    length = 1.5 - 0.5 * fma(q[0], q[0], sum3(q[1], q[1], q[2], q[2], q[3], q[3]))
    moves = interval > 0.0
    memory.quaternion_0 = where(moves, length * q[0], memory.quaternion_0)
    memory.quaternion_1 = where(moves, length * q[1], memory.quaternion_1)
    memory.quaternion_2 = where(moves, length * q[2], memory.quaternion_2)
    memory.quaternion_3 = where(moves, length * q[3], memory.quaternion_3)

    height = memory.up - memory.start_up
    up = up - settings.gravity + settings.gravity_gradient * height
    gain_east, gain_north, gain_up = interval * east, interval * north, interval * up
    memory.east = memory.east + interval * (memory.velocity_east + 0.5 * gain_east)
    memory.north = memory.north + interval * (memory.velocity_north + 0.5 * gain_north)
    memory.up = memory.up + interval * (memory.velocity_up + 0.5 * gain_up)
    memory.velocity_east = memory.velocity_east + gain_east
    memory.velocity_north = memory.velocity_north + gain_north
    memory.velocity_up = memory.velocity_up + gain_up


@part
def remember(memory_array, count, rate, force, interval):
    """Write a sample over the oldest one."""
    row = RING_START + RING_FIELDS * (count % RING)
    store(memory_array, row, rate[0])
    store(memory_array, row + 1, rate[1])
    store(memory_array, row + 2, rate[2])
    store(memory_array, row + 3, force[0])
    store(memory_array, row + 4, force[1])
    store(memory_array, row + 5, force[2])
    store(memory_array, row + 6, interval)


@room
def samples_to_replay(lanes, count, memory_array, settings):
    """How many of the last samples count: all in a row that were not still, and some more."""
    samples = spread(lanes, 0.0)
    moving = spread(lanes, True)
    level = settings.gravity + STILL_MARGIN
    for age in range(RING):
        row = RING_START + RING_FIELDS * ((count - age) % RING)
        moving = moving & (load(lanes, memory_array, row + 3) > level)
        samples = samples + where(moving, 1.0, 0.0)
    return samples + EXTRA_SAMPLES


@room
def replay(lanes, count, time, lifted, memory_array, memory, settings):
    """Reckon from the back-dated moment of lift-off until now, for the lanes just lifted off."""
    samples = samples_to_replay(lanes, count, memory_array, settings)
    elapsed = spread(lanes, 0.0)
    for step in range(RING):
        age = RING - 1 - step
        taken = lifted & (samples > age)
        if any_lane(taken):
            row = RING_START + RING_FIELDS * ((count - age) % RING)
            rate = (
                load(lanes, memory_array, row),
                load(lanes, memory_array, row + 1),
                load(lanes, memory_array, row + 2),
            )
            force = (
                load(lanes, memory_array, row + 3),
                load(lanes, memory_array, row + 4),
                load(lanes, memory_array, row + 5),
            )
            interval = where(taken, load(lanes, memory_array, row + 6), 0.0)
            reckon(memory, rate, force, interval, settings)
            elapsed = elapsed + interval
    memory.lift_off_time = where(lifted, time - elapsed, memory.lift_off_time)


@room
def watch_launch_pad(lanes, count, sample, waiting, rate, force, memory_array, memory, settings):
    """Keep the sample; when enough in a row were above the threshold, lift off, back-dated."""
    valid = sample.inertial_valid > 0.5
    interval = where(valid, sample.inertial_interval, 0.0)
    remember(memory_array, count, rate, force, interval)
    above = force[0] > settings.lift_off_force
    counted = where(above, memory.above_count + 1.0, 0.0)
    memory.above_count = where(valid, counted, memory.above_count)
    lifted = waiting & (memory.above_count >= settings.lift_off_samples)
    if any_lane(lifted):
        replay(lanes, count, sample.time, lifted, memory_array, memory, settings)
        memory.phase = where(lifted, 1.0 * CLIMB, memory.phase)


@part
def never(lanes):
    """Return a time that has not come."""
    return spread(lanes, np.nan)
