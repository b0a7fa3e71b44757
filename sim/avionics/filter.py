"""The error-state Kalman filter: its covariance, and what a reading does to it.

Fifteen states, see `sim.avionics.filter_memory`. The nominal state is that of dead reckoning; the
filter keeps the covariance of its errors. With the believed specific force f and attitude C

    place'    = velocity
    velocity' = attitude x (C f) + C accelerometer bias, on the nose times (1 - f / g) if zeroed
    attitude' = C gyro bias

(gravity's change with height is left out; what zeroing at 1 g leaves on the nose axis is an error
of scale, so it turns round with the push). The covariance moves on once in FILTER_TICKS ticks,
over what was reckoned since; it may be that much behind when a reading comes. A reading is taken in
as scalars one after another, each

    innovation = believed less measured - what the scalars before it have shown
    gain = covariance with it / (its variance + the reading's),   covariance -= gain shared^T

and only where innovation^2 / variance is below the gate. At the end the errors are taken off the
nominal state, and off the places kept for readings that come late. A late reading is compared with
the place and velocity kept at its time stamp, between two of them in a straight line; its gain is
that of now, which neglects what the latency did to the covariance.

Loops run over the rows of the memory block, so that the code stands once. Everything that a reading
changes is chosen lane by lane.

Sources: Groves, Principles of GNSS, Inertial, and Multisensor Integrated Navigation Systems, 2013,
ch. 3, 12 and 14; Bar-Shalom, Li and Kirubarajan, Estimation with Applications to Tracking and
Navigation, 2001, ch. 5 (both from memory).
"""

from sim.avionics.filter_memory import MEASURED, MEASURED_FIELDS, PAST, PAST_FIELDS, STATES
from sim.avionics.memory import MEMORY
from sim.avionics.rotation import multiply, rotate
from sim.lanes import any_lane, apart, load, maximum, minimum, part, spread, sqrt, store, where

FILTER_TICKS = 4  # ticks between moves of the covariance
COVARIANCE = MEMORY.index("covariance_0")
ERROR = MEMORY.index("error_0")
SHARED = MEMORY.index("shared_0")
READ = MEMORY.index("measured_0")
KEPT = MEMORY.index("past_0")
CHANGES = 0.3  # s, about as long as a thrust changes
LEAST_INTERVAL = 1e-9  # s
UNKNOWN_TIME = -1e30  # s, of a place that has not been kept yet
# the compiler would write out loops whose length it knows: it is told by the block's own length
OTHER_ROWS, OTHER_PAST = len(MEMORY) - STATES, len(MEMORY) - PAST


@part
def axes_of(q):
    """Return the body axes in local ones, as the columns of the attitude."""
    one, zero = 0.0 * q[0] + 1.0, 0.0 * q[0]
    x, y, z = (one, zero, zero), (zero, one, zero), (zero, zero, one)
    return rotate(q, x), rotate(q, y), rotate(q, z)


