"""How the flight computer uses its aids: readings compared with what is believed, for the filter.

Places are from the aft end of the vehicle at launch. The satellite receiver's and the barometer's
readings count from their means over the wait on the launch pad, where the computer knows it stands,
so that what is wrong with them for good cancels; the range finder counts from the plane of the
landing pad. The arm from the inertial unit to an aid is turned by the attitude of now, also for a
reading that comes late.
"""

from sim.avionics.filter import (
    COVARIANCE,
    FILTER_TICKS,
    READ,
    axes_of,
    correct,
    keep_place,
    kept_at,
    move_on,
    start_filter,
    take_in,
)
from sim.avionics.filter_memory import MEASURED, MEASURED_FIELDS, PAST, STATES
from sim.avionics.rotation import cross, rotate
from sim.avionics.seam import CLIMB, DOWN, LANDING
from sim.lanes import any_lane, apart, load, maximum, not_, part, room, spread, sqrt, store, where

LEAST_UPRIGHT = 0.5  # cosine of the tilt beyond which the range finder is not listened to


@room
def start_aids(lanes, rest, settings, memory_array, memory):
    """Covariance at launch, and where the aids stand there."""
    start_filter(lanes, settings, memory_array, memory)
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    arm = rotate(q, (settings.gnss_forward, -settings.unit_y, -settings.unit_z))
    memory.antenna_east, memory.antenna_north = memory.east + arm[0], memory.north + arm[1]
    memory.antenna_up = memory.up + arm[2]
    arm = rotate(q, (settings.barometer_forward, -settings.unit_y, -settings.unit_z))
    memory.port_up = memory.up + arm[2]
    memory.rest_gnss_east, memory.rest_gnss_north = rest.rest_gnss_east, rest.rest_gnss_north
    memory.rest_gnss_up = rest.rest_gnss_up
    memory.rest_barometer_height = rest.rest_barometer_height


@part
def put(array, place, whole, tilts, off, variance, flag):
    """Write one scalar: its coefficients, believed less measured, variance, whether it counts."""
    row = READ + MEASURED_FIELDS * place
    store(array, row, whole)
    store(array, row + 1, tilts[0])
    store(array, row + 2, tilts[1])
    store(array, row + 3, tilts[2])
    store(array, row + 4, off)
    store(array, row + 5, variance)
    store(array, row + 6, flag)


@apart
def compare_fix(lanes, slot, sample, counts, array, memory, settings):
    """Six scalars of a fix: place, then velocity."""
    place, velocity, known = kept_at(lanes, slot, sample.gnss_time, array)
    flag = where(counts & (sample.gnss_valid > 0.5), known, 0.0)
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    arm = settings.gnss_forward, -settings.unit_y, -settings.unit_z
    swing = rotate(q, cross((memory.rate_x, memory.rate_y, memory.rate_z), arm))
    arm = rotate(q, arm)
    level, rise = settings.gnss_horizontal, settings.gnss_vertical
    one, zero = spread(lanes, 1.0), spread(lanes, 0.0)
    off = place[0] + arm[0] - memory.antenna_east - sample.gnss_east + memory.rest_gnss_east
    put(array, 0, one, (zero, arm[2], -arm[1]), off, level, flag)
    off = place[1] + arm[1] - memory.antenna_north - sample.gnss_north + memory.rest_gnss_north
    put(array, 1, one, (-arm[2], zero, arm[0]), off, level, flag)
    off = place[2] + arm[2] - memory.antenna_up - sample.gnss_up + memory.rest_gnss_up
    put(array, 2, one, (arm[1], -arm[0], zero), off, rise, flag)
    level, rise = settings.gnss_velocity_horizontal, settings.gnss_velocity_vertical
    off = velocity[0] + swing[0] - sample.gnss_velocity_east
    put(array, 3, one, (zero, swing[2], -swing[1]), off, level, flag)
    off = velocity[1] + swing[1] - sample.gnss_velocity_north
    put(array, 4, one, (-swing[2], zero, swing[0]), off, level, flag)
    off = velocity[2] + swing[2] - sample.gnss_velocity_up
    put(array, 5, one, (swing[1], -swing[0], zero), off, rise, flag)


@apart
def compare_heights(lanes, slot, sample, counts, array, memory, settings):
    """One scalar of the barometer, compared where its lag puts it, and one of the range finder."""
    one, zero = spread(lanes, 1.0), spread(lanes, 0.0)
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    place, velocity, known = kept_at(
        lanes, slot, sample.barometer_time - settings.barometer_lag, array
    )
    flag = where(counts & (sample.barometer_valid > 0.5), known, 0.0)
    arm = rotate(q, (settings.barometer_forward, -settings.unit_y, -settings.unit_z))
    off = place[2] + arm[2] - memory.port_up
    off = off - sample.barometer_height + memory.rest_barometer_height
    squared = velocity[0] * velocity[0] + velocity[1] * velocity[1] + velocity[2] * velocity[2]
    burning = (memory.phase == CLIMB) | (memory.phase == LANDING)
    variance = settings.barometer_variance + settings.barometer_by_speed * squared * squared
    variance = variance + where(burning, settings.barometer_by_motor, 0.0)
    put(array, 6, one, (arm[1], -arm[0], zero), off, variance, flag)

    x, _, _ = axes_of(q)
    arm = rotate(q, (settings.range_forward, -settings.unit_y, -settings.unit_z))
    upright = maximum(x[2], LEAST_UPRIGHT)
    height = memory.up + arm[2] + settings.launch_height
    near = counts & (sample.range_valid > 0.5) & (x[2] > LEAST_UPRIGHT)
    share = height / (upright * upright)
    tilts = arm[1] / upright - share * x[1], share * x[0] - arm[0] / upright, zero
    off = height / upright - sample.range_distance
    put(array, 7, 1.0 / upright, tilts, off, settings.range_variance, where(near, 1.0, 0.0))


