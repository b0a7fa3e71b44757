"""What a flight reads, remembers and writes down: the names of all its numbers.

Each room of the world says what it reads (INPUTS, drawn for a flight and constant in it) and what
it remembers between ticks (CARRY). Here they are put together and given their records.
"""

from __future__ import annotations

from sim.avionics import aids, computer, seam, sensors
from sim.lanes import lane_record
from sim.physics import (
    actuators,
    aerodynamics,
    air,
    contact,
    dropped_stage,
    faults,
    ground,
    launch_pad,
    legs,
    mass,
    motor,
    parting,
    standing,
    struts,
    swap,
    wind,
)
from sim.physics.rigid_body import State

INPUTS = (
    *air.INPUTS, *wind.INPUTS, *mass.INPUTS, *motor.INPUTS, *actuators.INPUTS,
    *aerodynamics.INPUTS, *contact.INPUTS, *dropped_stage.INPUTS, *launch_pad.INPUTS,
    *parting.INPUTS, *sensors.INPUTS, *aids.INPUTS, *faults.INPUTS, *swap.INPUTS,
    *ground.INPUTS, *legs.INPUTS, *struts.INPUTS, *standing.INPUTS,
    "still_time",  # s, for which a vehicle must be still to be at rest
    "settle_longest",  # s, after the first touch, when a vehicle that will not settle is given up
    "has_stage", "legs_open_at_start", "petals_open_at_start",  # flags
    "ascent_total", "landing_total",  # N s, impulse of this flight's motors
    "unit_x", "unit_y", "unit_z",  # m, inertial unit in body coordinates
    "ground_effect", "ground_reach",  # share of thrust, m
    "reach",  # m, no point of the vehicle is farther than this from its centre of gravity
)  # fmt: skip

CARRY = (
    *wind.CARRY, *mass.CARRY, *motor.CARRY, *actuators.CARRY, *aerodynamics.CARRY,
    *dropped_stage.CARRY, *parting.CARRY, *sensors.CARRY, *aids.CARRY, *faults.CARRY, *swap.CARRY,
    "flying", "off_pad",  # flags
    "cg_x", "cg_y", "cg_z",  # m, centre of gravity now, body coordinates
    "gap", "limit",  # m, lowest point above the ground; s, longest step allowed
    "ground_factor",  # of thrust near the ground
    "unit_east", "unit_north", "unit_up",  # m, true place of the inertial unit at this tick
    "unit_velocity_east", "unit_velocity_north", "unit_velocity_up",  # m/s
    "unit_start_east", "unit_start_north", "unit_start_up",  # m, where it stood
    "last_velocity_east", "last_velocity_north", "last_velocity_up",  # at its last sample
    "last_0", "last_1", "last_2", "last_3",  # attitude at its last sample
    "landing_commanded_at", "tick_end",  # s
    "tick_0", "tick_1", "tick_2", "tick_3",  # true attitude at this tick
    "burn_ticks", "stop_ticks",  # ticks with thrust, of these with the gimbal at its stop
    # after the first touch, see sim.touchdown
    "ground_shift",  # m, of the sloped ground where it touched
    "starting", "settled",  # flags: touched in this tick; over in this tick
    "late",  # ticks, of the flight's clock behind that of the call
    "push_east", "push_north", "push_up",  # m/s2, acceleration at the end of the last step
    "turn_x", "turn_y", "turn_z",  # rad/s2
    "strut_now", "stroke_now", "ground_load",  # N, m, m/s2 (squared in a tick), largest of the tick
    "feet_down", "frame_down",  # feet that touch; flag, the airframe touches
    "aloft_for", "still_for",  # s, since anything touched the ground, since it moved
)  # fmt: skip

