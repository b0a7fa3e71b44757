"""Wind that a flight meets: mean profile, Dryden turbulence, one gust.

The mean wind is a straight line in height about the place where the vehicle is, drawn anew every
few ticks; turbulence holds for one tick of the flight computer, whatever the integration step, so
that a shorter step never changes its law.
"""

from __future__ import annotations

from sim.lanes import (
    any_lane,
    clamp,
    exp,
    gather,
    log,
    maximum,
    normal_quad,
    part,
    rare_normal_quad,
    real,
    room,
    sincos,
    sqrt,
    where,
    whole,
)

INPUTS = (
    "wind_speed",  # m/s, at the reference height
    "wind_to_east", "wind_to_north",  # unit vector, where it blows to
    "wind_log_law",  # 1 for the logarithmic law, 0 for the power law, 2 for a measured profile
    "wind_reference_height",  # m
    "wind_exponent",  # power law
    "wind_roughness",  # m, logarithmic law
    "turbulence",  # share of the Dryden intensity, 0 for none
    "turbulence_speed",  # m/s, mean wind at 20 ft, that sets the intensity
    "gust_speed", "gust_start", "gust_length",  # m/s, s, m
)  # fmt: skip

CARRY = (
    "wind_z",  # m, height about which the line below holds
    "wind_mean_east", "wind_mean_north",  # m/s, at wind_z
    "wind_slope_east", "wind_slope_north",  # 1/s
    "wind_east", "wind_north", "wind_up",  # m/s, at wind_z, with turbulence and gust
    "turbulence_along", "turbulence_across", "turbulence_across_2",  # unit variance states
    "turbulence_up", "turbulence_up_2",
    "turbulence_length", "turbulence_length_up",  # m
    "turbulence_sigma", "turbulence_sigma_up",  # m/s
    # of the filters, for one tick: lengths passed, share kept, share that is new noise
    "turbulence_pattern", "turbulence_keep", "turbulence_fresh",
    "turbulence_pattern_up", "turbulence_keep_up", "turbulence_fresh_up",
    "gust_distance",  # m, flown since the gust began
)  # fmt: skip

SOURCE, FIRST_STATES, MORE_STATES = 10, 11, 12  # numbers of these noise streams
POWER_LAW, LOG_LAW, PROFILE = 0.0, 1.0, 2.0
LEAST_HEIGHT = 0.5  # m: the laws are singular at the ground, see smoothed_height
FEET_PER_METRE = 1.0 / 0.3048
LEAST_TURBULENCE_FEET, MOST_TURBULENCE_FEET = 10.0, 1000.0  # MIL-F-8785C, low altitude model
REFRESH = 8  # ticks from one mean wind and law of turbulence to the next; 2.4 m at 30 m/s, 100 Hz
ROOT_3, ROOT_HALF = 1.7320508075688772, 0.7071067811865476
PROFILE_STEP = 1.0  # m, between the entries of a measured profile's tables