@room
def make_good_lag(moves, memory, settings):
    """The unit's low pass leaves the velocity short by its lag times the specific force of now.

    Reckoned by itself a computer leaves it so: it comes and goes with the push. A filter that is
    told nothing of it takes it for an error of its aids.
    """
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    east, north, up = rotate(q, (memory.force_x, memory.force_y, memory.force_z))
    up = up - settings.gravity  # none of it as it stood at rest
    east, north, up = settings.late * east, settings.late * north, settings.late * up
    more_east, more_north = east - memory.late_east, north - memory.late_north
    more_up = up - memory.late_up
    memory.velocity_east = where(moves, memory.velocity_east + more_east, memory.velocity_east)
    memory.velocity_north = where(moves, memory.velocity_north + more_north, memory.velocity_north)
    memory.velocity_up = where(moves, memory.velocity_up + more_up, memory.velocity_up)
    memory.late_east = where(moves, east, memory.late_east)
    memory.late_north = where(moves, north, memory.late_north)
    memory.late_up = where(moves, up, memory.late_up)


@room
def use_aids(lanes, count, sample, interval, flying, memory_array, memory, settings):
    """One tick of the filter, after the reckoning: move the covariance on, take readings in.

    Parameters
    ----------
    count : int
        Number of the tick.
    interval : lanes [s]
        Reckoned in this tick.
    flying : mask
        Lift-off has been noticed.
    """
    make_good_lag(flying & (interval > 0.0), memory, settings)
    memory.carried_interval = memory.carried_interval + where(flying, interval, 0.0)
    slot = (count // FILTER_TICKS) % PAST
    if count % FILTER_TICKS == 0:
        move_on(lanes, flying, memory_array, memory, settings)
        keep_place(slot, sample.time, flying, memory_array, memory)
    counts = flying & not_(memory.phase == DOWN)
    fix = counts & (sample.gnss_valid > 0.5)
    height = counts & ((sample.barometer_valid > 0.5) | (sample.range_valid > 0.5))
    if any_lane(fix | height):
        zero = spread(lanes, 0.0)
        for place in range(MEASURED):
            store(memory_array, READ + MEASURED_FIELDS * place + 6, zero)
        if any_lane(fix):
            compare_fix(lanes, slot, sample, counts, memory_array, memory, settings)
        if any_lane(height):
            compare_heights(lanes, slot, sample, counts, memory_array, memory, settings)
        changed = take_in(lanes, memory_array, memory, settings) > 0.5
        if any_lane(changed):
            correct(lanes, sample.time, changed, memory_array, memory)


@part
def deviation(lanes, array, i):
    """Standard deviation of one error."""
    return sqrt(maximum(load(lanes, array, COVARIANCE + (STATES + 1) * i), 0.0))


@part
def covariance(lanes, array, i, j):
    """Covariance of two errors."""
    return load(lanes, array, COVARIANCE + STATES * i + j)


@apart
def tell(lanes, array, memory, belief):
    """Write what the filter says of itself into the record of what is believed."""
    belief.deviation_east = deviation(lanes, array, 0)
    belief.deviation_north = deviation(lanes, array, 1)
    belief.deviation_up = deviation(lanes, array, 2)
    belief.deviation_velocity_east = deviation(lanes, array, 3)
    belief.deviation_velocity_north = deviation(lanes, array, 4)
    belief.deviation_velocity_up = deviation(lanes, array, 5)
    belief.covariance_1_0 = covariance(lanes, array, 1, 0)
    belief.covariance_2_0 = covariance(lanes, array, 2, 0)
    belief.covariance_2_1 = covariance(lanes, array, 2, 1)
    belief.covariance_3_0 = covariance(lanes, array, 3, 0)
    belief.covariance_3_1 = covariance(lanes, array, 3, 1)
    belief.covariance_3_2 = covariance(lanes, array, 3, 2)
    belief.covariance_4_0 = covariance(lanes, array, 4, 0)
    belief.covariance_4_1 = covariance(lanes, array, 4, 1)
    belief.covariance_4_2 = covariance(lanes, array, 4, 2)
    belief.covariance_4_3 = covariance(lanes, array, 4, 3)
    belief.covariance_5_0 = covariance(lanes, array, 5, 0)
    belief.covariance_5_1 = covariance(lanes, array, 5, 1)
    belief.covariance_5_2 = covariance(lanes, array, 5, 2)
    belief.covariance_5_3 = covariance(lanes, array, 5, 3)
    belief.covariance_5_4 = covariance(lanes, array, 5, 4)
    belief.innovation_sum, belief.innovation_count = memory.innovation_sum, memory.innovation_count
    belief.refused_count = memory.refused_count
