"""Aids to navigation: what a satellite receiver, a barometer and a range finder report.

World to sample, like `sim.avionics.sensors`: the truth goes in, readings with their errors come
out, each with a time stamp and a flag that says that it is new. Every aid sits on the vehicle's
axis at a station of its own.

Satellite receiver (GNSS). A fix is place and velocity of the antenna at its time stamp, handed out
`latency` later; up to two fixes may be under way. Errors of the place are white noise and a
first-order Gauss-Markov part, those of the velocity white noise. In an outage no fix is taken.
Interference that sets in raises the white parts for a while.

Barometer. The height by pressure is the true one plus a steady drift since the countdown ended,
plus a share of the dynamic pressure as a height (C v^2 / 2 g), plus an offset while a motor burns;
it goes through a first-order lag (exactly, for an input that runs straight from tick to tick), is
noisy and rounded.

Range finder. It looks along the tail: the distance to the plane of the landing pad is the height
over the cosine of the tilt. Beyond its largest range, far from upright, or in dust raised near the
ground by a burning motor, it reports nothing.

AT_REST gets the means over the wait of the receiver's place and of the barometer's height. Noise is
keyed by seed, flight, stream and the number of the tick in which a reading is taken.

Sources: Groves, Principles of GNSS, Inertial, and Multisensor Integrated Navigation Systems, 2013,
ch. 6 and 9 (from memory); Gelb, Applied Optimal Estimation, 1974, ch. 3 for the Gauss-Markov step.
"""

from sim.avionics.sensors import readout
from sim.lanes import any_lane, apart, part, rare_normal_quad, room, spread, uniform_pair, where

GNSS, BAROMETER, RANGE, DUST, AIDS_REST = 31, 32, 33, 34, 35  # streams of noise
NEVER = 1e30  # s
SLACK = 1e-9  # s, by which a time may be short of the tick that is meant
LEAST_UPRIGHT = 0.5  # cosine of the tilt beyond which a range finder sees nothing it can use
UNLIMITED = 1e6  # m
PLACE = ("east", "north", "up")

INPUTS = (
    "gnss_fitted", "barometer_fitted", "range_fitted",  # flags
    "gnss_x", "gnss_interval", "gnss_latency",  # m body coordinate, s, s
    "gnss_noise_horizontal", "gnss_noise_vertical",  # m, white part
    "gnss_drift_horizontal", "gnss_drift_vertical", "gnss_drift_keep",  # m, m, share after a fix
    "gnss_drift_step",  # standard deviation of what joins it, over that of the drift
    "gnss_velocity_horizontal", "gnss_velocity_vertical",  # m/s
    "gnss_outage_start", "gnss_outage_end",  # s
    "gnss_rest_follow", "gnss_rest_spread",  # of the drift at the end of the wait, of its mean
    "gnss_rest_share",  # white part of the mean over the wait, over that of one fix
    "barometer_x", "barometer_interval", "barometer_noise", "barometer_rest_noise",
    "barometer_drift", "barometer_speed_share",  # m/s, m per (m/s)^2
    "barometer_plume", "barometer_resolution", "barometer_steps",  # m, m, 1/m
    "barometer_keep", "barometer_ticks",  # lag: share left after a tick; lag over tick
    "range_x", "range_interval", "range_noise", "range_longest",
    # what may go wrong: noise of a fix raised for a while; a barometer that comes to be fooled
    "gnss_disturbed_from", "gnss_disturbed_until", "gnss_disturbed_factor",  # s, s, 1
    "barometer_fooled_from", "barometer_fooled_speed_share", "barometer_fooled_plume",  # as above
    "range_dust_height", "range_dust_chance",
)  # fmt: skip

CARRY = (
    "gnss_next",  # s, when the next fix is due
    *(f"gnss_drift_{axis}" for axis in PLACE),
    # fixes under way: the newer one and the older one
    *(f"gnss_{age}_{name}" for age in ("new", "old") for name in (
        *PLACE, *(f"velocity_{axis}" for axis in PLACE), "time", "due")),
    "barometer_next", "barometer_input", "barometer_output",  # s, m, m
    "range_next",
)  # fmt: skip