@part
def mean_wind(z, p, profile_east, profile_north):
    """Mean wind and its slope with height.

    Parameters
    ----------
    z : lanes [m]
        Height above the ground at the launch point.
    p : record
        Inputs of the flight.
    profile_east, profile_north : float64[n] [m/s]
        Measured profile every PROFILE_STEP metres from the ground, per m/s of wind_speed.

    Returns
    -------
    east, north : lanes [m/s]
    slope_east, slope_north : lanes [1/s]

    Notes
    -----
    Power law (IEC 61400-1) or neutral logarithmic law (Stull, Meteorology for Scientists and
    Engineers) at the height sqrt(z^2 + 0.5^2), which keeps both smooth down to the ground.
    """
    squared = z * z + LEAST_HEIGHT * LEAST_HEIGHT
    height = sqrt(squared)
    ratio_log = log(height / p.wind_reference_height)
    by_power = exp(p.wind_exponent * ratio_log)
    speed, per_height = p.wind_speed * by_power, p.wind_speed * (p.wind_exponent * by_power)
    by_log = p.wind_log_law != POWER_LAW
    if any_lane(by_log):
        scale = 1.0 / log(p.wind_reference_height / p.wind_roughness)
        speed = where(by_log, p.wind_speed * (1.0 + ratio_log * scale), speed)
        per_height = where(by_log, p.wind_speed * scale, per_height)
    slope = per_height * z / squared
    east, north = speed * p.wind_to_east, speed * p.wind_to_north
    slope_east, slope_north = slope * p.wind_to_east, slope * p.wind_to_north
    measured = p.wind_log_law == PROFILE
    if any_lane(measured):
        position = clamp(z / PROFILE_STEP, 0.0, len(profile_east) - 1.001)
        index = whole(position)
        part_way = position - real(index)
        low_east, low_north = gather(profile_east, index), gather(profile_north, index)
        rise_east = gather(profile_east, index + 1) - low_east
        rise_north = gather(profile_north, index + 1) - low_north
        east = where(measured, p.wind_speed * (low_east + part_way * rise_east), east)
        north = where(measured, p.wind_speed * (low_north + part_way * rise_north), north)
        slope_east = where(measured, p.wind_speed * rise_east / PROFILE_STEP, slope_east)
        slope_north = where(measured, p.wind_speed * rise_north / PROFILE_STEP, slope_north)
    return east, north, slope_east, slope_north


@room
def refresh_mean(z, p, w, profile_east, profile_north):
    """Lay the line of the mean wind about this height."""
    east, north, slope_east, slope_north = mean_wind(z, p, profile_east, profile_north)
    w.wind_z = z
    w.wind_mean_east, w.wind_mean_north = east, north
    w.wind_slope_east, w.wind_slope_north = slope_east, slope_north


@room
def refresh_turbulence(z, airspeed, interval, p, w):
    """Lengths and intensities of turbulence at this height, and its filters for one tick.

    MIL-F-8785C section 3.7.3.4; frozen pattern (Taylor), passed at the given speed [m/s].
    """
    feet = clamp(z * FEET_PER_METRE, LEAST_TURBULENCE_FEET, MOST_TURBULENCE_FEET)
    x = 0.177 + 0.000823 * feet
    fourth_tenth = exp(0.4 * log(x))
    w.turbulence_length_up = feet * 0.3048
    w.turbulence_length = feet * 0.3048 / (fourth_tenth * fourth_tenth * fourth_tenth)
    w.turbulence_sigma_up = 0.1 * p.turbulence * p.turbulence_speed
    w.turbulence_sigma = 0.1 * p.turbulence * p.turbulence_speed / fourth_tenth
    w.turbulence_pattern = airspeed * interval / w.turbulence_length
    w.turbulence_pattern_up = airspeed * interval / w.turbulence_length_up
    keep, keep_up = exp(-w.turbulence_pattern), exp(-w.turbulence_pattern_up)
    w.turbulence_keep, w.turbulence_keep_up = keep, keep_up
    w.turbulence_fresh = sqrt(1.0 - keep * keep)
    w.turbulence_fresh_up = sqrt(1.0 - keep_up * keep_up)


@part
def lateral_step(first, second, pattern, keep, fresh, normal):
    """One exact step of the second-order Dryden filter, states of unit intensity.

    The filter (1 + sqrt3 s T) / (1 + s T)^2 is sqrt3 a + (1 - sqrt3) b with T a' = -a + n and
    T b' = -b + a. The small part of b's noise that is independent of a's (a share d / 12 of its
    variance over a step of d correlation times) is left out.
    """
    new = ROOT_HALF * fresh * normal
    shared = 0.5 * pattern * (1.0 - pattern * (1.0 / 3.0))
    return keep * first + new, keep * (second + pattern * first) + shared * new


