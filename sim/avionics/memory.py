"""What the built-in flight computer is told before the flight, and all that it remembers.

SETTINGS is read at start, MEMORY is the one block that changes; both are lists of field names of
lane records. `sim/ensemble/settings.py` computes the settings from believed numbers.
"""

from sim.avionics.filter_memory import FILTER_MEMORY, FILTER_SETTINGS

SETTINGS = (
    # alignment
    "attitude_law",  # PLUMB, LEVELLED or MEASURED
    "zero_nose", "zero_side", "zero_gyro",  # flags: which biases the wait takes out
    # place
    "gravity",  # m/s2, at launch
    "gravity_gradient",  # 1/s2, how much less it is a metre higher
    "launch_height",  # m, of the aft end above the landing pad
    "landing_east", "landing_north",  # m, centre of the landing pad from the launch point
    # vehicle, body axes [m]: the inertial unit forward of the aft end and of the feet
    "unit_above_aft", "unit_above_feet", "unit_y", "unit_z",
    "unit_forward",  # m, of the centre of gravity, landing
    # sequence
    "tick",  # s
    "lift_off_force",  # m/s2, along the nose
    "lift_off_samples",
    "burn_out_force",  # m/s2
    "separation_after",  # s after burn-out; nan for a vehicle that drops nothing
    "petals_at_apogee", "petals_at_separation",  # flags
    "legs_after",  # s after the landing ignition command
    "abort_nose_up",  # cosine of the tilt that ends a flight before the landing burn
    # what is checked on the way, and given up for: s, nan for a check that is not made
    "stage_wait",  # after the command to part, with the switch still closed: abort, falling
    "light_wait",  # after the landing ignition command, no push felt: abort
    "check_continuity",  # flag: landing igniter open while it falls: abort
    "hold",  # flag: landing igniter open on the launch pad: the ascent motor is not lit
    # what is done in abort, besides lighting nothing any more, flags
    "abort_parachute",  # let it out
    "abort_level",  # hold the nose upright, with wheels and with the gimbal of a motor that pushes
    # climb
    "climb_tilt_start", "climb_tilt_end",  # s after lift-off
    "climb_east", "climb_north",  # sine of half the tilt, by component
    "climb_aimed",  # flag
    "climb_tilt",  # sine of half the largest tilt, when aimed
    "climb_rate",  # 1/s, at which an aimed climb makes up its lateral speed
    "coast_time", "wind_drift",  # s
    # landing
    "ignition_law",  # BY_TABLE, BY_HEIGHT or BY_TIME
    "ignition_margin", "ignition_height", "ignition_time",  # m, m, s
    "sink_steps",  # entries of the ignition table for each m/s
    "light_force",  # m/s2, rise of specific force that says the landing motor burns
    "push_steps",  # entries of the landing push table for each second
    "boost_end", "burn_end",  # s after light
    "sustain_slowing",  # m/s2, net, planned
    "touchdown_sink_rate",  # m/s
    "sink_gain",  # 1/s
    "drag_share",  # 1/m, drag over mass and speed squared, falling
    "least_throttle",  # share of thrust always let through
    "throttle_keep",  # share of the gap to the command left after a tick
    "guidance_tilt",  # sine of half the largest tilt
    "guidance_freeze",  # s to go
    # surplus thrust without a throttle, see sim.avionics.divert
    "surplus",  # 0 for throttle or none, DIVERT or OPEN_LOOP
    "divert_half_sine",  # sine of half the largest lean
    "boost_push",  # m/s, sum of the nominal push until boost_end
    "divert_to_east", "divert_to_north",  # unit vector, from the launch point to the landing pad
    "divert_way",  # m, that the nominal divert goes sideways
    # attitude
    "bandwidth_squared", "rate_gain",  # 1/s2, 1/s
    "integral",  # 1/s
    "unwind",  # s, from angular acceleration cut off to integral
    "scheduled",  # flag
    "ascent_push", "landing_push",  # m/s2, mean, where gains are not scheduled
    "ascent_leverage", "landing_leverage",  # 1/m, mass times arm over transverse inertia
    "ascent_travel", "landing_travel",  # rad, of the gimbal
    "wheel_gain", "wheel_rate_gain", "wheel_limit",  # N m/rad, N m s/rad, N m
    "roll_gain", "roll_rate_gain", "roll_limit",
    "wheel_unload",  # 1/s, share of the wheels' momentum given back while a motor pushes
    "wheel_momentum",  # N m s, largest
    # a computer that only keeps time
    "separation_time",  # s, nan for never
    *FILTER_SETTINGS,
)  # fmt: skip

RING = 32  # samples remembered on the launch pad
RING_FIELDS = 7  # rates, forces, interval

MEMORY = (
    "phase",
    "quaternion_0", "quaternion_1", "quaternion_2", "quaternion_3",
    "velocity_east", "velocity_north", "velocity_up",  # m/s, of the inertial unit
    "east", "north", "up",  # m, of the inertial unit from the aft end of the vehicle at launch
    "start_east", "start_north", "start_up",  # m, the same, at launch
    "upright_0", "upright_1", "upright_2", "upright_3",  # attitude to hold: vertical, same heading
    "gyro_bias_x", "gyro_bias_y", "gyro_bias_z",
    "force_bias_x", "force_bias_y", "force_bias_z",
    "rate_x", "rate_y", "rate_z",  # rad/s, last sample, bias taken off
    "force_x", "force_y", "force_z",  # m/s2
    "above_count", "below_count",  # samples in a row above lift-off, below burn-out force
    "lift_off_time", "burn_out_time", "ignition_time", "light_time",  # s, nan before
    "force_at_ignition",  # m/s2
    "push_ratio",  # sensed thrust over nominal
    "throttle",  # where the throttle is believed to be
    "throttle_command",
    "steer_east", "steer_north",  # sine of half the tilt asked
    "time_to_go",  # s
    "integral_y", "integral_z",  # rad s
    "wheel_given_y", "wheel_given_z",  # N m s, momentum that the wheels are believed to hold
    "aim_east", "aim_north",  # m, where an aimed climb would land in still air
    "given_push",  # m/s, sum of the push felt since light
    "divert_side",  # 0 before it, 1 out, -1 back in
    "divert_east", "divert_north",  # unit vector, outwards
    "divert_shed",  # share to be shed, planned at light
    *(f"ring_{row}" for row in range(RING * RING_FIELDS)),
    *FILTER_MEMORY,
)  # fmt: skip

RING_START = MEMORY.index("ring_0")

PLUMB, LEVELLED, MEASURED = 0.0, 1.0, 2.0
BY_TABLE, BY_HEIGHT, BY_TIME = 0.0, 1.0, 2.0