@part
def fitted(p):
    """Whether the vehicle carries any aid; the same for all flights of a scenario."""
    return any_lane(p.gnss_fitted + p.barometer_fitted + p.range_fitted > 0.5)


@part
def to_local(r, x, y, z):
    """Turn a vector of body axes into local ones by the true attitude."""
    return (
        r.xx * x + r.xy * y + r.xz * z,
        r.yx * x + r.yy * y + r.yz * z,
        r.zx * x + r.zy * y + r.zz * z,
    )


@part
def place_of_aid(r, x, p, w):
    """True place of a point on the axis [m], from the place of the inertial unit."""
    east, north, up = to_local(r, x - p.unit_x, 0.0 - p.unit_y, 0.0 - p.unit_z)
    return w.unit_east + east, w.unit_north + north, w.unit_up + up


@apart
def aids_at_rest(lanes, seed, flight, r, p, w, rest):
    """Stand for the wait: the means that AT_REST has, and the aids as the countdown ends."""
    colour = mean = spare = rare_normal_quad(seed, flight, AIDS_REST, 0)
    for count in range(3):  # a loop, so that it is compiled once
        colour, mean, spare = mean, spare, rare_normal_quad(seed, flight, AIDS_REST, count)
    level, rise = p.gnss_drift_horizontal, p.gnss_drift_vertical
    w.gnss_drift_east, w.gnss_drift_north = level * colour[0], level * colour[1]
    w.gnss_drift_up = rise * colour[2]
    east, north, up = place_of_aid(r, p.gnss_x, p, w)
    follow, other, share = p.gnss_rest_follow, p.gnss_rest_spread, p.gnss_rest_share
    white, rough = share * p.gnss_noise_horizontal, share * p.gnss_noise_vertical
    rest.rest_gnss_east = (
        east + follow * w.gnss_drift_east + other * level * mean[0] + white * spare[0]
    )
    rest.rest_gnss_north = (
        north + follow * w.gnss_drift_north + other * level * mean[1] + white * spare[1]
    )
    rest.rest_gnss_up = up + follow * w.gnss_drift_up + other * rise * mean[2] + rough * spare[2]
    w.gnss_next = p.gnss_interval
    w.gnss_new_due, w.gnss_old_due = spread(lanes, NEVER), spread(lanes, NEVER)
    _, _, height = place_of_aid(r, p.barometer_x, p, w)
    rest.rest_barometer_height = height + p.barometer_rest_noise * spare[3]
    w.barometer_input, w.barometer_output = height, height
    w.barometer_next, w.range_next = p.barometer_interval, p.range_interval


