"""What the navigation filter is told before the flight, and all that it remembers.

Joined to SETTINGS and MEMORY of `sim.avionics.memory`; `sim/ensemble/settings_aids.py` computes the
settings from believed numbers. All is zero for a computer that reckons alone.

Errors are believed minus true: place and velocity of the inertial unit [m, m/s], attitude as a
small turn in local axes [rad]; for the biases, what the readings still show too much in body axes,
biases taken off [rad/s, m/s2].
"""

FILTER_SETTINGS = (
    "aided",  # flag: the filter runs
    "gate",  # largest normalised innovation squared that is believed
    # at lift-off, standard deviations
    "start_place", "start_velocity", "start_tilt", "start_heading",  # m, m/s, rad, rad
    "start_gyro_bias", "start_nose_bias", "start_side_bias",  # rad/s, m/s2, m/s2
    "start_tie",  # m/s2, covariance of tilt and side bias where alignment ties the two
    # what joins the variances in a second
    "turn_noise", "turn_noise_by_force",  # rad2/s; the same per (m/s2)^2 of specific force
    "push_noise",  # m2/s3
    "push_noise_along", "push_noise_across",  # per (m/s2)^2 of specific force [s], from the nose
    "late", "push_late",  # s, lag of the unit's filter; s2, square of what is unknown of it
    "nose_follows",  # 1/(m/s2): the nose bias that zeroing at 1 g leaves is one of scale
    "gyro_bias_noise", "force_bias_noise",  # rad2/s3, m2/s5
    # aids: how far forward of the inertial unit [m], variance of a reading
    "gnss_forward", "gnss_horizontal", "gnss_vertical",  # m2
    "gnss_velocity_horizontal", "gnss_velocity_vertical",  # m2/s2
    "barometer_forward", "barometer_lag", "barometer_variance",  # m, s, m2
    "barometer_by_speed",  # variance per fourth power of the speed [s4/m2]
    "barometer_by_motor",  # more variance while a motor burns [m2]
    "range_forward", "range_variance",  # m, m2
)  # fmt: skip

STATES = 15  # place, velocity, attitude, gyro bias, accelerometer bias
MEASURED = 8  # scalars in a tick at most: place and velocity of a fix, barometer, range
MEASURED_FIELDS = 7  # coefficient, three of attitude, believed less measured, variance, flag
PAST = 16  # places kept to compare with readings that come late
PAST_FIELDS = 7  # time, place, velocity

FILTER_MEMORY = (
    "nose_bias",  # m/s2, found by the filter on the nose axis; see nose_follows
    "late_east", "late_north", "late_up",  # m/s, velocity made good for that lag
    "carried_push",  # m/s2, smoothed specific force along the nose
    "carried_interval",  # s, since the covariance was moved on
    "carried_east", "carried_north", "carried_up",  # m/s, velocity then
    "antenna_east", "antenna_north", "antenna_up",  # m, of the receiver from the aft end, at launch
    "port_up",  # m, of the barometer, at launch
    "rest_gnss_east", "rest_gnss_north", "rest_gnss_up", "rest_barometer_height",
    "innovation_sum", "innovation_count", "refused_count",
    *(f"covariance_{row}" for row in range(STATES * STATES)),
    # scratch
    *(f"error_{row}" for row in range(STATES)),
    *(f"shared_{row}" for row in range(STATES)),  # covariance of each error with the measured one
    *(f"measured_{row}" for row in range(MEASURED * MEASURED_FIELDS)),
    *(f"past_{row}" for row in range(PAST * PAST_FIELDS)),
)  # fmt: skip