OUTCOMES = (
    "ending", "contact_point",  # numbers, see ENDINGS and sim.physics.contact
    "contact_time", "landing_east", "landing_north",
    "touchdown_speed", "sink_rate", "lateral_speed",
    "tilt", "tilt_direction_east", "tilt_direction_north", "tilt_rate", "roll_rate",
    "thrust_to_weight_at_contact", "burn_left_at_contact", "throttle_at_contact",
    "mass_at_contact", "ground_is_pad",
    "lift_off_time", "ascent_burn_out_time", "separation_time",
    "apogee_time", "apogee_height", "apogee_tilt_cosine",
    "ignition_command_time", "landing_light_time", "ignition_height", "ignition_sink_rate",
    "maximum_speed", "least_upright_climb", "least_upright_burn",
    "maximum_acceleration", "maximum_dynamic_pressure", "gimbal_travel", "gimbal_saturation",
    "navigation_error_east", "navigation_error_north", "navigation_error_up",
    "navigation_velocity_error_east", "navigation_velocity_error_north",
    "navigation_velocity_error_up",
    "attitude_error_east", "attitude_error_north", "attitude_error_up",
    "ignition_navigation_error_east", "ignition_navigation_error_north",
    "ignition_navigation_error_up",
    "believed_landing_error_east", "believed_landing_error_north",
    "stage_east", "stage_north", "stage_time", "stage_speed", "stage_closest",
    "failed_time",
    "rest_time", "rest_east", "rest_north", "rest_tilt_cosine", "hops", "slide_distance",
    "peak_strut_force", "peak_stroke", "peak_deceleration", "feet_on_pad", "feet_down",
    "frame_struck", "rests_on_frame",
    # of a navigation filter, see sim.flight_honesty
    "normalised_error_at_contact", "normalised_error_at_ignition",
    "normalised_innovation_sum", "innovation_count", "refused_count",
    "swap_time",
    "parachute_time", "parachute_height", "parachute_speed", "parachute_load",
)  # fmt: skip

TRACE = (
    "time", "east", "north", "up", "velocity_east", "velocity_north", "velocity_up",
    "quaternion_0", "quaternion_1", "quaternion_2", "quaternion_3", "rate_x", "rate_y", "rate_z",
    "mass", "thrust_ascent", "thrust_landing", "throttle", "gimbal_y", "gimbal_z",
    "wheel_x", "wheel_y", "wheel_z", "wind_east", "wind_north", "height_feet",
    "believed_east", "believed_north", "believed_up",
    "believed_velocity_east", "believed_velocity_north", "believed_velocity_up",
    "believed_quaternion_0", "believed_quaternion_1", "believed_quaternion_2",
    "believed_quaternion_3", "phase", "true_unit_east", "true_unit_north", "true_unit_up",
    "stage_east", "stage_north", "stage_up", "flying",
    "foot_force_0", "foot_force_1", "foot_force_2", "foot_force_3", "foot_force_4", "foot_force_5",
    "stroke_0", "stroke_1", "stroke_2", "stroke_3", "stroke_4", "stroke_5", "ground_load",
    "deviation_east", "deviation_north", "deviation_up",
    "deviation_velocity_east", "deviation_velocity_north", "deviation_velocity_up",
)  # fmt: skip

# how a flight ended, as the kernel sees it
TOUCHED, IN_THE_AIR, ON_THE_PAD, FAILED, AT_REST, TIPPED, OUT_OF_TIME = range(7)

# what is handed from the flight to its last second: one row a flight
STATE = State._fields
HANDED = (
    STATE, CARRY, seam.AT_REST, seam.SAMPLE, seam.COMMAND, seam.BELIEF, computer.MEMORY, ("tick",),
)  # fmt: skip
HANDED_ROWS = sum(len(fields) for fields in HANDED)  # the last row: number of the tick

input_record = lane_record("inputs", INPUTS)
carry_record = lane_record("carry", CARRY)
outcome_record = lane_record("outcomes", OUTCOMES)
rest_record = lane_record("at rest", seam.AT_REST)
sample_record = lane_record("sample", seam.SAMPLE)
command_record = lane_record("command", seam.COMMAND)
belief_record = lane_record("belief", seam.BELIEF)
settings_record = lane_record("settings", computer.SETTINGS)
memory_record = lane_record("memory", computer.MEMORY)
