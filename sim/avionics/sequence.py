"""Flight sequence: which phase it is, and what is fired and opened, from what the sensors say.

on pad -> climb    specific force above the threshold for some samples (navigation.py)
climb -> coast     specific force below the burn-out level for BURN_OUT_SAMPLES; the stage is
                   dropped a set time later
coast -> descent   believed vertical speed turns negative
descent -> landing the ignition table, height or time says so; legs a set time later
landing -> down    a jolt at contact, or the landing motor long burnt out
any before landing -> abort   tilted beyond hope; and, where the settings say so, a stage that
                   still hangs on or an igniter without continuity once it falls
landing -> abort   where the settings say so: no push a while after the ignition command
In abort no motor is lit any more; besides, as the settings say: a parachute is let out, or the nose
is held upright (attitude.py) without any guidance, legs open if the landing motor was commanded,
in case that it lights yet.

On the launch pad the settings may ask to hold: an ascent motor is not lit while the igniter of the
landing motor is an open circuit.
"""

from sim.avionics.memory import BY_HEIGHT, BY_TABLE, BY_TIME
from sim.avionics.seam import ABORT, CLIMB, COAST, DESCENT, DOWN, LANDING, ON_PAD
from sim.lanes import any_lane, interpolate, maximum, not_, room, where

BURN_OUT_SAMPLES = 4.0
JOLT = 3.0  # times the strongest nominal push
AFTER_BURN = 1.0  # s after nominal burn-out when the computer gives up watching for contact


@room
def light_landing(sample, height, sink, falling, ignition_table, settings, memory):
    """Decide on the landing ignition, for lanes that fall and have not lit."""
    table = interpolate(ignition_table, maximum(sink, 0.0) * settings.sink_steps)
    by_table = (settings.ignition_law == BY_TABLE) & (height <= table + settings.ignition_margin)
    by_height = (settings.ignition_law == BY_HEIGHT) & (height <= settings.ignition_height)
    by_time = (settings.ignition_law == BY_TIME) & (sample.time >= settings.ignition_time)
    lit = falling & (by_table | by_height | by_time)
    memory.phase = where(lit, 1.0 * LANDING, memory.phase)
    memory.ignition_time = where(lit, sample.time, memory.ignition_time)
    memory.force_at_ignition = where(lit, memory.force_x, memory.force_at_ignition)


@room
def watch_landing(sample, landing, settings, memory):
    """Notice that the landing motor burns, and that the ground has been reached."""
    burning = memory.force_x > memory.force_at_ignition + settings.light_force
    unlit = memory.light_time != memory.light_time
    memory.light_time = where(landing & unlit & burning, sample.time, memory.light_time)
    strongest = JOLT * settings.landing_push
    along = memory.force_x * memory.force_x
    across = memory.force_y * memory.force_y + memory.force_z * memory.force_z
    jolt = along + across > strongest * strongest
    over = sample.time > memory.light_time + settings.burn_end + AFTER_BURN
    memory.phase = where(landing & (jolt | over), 1.0 * DOWN, memory.phase)
    late = sample.time >= memory.ignition_time + settings.light_wait
    unlit = memory.light_time != memory.light_time
    memory.phase = where(landing & unlit & late, 1.0 * ABORT, memory.phase)


@room
def next_phase(sample, height, nose_up, ignition_table, settings, memory):
    """Move on to the phase that the sensors show."""
    sink = -memory.velocity_up
    phase = memory.phase
    climbing, coasting = phase == CLIMB, phase == COAST
    if any_lane(climbing):
        valid = sample.inertial_valid > 0.5
        quiet = where(memory.force_x < settings.burn_out_force, memory.below_count + 1.0, 0.0)
        memory.below_count = where(climbing & valid, quiet, memory.below_count)
        burnt_out = climbing & (memory.below_count >= BURN_OUT_SAMPLES)
        memory.burn_out_time = where(burnt_out, sample.time, memory.burn_out_time)
        phase = where(burnt_out, 1.0 * COAST, phase)
    phase = where(coasting & (sink > 0.0), 1.0 * DESCENT, phase)
    hopeless = (phase >= CLIMB) & (phase <= DESCENT) & (nose_up < settings.abort_nose_up)
    # (every comparison with a wait of nan is false: that check is not made)
    apart = memory.burn_out_time + settings.separation_after + settings.stage_wait
    hangs_on = (sample.stage_attached > 0.5) & (sample.time >= apart)
    is_open = (settings.check_continuity > 0.5) & (sample.landing_continuity < 0.5)
    hopeless = hopeless | ((phase == DESCENT) & (hangs_on | is_open))
    phase = where(hopeless, 1.0 * ABORT, phase)
    memory.phase = phase
    falling = phase == DESCENT
    if any_lane(falling):
        light_landing(sample, height, sink, falling, ignition_table, settings, memory)
    landing = phase == LANDING
    if any_lane(landing):
        watch_landing(sample, landing, settings, memory)


@room
def fire_and_open(sample, settings, memory, command):
    """Set the flags of the command, from the phase."""
    time = sample.time
    phase = memory.phase
    flown = (phase >= COAST) & (phase <= DOWN)
    lit = (phase == LANDING) | (phase == DOWN)
    separate = flown & (time >= memory.burn_out_time + settings.separation_after)
    petals = where(separate, settings.petals_at_separation, 0.0)
    past_apogee = flown & not_(phase == COAST)
    petals = where(past_apogee, maximum(petals, settings.petals_at_apogee), petals)
    held = (settings.hold > 0.5) & (sample.landing_continuity < 0.5) & (phase == ON_PAD)
    command.ignite_ascent = where(held, 0.0, 1.0)
    command.ignite_landing = where(lit, 1.0, 0.0)
    command.separate = where(separate, 1.0, 0.0)
    command.open_petals = petals
    given_up = phase == ABORT
    legged = lit | (given_up & (settings.abort_level > 0.5))
    command.open_legs = where(
        legged & (time >= memory.ignition_time + settings.legs_after), 1.0, 0.0
    )
    command.open_parachute = where(given_up, settings.abort_parachute, 0.0)