@apart
def take_fix(seed, flight, count, time, due, state, r, p, w):
    """Take a fix in the lanes where one is due; it is under way from now on."""
    one = two = three = rare_normal_quad(seed, flight, GNSS, 3 * count)
    for k in range(3):
        one, two, three = two, three, rare_normal_quad(seed, flight, GNSS, 3 * count + k)
    keep, level = p.gnss_drift_keep, p.gnss_drift_step * p.gnss_drift_horizontal
    rise = p.gnss_drift_step * p.gnss_drift_vertical
    drift_east = keep * w.gnss_drift_east + level * one[0]
    drift_north = keep * w.gnss_drift_north + level * one[1]
    drift_up = keep * w.gnss_drift_up + rise * one[2]
    w.gnss_drift_east = where(due, drift_east, w.gnss_drift_east)
    w.gnss_drift_north = where(due, drift_north, w.gnss_drift_north)
    w.gnss_drift_up = where(due, drift_up, w.gnss_drift_up)
    w.gnss_next = where(due, w.gnss_next + p.gnss_interval, w.gnss_next)

    due = due & ((time < p.gnss_outage_start) | (time >= p.gnss_outage_end))
    # the fix before goes on; one older than that is lost
    w.gnss_old_east = where(due, w.gnss_new_east, w.gnss_old_east)
    w.gnss_old_north = where(due, w.gnss_new_north, w.gnss_old_north)
    w.gnss_old_up = where(due, w.gnss_new_up, w.gnss_old_up)
    w.gnss_old_velocity_east = where(due, w.gnss_new_velocity_east, w.gnss_old_velocity_east)
    w.gnss_old_velocity_north = where(due, w.gnss_new_velocity_north, w.gnss_old_velocity_north)
    w.gnss_old_velocity_up = where(due, w.gnss_new_velocity_up, w.gnss_old_velocity_up)
    w.gnss_old_time = where(due, w.gnss_new_time, w.gnss_old_time)
    w.gnss_old_due = where(due, w.gnss_new_due, w.gnss_old_due)

    east, north, up = place_of_aid(r, p.gnss_x, p, w)
    dx, dy, dz = p.gnss_x - p.unit_x, 0.0 - p.unit_y, 0.0 - p.unit_z
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    ve, vn, vu = to_local(r, wy * dz - wz * dy, wz * dx - wx * dz, wx * dy - wy * dx)
    disturbed = (time >= p.gnss_disturbed_from) & (time < p.gnss_disturbed_until)
    noisy = where(disturbed, p.gnss_disturbed_factor, 1.0)
    level, rise = noisy * p.gnss_noise_horizontal, noisy * p.gnss_noise_vertical
    w.gnss_new_east = where(due, east + w.gnss_drift_east + level * two[0], w.gnss_new_east)
    w.gnss_new_north = where(due, north + w.gnss_drift_north + level * two[1], w.gnss_new_north)
    w.gnss_new_up = where(due, up + w.gnss_drift_up + rise * two[2], w.gnss_new_up)
    level, rise = noisy * p.gnss_velocity_horizontal, noisy * p.gnss_velocity_vertical
    ve = w.unit_velocity_east + ve + level * three[0]
    vn = w.unit_velocity_north + vn + level * three[1]
    vu = w.unit_velocity_up + vu + rise * three[2]
    w.gnss_new_velocity_east = where(due, ve, w.gnss_new_velocity_east)
    w.gnss_new_velocity_north = where(due, vn, w.gnss_new_velocity_north)
    w.gnss_new_velocity_up = where(due, vu, w.gnss_new_velocity_up)
    w.gnss_new_time = where(due, time, w.gnss_new_time)
    w.gnss_new_due = where(due, time + p.gnss_latency, w.gnss_new_due)


@apart
def hand_out_fix(old, new, w, sample):
    """Put a fix whose latency is over into the sample; at most one in a tick, the older first."""
    sample.gnss_east = where(old, w.gnss_old_east, where(new, w.gnss_new_east, sample.gnss_east))
    sample.gnss_north = where(
        old, w.gnss_old_north, where(new, w.gnss_new_north, sample.gnss_north)
    )
    sample.gnss_up = where(old, w.gnss_old_up, where(new, w.gnss_new_up, sample.gnss_up))
    sample.gnss_velocity_east = where(
        old, w.gnss_old_velocity_east,
        where(new, w.gnss_new_velocity_east, sample.gnss_velocity_east),
    )  # fmt: skip
    sample.gnss_velocity_north = where(
        old, w.gnss_old_velocity_north,
        where(new, w.gnss_new_velocity_north, sample.gnss_velocity_north),
    )  # fmt: skip
    sample.gnss_velocity_up = where(
        old, w.gnss_old_velocity_up, where(new, w.gnss_new_velocity_up, sample.gnss_velocity_up)
    )
    sample.gnss_time = where(old, w.gnss_old_time, where(new, w.gnss_new_time, sample.gnss_time))
    sample.gnss_valid = where(old | new, 1.0, 0.0)
    w.gnss_old_due = where(old, NEVER, w.gnss_old_due)
    w.gnss_new_due = where(new, NEVER, w.gnss_new_due)


