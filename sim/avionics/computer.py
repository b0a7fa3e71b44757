"""The built-in flight computer: AT_REST and SAMPLE in, COMMAND and BELIEF out.

`start` is called once, `tick` at each tick of the control rate. All that it keeps is in the memory
block, all that it knows of the vehicle is in the settings and two tables: the height of the feet
at which to light the landing motor against sink rate, and the nominal push of that motor (thrust
over believed mass, m/s2, unobstructed) against time since light.

Records are lane records: settings over SETTINGS, memory over MEMORY (memory_array is the array it
views), command, belief, sample and rest over the lists of the seam.
"""

from sim.avionics.aiding import start_aids, tell, use_aids
from sim.avionics.alignment import align
from sim.avionics.attitude import control
from sim.avionics.guidance import guide
from sim.avionics.memory import MEMORY, SETTINGS
from sim.avionics.navigation import never, reckon, watch_launch_pad
from sim.avionics.rotation import rotate
from sim.avionics.seam import CLIMB, LANDING, ON_PAD
from sim.avionics.sequence import fire_and_open, next_phase
from sim.lanes import any_lane, not_, part, room, spread, store, where

__all__ = ["MEMORY", "SETTINGS", "idle_tick", "start", "tick"]


@room
def start(lanes, rest, settings, memory_array, memory):
    """Align, and set the memory to the state on the launch pad. Every field is written."""
    zero = spread(lanes, 0.0)
    for row in range(memory_array.shape[0]):
        store(memory_array, row, zero)
    align(rest, settings, memory)
    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    unit = rotate(q, (settings.unit_above_aft, settings.unit_y, settings.unit_z))
    memory.east, memory.north, memory.up = unit
    memory.start_east, memory.start_north, memory.start_up = unit
    short_east = settings.divert_way * settings.divert_to_east
    short_north = settings.divert_way * settings.divert_to_north
    aim_east, aim_north = settings.landing_east - short_east, settings.landing_north - short_north
    memory.aim_east = aim_east - settings.wind_drift * rest.wind_reading_east
    memory.aim_north = aim_north - settings.wind_drift * rest.wind_reading_north
    memory.phase = zero + ON_PAD
    memory.lift_off_time, memory.burn_out_time = never(lanes), never(lanes)
    memory.ignition_time, memory.light_time = never(lanes), never(lanes)
    memory.time_to_go = never(lanes)
    memory.push_ratio = zero + 1.0
    memory.throttle, memory.throttle_command = zero + 1.0, zero + 1.0
    if any_lane(settings.aided > 0.5):
        start_aids(lanes, rest, settings, memory_array, memory)


@part
def take_sample(sample, settings, memory):
    """Keep the newest rates and forces, biases taken off."""
    new = sample.inertial_valid > 0.5
    memory.rate_x = where(new, sample.rate_x - memory.gyro_bias_x, memory.rate_x)
    memory.rate_y = where(new, sample.rate_y - memory.gyro_bias_y, memory.rate_y)
    memory.rate_z = where(new, sample.rate_z - memory.gyro_bias_z, memory.rate_z)
    along = sample.force_x - memory.force_bias_x
    # what a filter finds on the nose axis may be an error of scale, gone at one g
    along = along - memory.nose_bias * (1.0 - settings.nose_follows * along)
    memory.force_x = where(new, along, memory.force_x)
    memory.force_y = where(new, sample.force_y - memory.force_bias_y, memory.force_y)
    memory.force_z = where(new, sample.force_z - memory.force_bias_z, memory.force_z)
    rate = memory.rate_x, memory.rate_y, memory.rate_z
    return rate, (memory.force_x, memory.force_y, memory.force_z), new


@room
def write_belief(feet, height, memory, belief):
    """Write the one-way record of what the computer believes."""
    belief.phase = memory.phase
    belief.east = memory.east - memory.start_east
    belief.north = memory.north - memory.start_north
    belief.up = memory.up - memory.start_up
    belief.velocity_east = memory.velocity_east
    belief.velocity_north = memory.velocity_north
    belief.velocity_up = memory.velocity_up
    belief.quaternion_0, belief.quaternion_1 = memory.quaternion_0, memory.quaternion_1
    belief.quaternion_2, belief.quaternion_3 = memory.quaternion_2, memory.quaternion_3
    belief.landing_east, belief.landing_north = feet[0], feet[1]
    belief.height_feet = height
    belief.sink_rate = -memory.velocity_up
    belief.lift_off_time = memory.lift_off_time
    belief.time_to_go = memory.time_to_go


@room
def tick(
    lanes, count, sample, settings, ignition_table, push_table, memory_array, memory,
    command, belief,
):  # fmt: skip
    """One tick: navigate, move on in the sequence, guide, control.

    Parameters
    ----------
    count : int
        Number of the tick, 0 first.
    ignition_table : float64 array [m]
        Height of the feet at which to command ignition, settings.sink_steps entries for each
        m/s of sink rate, from 0.
    push_table : float64 array [m/s2]
        Nominal unobstructed thrust over mass, settings.push_steps entries for each second after
        light.
    """
    rate, force, new = take_sample(sample, settings, memory)
    waiting = memory.phase == ON_PAD
    flying = not_(waiting) & new
    if any_lane(waiting):
        watch_launch_pad(lanes, count, sample, waiting, rate, force, memory_array, memory, settings)
    if any_lane(flying):
        interval = where(flying, sample.inertial_interval, 0.0)
        reckon(memory, rate, force, interval, settings)
    if any_lane(settings.aided > 0.5):
        moved = where(flying, sample.inertial_interval, 0.0)
        airborne = not_(memory.phase == ON_PAD)
        use_aids(lanes, count, sample, moved, airborne, memory_array, memory, settings)
        tell(lanes, memory_array, memory, belief)

    q = memory.quaternion_0, memory.quaternion_1, memory.quaternion_2, memory.quaternion_3
    feet = rotate(q, (-settings.unit_above_feet, -settings.unit_y, -settings.unit_z))
    feet = (memory.east + feet[0], memory.north + feet[1], memory.up + feet[2])
    height = feet[2] + settings.launch_height
    nose_up = 2.0 * (q[1] * q[3] - q[0] * q[2])

    next_phase(sample, height, nose_up, ignition_table, settings, memory)
    guide(sample.time, q, height, nose_up, feet, push_table, settings, memory)
    control(q, settings, memory, command)
    fire_and_open(sample, settings, memory, command)
    command.throttle = memory.throttle_command
    write_belief(feet, height, memory, belief)


@room
def idle_tick(lanes, sample, settings, command, belief):
    """Keep time only: light, drop and light again when the clock says so."""
    zero = spread(lanes, 0.0)
    command.gimbal_y, command.gimbal_z = zero, zero
    command.wheel_x, command.wheel_y, command.wheel_z = zero, zero, zero
    command.throttle = zero + 1.0
    lit = sample.time >= settings.ignition_time
    dropped = (sample.time >= settings.separation_time) | lit
    command.ignite_ascent = where(sample.time >= 0.0, 1.0, 0.0)
    command.ignite_landing = where(lit, 1.0, 0.0)
    command.separate = where(dropped, 1.0, 0.0)
    command.open_legs = where(sample.time >= settings.ignition_time + settings.legs_after, 1.0, 0.0)
    command.open_petals, command.open_parachute = zero, zero
    belief.phase = where(lit, 1.0 * LANDING, 1.0 * CLIMB)
