"""The seam between the world and the flight computer: what goes in, what comes out.

A flight computer sees nothing but these records. Each is a block of numbers for W flights side by
side, read and written by name. The lists are fixed and carry a version, so that somebody can fly
their own computer through them. New channels are added at the end and raise the version.

Angles in radians, SI throughout, body axes x forward, y right, z down when lying level.
A flag is 0 or 1. A time is seconds since the ascent igniter was commanded.
"""

SEAM_VERSION = 2

AT_REST = (
    # what was measured while the vehicle stood on the launch pad, before the countdown ends
    "rest_force_x", "rest_force_y", "rest_force_z",  # m/s2, mean specific force over the wait
    "rest_rate_x", "rest_rate_y", "rest_rate_z",  # rad/s, mean over the wait
    "level_tilt_y", "level_tilt_z",  # rad, level reading: lean of the nose towards body y and z
    "heading_reading",  # rad, where body z was pointed, east of north
    "wind_reading_east", "wind_reading_north",  # m/s, where an anemometer says the wind blows to
    "rest_gnss_east", "rest_gnss_north", "rest_gnss_up",  # m, mean place of the receiver
    "rest_barometer_height",  # m, mean
)  # fmt: skip

SAMPLE = (
    "time",  # s, computer's clock at the end of the interval
    # inertial unit: means over the interval since its last sample
    "rate_x", "rate_y", "rate_z",  # rad/s
    "force_x", "force_y", "force_z",  # m/s2, specific force at the unit
    "inertial_interval", "inertial_time", "inertial_valid",  # s, s, flag
    "barometer_height", "barometer_time", "barometer_valid",  # m, s, flag
    "gnss_east", "gnss_north", "gnss_up",  # m
    "gnss_velocity_east", "gnss_velocity_north", "gnss_velocity_up",  # m/s
    "gnss_time", "gnss_valid",
    "range_distance", "range_time", "range_valid",  # m along the tail axis
    # switches and igniter continuity, flags
    "stage_attached", "legs_open", "petals_open", "parachute_open",
    "ascent_continuity", "landing_continuity",
)  # fmt: skip

COMMAND = (
    "gimbal_y", "gimbal_z",  # rad, turn of the thrust line about body y and z
    "wheel_x", "wheel_y", "wheel_z",  # N m, torque asked on the body
    "throttle",  # share of thrust let through, 1 is unobstructed
    "ignite_ascent", "ignite_landing",  # flags, latched by the igniter
    "separate", "open_legs", "open_petals", "open_parachute",  # flags
)  # fmt: skip

BELIEF = (
    # one-way: recorded, never read back by the world
    "phase",
    "east", "north", "up",  # m, of the inertial unit, from where it stood at launch
    "velocity_east", "velocity_north", "velocity_up",  # m/s, of the inertial unit
    "quaternion_0", "quaternion_1", "quaternion_2", "quaternion_3",
    "landing_east", "landing_north",  # m, where the point between the feet is, launch point origin
    "height_feet",  # m, above the landing pad
    "sink_rate",  # m/s
    "lift_off_time",  # s, back-dated; nan before
    "time_to_go",  # s
    # what a filter says of itself; zero where none runs. Standard deviations of place and velocity
    "deviation_east", "deviation_north", "deviation_up",  # m
    "deviation_velocity_east", "deviation_velocity_north", "deviation_velocity_up",  # m/s
    # their covariances: place 0 to 2, velocity 3 to 5
    "covariance_1_0", "covariance_2_0", "covariance_2_1", "covariance_3_0", "covariance_3_1",
    "covariance_3_2", "covariance_4_0", "covariance_4_1", "covariance_4_2", "covariance_4_3",
    "covariance_5_0", "covariance_5_1", "covariance_5_2", "covariance_5_3", "covariance_5_4",
    "innovation_sum", "innovation_count",  # normalised innovations squared, and how many
    "refused_count",  # readings that the filter did not believe
)  # fmt: skip

# phases of the flight sequence, as numbers in BELIEF.phase
ON_PAD, CLIMB, COAST, DESCENT, LANDING, DOWN, ABORT = range(7)