@room
def turbulence_step(seed, flight, count, w):
    """Turbulence one tick on: along, across and up, in m/s.

    The forming filters of MIL-F-8785C, in exact discrete time.
    """
    one, two, three, _ = normal_quad(seed, flight, SOURCE, count)
    w.turbulence_along = w.turbulence_keep * w.turbulence_along + w.turbulence_fresh * one
    w.turbulence_across, w.turbulence_across_2 = lateral_step(
        w.turbulence_across, w.turbulence_across_2, w.turbulence_pattern, w.turbulence_keep,
        w.turbulence_fresh, two,
    )  # fmt: skip
    w.turbulence_up, w.turbulence_up_2 = lateral_step(
        w.turbulence_up, w.turbulence_up_2, w.turbulence_pattern_up, w.turbulence_keep_up,
        w.turbulence_fresh_up, three,
    )  # fmt: skip
    across = ROOT_3 * w.turbulence_across + (1.0 - ROOT_3) * w.turbulence_across_2
    up = ROOT_3 * w.turbulence_up + (1.0 - ROOT_3) * w.turbulence_up_2
    return (
        w.turbulence_sigma * w.turbulence_along,
        w.turbulence_sigma * across,
        w.turbulence_sigma_up * up,
    )


@room
def start_turbulence(seed, flight, w):
    """Draw the turbulence states from their stationary law: var a = 1/2, var b = 1/4, cov 1/4."""
    one, two, three, four = rare_normal_quad(seed, flight, FIRST_STATES, 0)
    five, _, _, _ = rare_normal_quad(seed, flight, MORE_STATES, 0)
    w.turbulence_along = one
    w.turbulence_across = ROOT_HALF * two
    w.turbulence_across_2 = 0.5 * ROOT_HALF * (two + three)
    w.turbulence_up = ROOT_HALF * four
    w.turbulence_up_2 = 0.5 * ROOT_HALF * (four + five)


@part
def gust_at(time, interval, airspeed, p, w):
    """Speed of the gust [m/s]: (1 - cos) / 2 over its length, then it holds (MIL-F-8785C 3.7.1)."""
    w.gust_distance = where(
        time >= p.gust_start, w.gust_distance + airspeed * interval, w.gust_distance
    )
    share = clamp(w.gust_distance / p.gust_length, 0.0, 1.0)
    _, cosine = sincos(3.141592653589793 * share)
    return 0.5 * p.gust_speed * (1.0 - cosine)


@room
def wind_tick(
    seed, flight, number, count, time, interval, z, climb, speed2, p, w, profile_east,
    profile_north,
):  # fmt: skip
    """Set the wind of the coming tick in the carry record.

    Parameters
    ----------
    seed, flight, number : of the noise stream
    count : int
        The same for all lanes, and like `number` but for a multiple of REFRESH.
    time, interval : lanes, float [s]
        Start and length of the tick.
    z, climb, speed2 : lanes [m], [m/s], [m2/s2]
        At the start of the tick: height, its rate, the square of the airspeed.
    p, w : records
        Inputs and carry.
    profile_east, profile_north : float64[n]
        See mean_wind.
    """
    turbulent = any_lane(p.turbulence > 0.0)
    if count % REFRESH == 0:
        middle = z + climb * (0.5 * REFRESH * interval)
        refresh_mean(middle, p, w, profile_east, profile_north)
        if turbulent:
            # a slow vehicle meets the pattern as fast as the wind carries it past
            mean2 = w.wind_mean_east * w.wind_mean_east + w.wind_mean_north * w.wind_mean_north
            refresh_turbulence(middle, sqrt(maximum(speed2, mean2)), interval, p, w)
    east, north, up = w.wind_mean_east, w.wind_mean_north, 0.0 * z
    if turbulent:
        along, across, up = turbulence_step(seed, flight, number, w)
        east = east + along * p.wind_to_east - across * p.wind_to_north
        north = north + along * p.wind_to_north + across * p.wind_to_east
    if any_lane(p.gust_speed != 0.0):
        gust = gust_at(time, interval, sqrt(speed2), p, w)
        east, north = east + gust * p.wind_to_east, north + gust * p.wind_to_north
    w.wind_east, w.wind_north, w.wind_up = east, north, up