@apart
def start_filter(lanes, settings, array, memory):
    """Covariance as alignment leaves it, standing upright on the launch pad; every row written."""
    zero = spread(lanes, 0.0)
    states, past = array.shape[0] - OTHER_ROWS, array.shape[0] - OTHER_PAST
    for row in range(states * states):
        store(array, COVARIANCE + row, zero)
    for i in range(states // 5):
        side = settings.start_side_bias if i > 0 else settings.start_nose_bias
        tilt = settings.start_tilt if i < 2 else settings.start_heading
        bias, place, speed = settings.start_gyro_bias, settings.start_place, settings.start_velocity
        step = COVARIANCE + (STATES + 1) * i
        store(array, step, place * place)
        store(array, step + 3 * (STATES + 1), speed * speed)
        store(array, step + 6 * (STATES + 1), tilt * tilt)
        store(array, step + 9 * (STATES + 1), bias * bias)
        store(array, step + 12 * (STATES + 1), side * side)
    # side biases and tilt that cancel each other at rest: attitude x g up + C bias = 0
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    _, y, z = axes_of(q)
    tie = settings.start_tie
    for k in range(2):
        east, north = (y[0], y[1]) if k == 0 else (z[0], z[1])
        row = 13 + k
        store(array, COVARIANCE + STATES * 6 + row, tie * north)
        store(array, COVARIANCE + STATES * row + 6, tie * north)
        store(array, COVARIANCE + STATES * 7 + row, -(tie * east))
        store(array, COVARIANCE + STATES * row + 7, -(tie * east))
    memory.carried_push = zero + settings.gravity
    for i in range(past):
        store(array, KEPT + PAST_FIELDS * i, zero + UNKNOWN_TIME)


@apart
def keep_place(slot, time, flying, array, memory):
    """Write time, place and velocity over the oldest ones."""
    row = KEPT + PAST_FIELDS * slot
    store(array, row, where(flying, time, UNKNOWN_TIME))
    store(array, row + 1, memory.east)
    store(array, row + 2, memory.north)
    store(array, row + 3, memory.up)
    store(array, row + 4, memory.velocity_east)
    store(array, row + 5, memory.velocity_north)
    store(array, row + 6, memory.velocity_up)


@apart
def kept_at(lanes, slot, stamp, array):
    """Place and velocity at a time, between two kept ones.

    Parameters
    ----------
    slot : int
        Of the newest.
    stamp : lanes [s]

    Returns
    -------
    place, velocity : tuples of three lanes [m], [m/s]
    known : lanes
        1 where the time lies among those kept, else 0.
    """
    zero = spread(lanes, 0.0)
    east = north = up = ve = vn = vu = known = zero
    for age in range(array.shape[0] - OTHER_PAST - 1):
        late = KEPT + PAST_FIELDS * ((slot - age) % PAST)
        early = KEPT + PAST_FIELDS * ((slot - age - 1) % PAST)
        start, end = load(lanes, array, early), load(lanes, array, late)
        inside = (start > 0.5 * UNKNOWN_TIME) & (stamp >= start) & (stamp <= end) & (known < 0.5)
        share = where(inside, (stamp - start) / maximum(end - start, LEAST_INTERVAL), 0.0)
        east = where(inside, between(lanes, array, early + 1, late + 1, share), east)
        north = where(inside, between(lanes, array, early + 2, late + 2, share), north)
        up = where(inside, between(lanes, array, early + 3, late + 3, share), up)
        ve = where(inside, between(lanes, array, early + 4, late + 4, share), ve)
        vn = where(inside, between(lanes, array, early + 5, late + 5, share), vn)
        vu = where(inside, between(lanes, array, early + 6, late + 6, share), vu)
        known = where(inside, 1.0, known)
    return (east, north, up), (ve, vn, vu), known


@part
def between(lanes, array, early, late, share):
    """Between two rows in a straight line."""
    first = load(lanes, array, early)
    return first + share * (load(lanes, array, late) - first)


@apart
def move_on(lanes, flying, array, memory, settings):
    """Move the covariance on over what was reckoned since it was moved last.

    Lanes that do not fly keep what they have: nothing is added.
    """
    flying = flying & (memory.carried_interval > 0.0)
    h = where(flying, memory.carried_interval, 0.0)
    # integral of the specific force, local axes
    east = where(flying, memory.velocity_east - memory.carried_east, 0.0)
    north = where(flying, memory.velocity_north - memory.carried_north, 0.0)
    up = where(flying, memory.velocity_up - memory.carried_up + settings.gravity * h, 0.0)
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    x, y, z = axes_of(q)
    along = x[0] * east + x[1] * north + x[2] * up
    nose = h - settings.nose_follows * along
    states = array.shape[0] - OTHER_ROWS
    for line in range(2 * states):  # every column, then every row
        columns = line < STATES
        first = COVARIANCE + (line if columns else STATES * (line - STATES))
        step = STATES if columns else 1
        tilt_east = load(lanes, array, first + 6 * step)
        tilt_north = load(lanes, array, first + 7 * step)
        tilt_up = load(lanes, array, first + 8 * step)
        bx = nose * load(lanes, array, first + 12 * step)
        by = h * load(lanes, array, first + 13 * step)
        bz = h * load(lanes, array, first + 14 * step)
        gained = (
            tilt_north * up - tilt_up * north + x[0] * bx + y[0] * by + z[0] * bz,
            tilt_up * east - tilt_east * up + x[1] * bx + y[1] * by + z[1] * bz,
            tilt_east * north - tilt_north * east + x[2] * bx + y[2] * by + z[2] * bz,
        )
        for i in range(states // 5):
            gain = gained[0] if i == 0 else gained[1] if i == 1 else gained[2]
            speed = load(lanes, array, first + (3 + i) * step)
            place = load(lanes, array, first + i * step)
            store(array, first + i * step, place + h * (speed + 0.5 * gain))
            store(array, first + (3 + i) * step, speed + gain)
        gx = h * load(lanes, array, first + 9 * step)
        gy = h * load(lanes, array, first + 10 * step)
        gz = h * load(lanes, array, first + 11 * step)
        store(array, first + 6 * step, tilt_east + x[0] * gx + y[0] * gy + z[0] * gz)
        store(array, first + 7 * step, tilt_north + x[1] * gx + y[1] * gy + z[1] * gz)
        store(array, first + 8 * step, tilt_up + x[2] * gx + y[2] * gy + z[2] * gz)
    squared = (east * east + north * north + up * up) / maximum(h, LEAST_INTERVAL)
    across = settings.push_noise_across * squared
    # the unit's low pass leaves the velocity short by its lag times the force: as that steps, so
    # does the error, and stays. A change counts in one with all of the last CHANGES: what it is
    # off a smoothed force, whose square adds up to that of a step
    mean = where(flying, along / maximum(h, LEAST_INTERVAL), memory.carried_push)
    step = mean - memory.carried_push
    memory.carried_push = memory.carried_push + step * minimum(h * (1.0 / CHANGES), 1.0)
    push, along = settings.push_noise * h + across, settings.push_noise_along * squared - across
    along = along + settings.push_late * (2.0 / CHANGES) * h * step * step
    turn = settings.turn_noise * h + settings.turn_noise_by_force * squared
    gyro, force = settings.gyro_bias_noise * h, settings.force_bias_noise * h
    for i in range(states):
        row = COVARIANCE + (STATES + 1) * i
        more = 0.0 * push if i < 3 else push if i < 6 else turn if i < 9 else gyro
        more = force if i > 11 else more
        store(array, row, load(lanes, array, row) + more)
    for i in range(states // 5):
        for j in range(states // 5):
            row = COVARIANCE + STATES * (3 + i) + 3 + j
            one = x[0] if i == 0 else x[1] if i == 1 else x[2]
            other = x[0] if j == 0 else x[1] if j == 1 else x[2]
            store(array, row, load(lanes, array, row) + along * one * other)
    memory.carried_interval = where(flying, 0.0, memory.carried_interval)
    memory.carried_east = where(flying, memory.velocity_east, memory.carried_east)
    memory.carried_north = where(flying, memory.velocity_north, memory.carried_north)
    memory.carried_up = where(flying, memory.velocity_up, memory.carried_up)


@apart
def take_in(lanes, array, memory, settings):
    """Take in the scalars that stand measured, one after another; the errors they show are left.

    Returns
    -------
    changed : lanes
        1 where any was believed.
    """
    zero = spread(lanes, 0.0)
    changed = zero
    states = array.shape[0] - OTHER_ROWS
    for i in range(states):
        store(array, ERROR + i, zero)
    for m in range(states - STATES + MEASURED):
        read = READ + MEASURED_FIELDS * m
        ok = load(lanes, array, read + 6) > 0.5
        if any_lane(ok):
            measured = m if m < 6 else 2  # barometer and range see the height
            whole = load(lanes, array, read)
            east, north = load(lanes, array, read + 1), load(lanes, array, read + 2)
            up = load(lanes, array, read + 3)
            for i in range(states):
                row = COVARIANCE + STATES * i
                shared = (
                    whole * load(lanes, array, row + measured)
                    + east * load(lanes, array, row + 6)
                    + north * load(lanes, array, row + 7)
                    + up * load(lanes, array, row + 8)
                )
                store(array, SHARED + i, shared)
            variance = (
                whole * load(lanes, array, SHARED + measured)
                + east * load(lanes, array, SHARED + 6)
                + north * load(lanes, array, SHARED + 7)
                + up * load(lanes, array, SHARED + 8)
                + load(lanes, array, read + 5)
            )
            shown = (
                whole * load(lanes, array, ERROR + measured)
                + east * load(lanes, array, ERROR + 6)
                + north * load(lanes, array, ERROR + 7)
                + up * load(lanes, array, ERROR + 8)
            )
            left = load(lanes, array, read + 4) - shown
            scaled = left / variance
            normalised = left * scaled
            inside = ok & (normalised <= settings.gate)
            for i in range(states):
                mine = load(lanes, array, SHARED + i)
                error = load(lanes, array, ERROR + i)
                store(array, ERROR + i, where(inside, error + mine * scaled, error))
                mine = mine / variance
                for j in range(states):
                    row = COVARIANCE + STATES * i + j
                    old = load(lanes, array, row)
                    new = old - mine * load(lanes, array, SHARED + j)
                    store(array, row, where(inside, new, old))
            changed = where(inside, 1.0, changed)
            refused = ok & (normalised > settings.gate)
            total, count = memory.innovation_sum, memory.innovation_count
            memory.innovation_sum = where(ok, total + normalised, total)
            memory.innovation_count = where(ok, count + 1.0, count)
            memory.refused_count = where(refused, memory.refused_count + 1.0, memory.refused_count)
    return changed


@apart
def correct(lanes, now, changed, array, memory):
    """Take the errors off the nominal state and off the places kept, where any were found."""
    east, north = load(lanes, array, ERROR), load(lanes, array, ERROR + 1)
    up, ve = load(lanes, array, ERROR + 2), load(lanes, array, ERROR + 3)
    vn, vu = load(lanes, array, ERROR + 4), load(lanes, array, ERROR + 5)
    memory.east = where(changed, memory.east - east, memory.east)
    memory.north = where(changed, memory.north - north, memory.north)
    memory.up = where(changed, memory.up - up, memory.up)
    memory.velocity_east = where(changed, memory.velocity_east - ve, memory.velocity_east)
    memory.velocity_north = where(changed, memory.velocity_north - vn, memory.velocity_north)
    memory.velocity_up = where(changed, memory.velocity_up - vu, memory.velocity_up)
    memory.carried_east = where(changed, memory.carried_east - ve, memory.carried_east)
    memory.carried_north = where(changed, memory.carried_north - vn, memory.carried_north)
    memory.carried_up = where(changed, memory.carried_up - vu, memory.carried_up)
    turn = (
        spread(lanes, 1.0), -0.5 * load(lanes, array, ERROR + 6),
        -0.5 * load(lanes, array, ERROR + 7), -0.5 * load(lanes, array, ERROR + 8),
    )  # fmt: skip
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    q = multiply(turn, q)
    one = 1.0 / sqrt(q[0] * q[0] + q[1] * q[1] + q[2] * q[2] + q[3] * q[3])
    memory.quaternion_0 = where(changed, one * q[0], memory.quaternion_0)
    memory.quaternion_1 = where(changed, one * q[1], memory.quaternion_1)
    memory.quaternion_2 = where(changed, one * q[2], memory.quaternion_2)
    memory.quaternion_3 = where(changed, one * q[3], memory.quaternion_3)
    more = load(lanes, array, ERROR + 9), load(lanes, array, ERROR + 10)
    memory.gyro_bias_x = where(changed, memory.gyro_bias_x + more[0], memory.gyro_bias_x)
    memory.gyro_bias_y = where(changed, memory.gyro_bias_y + more[1], memory.gyro_bias_y)
    more = load(lanes, array, ERROR + 11), load(lanes, array, ERROR + 12)
    memory.gyro_bias_z = where(changed, memory.gyro_bias_z + more[0], memory.gyro_bias_z)
    memory.nose_bias = where(changed, memory.nose_bias + more[1], memory.nose_bias)
    more = load(lanes, array, ERROR + 13), load(lanes, array, ERROR + 14)
    memory.force_bias_y = where(changed, memory.force_bias_y + more[0], memory.force_bias_y)
    memory.force_bias_z = where(changed, memory.force_bias_z + more[1], memory.force_bias_z)
    for i in range(array.shape[0] - OTHER_PAST):
        row = KEPT + PAST_FIELDS * i
        kept = load(lanes, array, row)
        since = where(kept > 0.5 * UNKNOWN_TIME, kept - now, 0.0)
        for axis in range(array.shape[0] - OTHER_PAST - PAST + 3):
            place, speed = load(lanes, array, ERROR + axis), load(lanes, array, ERROR + 3 + axis)
            old = load(lanes, array, row + 1 + axis)
            store(array, row + 1 + axis, where(changed, old - place - since * speed, old))
            old = load(lanes, array, row + 4 + axis)
            store(array, row + 4 + axis, where(changed, old - speed, old))