@room
def gnss_tick(lanes, seed, flight, count, time, state, r, p, w, sample):
    """One tick of the satellite receiver."""
    due = (p.gnss_fitted > 0.5) & (w.gnss_next <= time + SLACK)
    if any_lane(due):
        take_fix(seed, flight, count, time, due, state, r, p, w)
    sample.gnss_valid = spread(lanes, 0.0)
    old = w.gnss_old_due <= time + SLACK
    new = (w.gnss_new_due <= time + SLACK) & (w.gnss_old_due >= NEVER)
    if any_lane(old | new):
        hand_out_fix(old, new, w, sample)


@part
def lagged(output, before, now, keep, ticks):
    """First-order lag one tick on, exact for an input that runs straight from before to now.

    `keep` is exp(-tick / lag), `ticks` the lag over the tick: a ramp comes out late by the lag.
    """
    late = (now - before) * ticks
    return now - late + keep * (output - before + late)


@room
def barometer_tick(lanes, seed, flight, count, time, burning, speed, r, p, w, sample):
    """One tick of the barometer: its lag moves on at every one, a reading is taken when due."""
    _, _, height = place_of_aid(r, p.barometer_x, p, w)
    fooled = time >= p.barometer_fooled_from
    share = p.barometer_speed_share + where(fooled, p.barometer_fooled_speed_share, 0.0)
    plume = p.barometer_plume + where(fooled, p.barometer_fooled_plume, 0.0)
    now = height + p.barometer_drift * time + share * speed * speed
    now = now + where(burning, plume, 0.0)
    w.barometer_output = lagged(
        w.barometer_output, w.barometer_input, now, p.barometer_keep, p.barometer_ticks
    )
    w.barometer_input = now
    due = (p.barometer_fitted > 0.5) & (w.barometer_next <= time + SLACK)
    sample.barometer_valid = spread(lanes, 0.0)
    if any_lane(due):
        noise, _, _, _ = rare_normal_quad(seed, flight, BAROMETER, count)
        shown = readout(
            w.barometer_output + p.barometer_noise * noise, UNLIMITED, p.barometer_resolution,
            p.barometer_steps,
        )  # fmt: skip
        sample.barometer_height = where(due, shown, sample.barometer_height)
        sample.barometer_time = where(due, time, sample.barometer_time)
        sample.barometer_valid = where(due, 1.0, 0.0)
        w.barometer_next = where(due, w.barometer_next + p.barometer_interval, w.barometer_next)


@room
def range_tick(lanes, seed, flight, count, time, burning, r, p, w, sample):
    """One tick of the range finder."""
    due = (p.range_fitted > 0.5) & (w.range_next <= time + SLACK)
    sample.range_valid = spread(lanes, 0.0)
    if any_lane(due):
        w.range_next = where(due, w.range_next + p.range_interval, w.range_next)
        _, _, up = place_of_aid(r, p.range_x, p, w)
        upright = r.zx > LEAST_UPRIGHT
        distance = (up - p.pad_up) / where(upright, r.zx, 1.0)
        noise, _, _, _ = rare_normal_quad(seed, flight, RANGE, count)
        luck, _ = uniform_pair(seed, flight, DUST, count)
        dust = burning & (distance < p.range_dust_height) & (luck < p.range_dust_chance)
        seen = due & upright & (distance > 0.0) & (distance <= p.range_longest)
        seen = seen & (where(dust, 1.0, 0.0) < 0.5)
        sample.range_distance = where(seen, distance + p.range_noise * noise, sample.range_distance)
        sample.range_time = where(seen, time, sample.range_time)
        sample.range_valid = where(seen, 1.0, 0.0)


@room
def aids_tick(lanes, seed, flight, count, time, burning, speed, state, r, p, w, sample):
    """Write the readings of this tick into the sample.

    Parameters
    ----------
    count : I lanes
        Number of the tick.
    time : lanes [s]
    burning : mask
        A motor burns.
    speed : lanes [m/s]
        Through the air.
    state, r : State, Rotation
        True state and its rotation; the place of the inertial unit is in `w`.
    p, w, sample : records
    """
    gnss_tick(lanes, seed, flight, count, time, state, r, p, w, sample)
    barometer_tick(lanes, seed, flight, count, time, burning, speed, r, p, w, sample)
    range_tick(lanes, seed, flight, count, time, burning, r, p, w, sample)
