"""One whole flight, from the launch pad to rest: world and flight computer in one loop.

This is the place to start reading. A flight goes through ticks of the flight computer. In each:

1. the inertial unit reports what it felt since its last sample,
2. the flight computer thinks and commands,
3. actuators, igniters and latches take the commands,
4. the world moves on to the next tick, in Runge-Kutta steps that end where something happens:
   a knot of a thrust curve, a motor lighting, a stage parting, lift-off, the first touch.

The source is written over lanes (sim.lanes): compiled at width 1 it is one flight, at width 8 it is
eight in lock step, with the same bits. A condition is a mask, `where` chooses lane by lane.

It is flown in two calls. The first ends at the first touch and hands every flight over; the second
takes them, in another grouping, through their last second (sim.touchdown): the same ticks, with
finer steps in them. One kernel serves both, so that the flight computer is compiled once.

Three records travel through it: `p`, the numbers drawn for this flight, which never change; `w`,
what the world remembers from tick to tick; `o`, what is written down.
"""

from __future__ import annotations

import numpy as np

from sim.avionics import aids, computer, sensors
from sim.flight_handing import (
    hand_over,
    handed_state,
    take_over,
    when_to_settle,
    write_settled,
)
from sim.flight_honesty import watch_contact_honesty, watch_ignition_honesty
from sim.flight_records import (
    IN_THE_AIR,
    ON_THE_PAD,
    belief_record,
    carry_record,
    command_record,
    input_record,
    memory_record,
    outcome_record,
    rest_record,
    sample_record,
    settings_record,
)
from sim.flight_step import check_sound, move_to, step_loads, take_configuration
from sim.flight_watch import (
    finish_outcomes,
    start_outcomes,
    watch_burns,
    watch_extremes,
    watch_ignition_navigation,
    watch_parachute,
    write_trace,
)
from sim.lanes import (
    any_lane,
    clamp,
    kernel,
    load,
    not_,
    part,
    room,
    spread,
    sqrt,
    store,
    where,
    whole,
)
from sim.physics import (
    actuators,
    aerodynamics,
    air,
    dropped_stage,
    launch_pad,
    parting,
    wind,
)
from sim.physics.faults import begin_faults, let_out, silence, spoil_inertial, start_faults
from sim.physics.frames import rotation_of, to_body
from sim.physics.motor import INFINITE
from sim.physics.unit import felt, keep_sample_point, place_unit
from sim.touchdown import settle_tick, start_settling, watch_rest

# ---- before the flight ---------------------------------------------------------------------------


@room
def prepare_world(seed, flight, p, w):
    """Configuration, motors and records as they are when the countdown ends."""
    w.stage_attached = p.has_stage
    w.separation_at = w.legs_at = w.petals_at = w.slide_at = INFINITE
    w.landing_ahead = p.swap_travel
    w.ascent_light = w.ascent_piece_end = INFINITE
    w.landing_light = w.landing_piece_end = INFINITE
    w.separated_at = w.landing_commanded_at = w.swapped_at = np.nan
    w.stage_time = w.stage_speed = np.nan
    w.stage_closest = -1.0
    w.flying = 1.0
    w.off_pad = p.start_free
    w.gap = w.limit = INFINITE
    w.ground_factor = w.dip_depth = 1.0
    w.legs_open, w.petals_open = p.legs_open_at_start, p.petals_open_at_start
    w.ascent_per_impulse = p.ascent_propellant / p.ascent_total
    w.landing_per_impulse = p.landing_propellant / p.landing_total
    start_faults(w)
    wind.start_turbulence(seed, flight, w)


@room
def begin_anew(lanes, time, p, w, rest, settings, work, memory):
    """A computer that was out starts again as on the launch pad, with what it measured there."""
    resets = (time >= p.reset_until) & (w.was_reset < 0.5)
    if any_lane(resets):
        for row in range(work.memory.shape[0]):
            store(work.memory_kept, row, load(lanes, work.memory, row))
        computer.start(lanes, rest, settings, work.memory, memory)
        for row in range(work.memory.shape[0]):
            new, old = load(lanes, work.memory, row), load(lanes, work.memory_kept, row)
            store(work.memory, row, where(resets, new, old))
        w.was_reset = where(resets, 1.0, w.was_reset)


# ---- one group of flights ------------------------------------------------------------------------


@part
def squared_airspeed(state, w):
    """Square of the speed through the air of the last tick [m2/s2]."""
    east, north = state.velocity_east - w.wind_east, state.velocity_north - w.wind_north
    up = state.velocity_up
    return east * east + north * north + up * up


@room
def stand_ready(lanes, seed, flight, plan, p, w, o, rest, settings, memory_array, memory):
    """World and flight computer as the countdown ends; the state on the launch pad."""
    prepare_world(seed, flight, p, w)
    start_outcomes(o)
    take_configuration(p, w)
    loads = step_loads(0.0 * p.air_density, p.air_density, p.gravity, p, w)
    w.cg_x, w.cg_y, w.cg_z = loads.cg_x, loads.cg_y, loads.cg_z
    state = launch_pad.standing(loads.cg_x, loads.cg_y, loads.cg_z, p)
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    place_unit(state, r, w.cg_x, w.cg_y, w.cg_z, p, w)
    keep_sample_point(w)
    w.unit_start_east, w.unit_start_north = w.unit_east, w.unit_north
    w.unit_start_up = w.unit_up
    gravity = air.gravity_at(state.up, p)
    upward = to_body(r, 0.0, 0.0, gravity)
    sensors.at_rest(lanes, seed, flight, upward, p, w, rest)
    if aids.fitted(p):
        aids.aids_at_rest(lanes, seed, flight, r, p, w, rest)
    if plan.built_in:
        computer.start(lanes, rest, settings, memory_array, memory)
    return state, r, loads


@room
def fly_group(
    lanes, seed, inputs, runs, settling, queue, plan, tables, handed, outcomes, traces, work, p,
    w, o, rest, sample, command, belief, settings, memory,
):  # fmt: skip
    """Fly one group of flights from the launch pad to the first touch, or all from there to rest.

    Parameters
    ----------
    lanes : family of lane types
    seed : uint64
    inputs : float64[len(INPUTS), flights]
    runs : uint64[flights]
    settling : bool
        The last second, for flights that were handed over. A lane whose flight is over takes the
        next one; nothing that was in the lane before matters. Each flight keeps its own time.
    queue : Queue
        Flights for which no lane is free yet, when settling.
    plan : Plan
        Numbers that are the same for all flights: tick, limits, which computer flies.
    tables : Tables
        Curves and tables that are the same for all flights.
    handed : float64[flights, HANDED_ROWS]
        Written at the first touch, read when settling.
    outcomes : float64[len(OUTCOMES), flights]
        Written by flights that are over.
    traces : float64[samples * len(TRACE), width]
        Where to write a trace; no rows for none.
    work : Work
        `columns` and `keys` say which flights these are.
    p, w, o, rest, sample, command, belief, settings, memory : records
    """
    ascent_curve, landing_curve, legs = tables.ascent_curve, tables.landing_curve, tables.legs
    interval = plan.interval
    memory_array, points, columns = work.memory, work.points, work.columns
    flight = load(lanes, work.keys, 0)
    state, r, loads = stand_ready(
        lanes, seed, flight, plan, p, w, o, rest, settings, memory_array, memory
    )
    has_aids, aided = aids.fitted(p), any_lane(settings.aided > 0.5)
    count, joining, most_ticks = 0, 0, plan.most_ticks
    if settling:
        w.flying = spread(lanes, 0.0)  # none has joined yet
        joining = len(columns)
        count, most_ticks = when_to_settle(columns, len(queue.columns), plan, handed)
    while count < most_ticks and (joining > 0 or any_lane(w.flying > 0.5)):
        # a flight that took over a lane counts its ticks from its own launch
        ticks = count - w.late
        time = ticks * interval
        number = whole(ticks)
        w.tick_end = time
        gravity = air.gravity_at(state.up, p)

        # 1. feel
        sample.time = time
        sample.inertial_valid = spread(lanes, 0.0)
        burning = (w.ascent_thrust * w.stage_attached > 0.0) | (w.landing_thrust > 0.0)
        if count % plan.inertial_every == 0:
            rate, force = felt(plan.inertial_every * interval, gravity, w)
            vibration = where(burning, p.vibration_level, 0.0)
            sensors.inertial_sample(
                lanes, seed, flight, whole(ticks * (1.0 / plan.inertial_every) + 0.5),
                count // plan.inertial_every, plan.inertial_every * interval, rate, force,
                vibration, p, w, sample,
            )  # fmt: skip
            keep_sample_point(w)
            spoil_inertial(p, w, sample)
        if has_aids:
            aids.aids_tick(
                lanes, seed, flight, number, time, burning, sqrt(squared_airspeed(state, w)),
                state, r, p, w, sample,
            )  # fmt: skip
        sample.stage_attached = w.stage_attached
        sample.legs_open, sample.petals_open = w.legs_open, w.petals_open
        sample.ascent_continuity = where(w.ascent_light < INFINITE, 0.0, 1.0)
        sample.landing_continuity = where(
            (w.landing_light < INFINITE) | ((w.landing_ahead > 0.0) & (p.recess_contact < 0.5)),
            0.0, 1.0 - p.continuity_lost,
        )
        sample.parachute_open = where(w.chute_open > 0.0, 1.0, 0.0)

        # 2. think
        if plan.built_in:
            begin_anew(lanes, time, p, w, rest, settings, work, memory)
            computer.tick(
                lanes, count, sample, settings, tables.ignition, tables.push,
                memory_array, memory, command, belief,
            )  # fmt: skip
        else:
            computer.idle_tick(lanes, sample, settings, command, belief)

        # 3. take the commands
        begin_faults(time, p, w)
        silence(time, p, command)
        parting.take_igniters(time, command, p, w)
        parting.take_orders(time, command, p, w)
        watch_ignition_navigation(belief, w, o)
        if aided:
            watch_ignition_honesty(lanes, work.honesty, belief, w, o)
        actuators.take_gimbal(command, p, w)
        actuators.take_throttle(seed, flight, number, w.landing_thrust > 0.0, command, p, w)
        actuators.take_wheels(command, state.wheel_x, state.wheel_y, state.wheel_z, interval, p, w)

        if any_lane(let_out(time, command, p, w)):
            aerodynamics.choose_shape(p, w)

        if len(traces) > 0 and count % plan.trace_every == 0:
            write_trace(
                lanes, traces, count // plan.trace_every, time, state, r, loads, belief, points,
                p, w,
            )  # fmt: skip

        # 4. the world moves on
        speed2 = squared_airspeed(state, w)
        wind.wind_tick(
            seed, flight, number, count, time, interval, state.up, state.velocity_up, speed2, p, w,
            tables.wind_east, tables.wind_north,
        )  # fmt: skip
        middle = state.up + 0.5 * interval * state.velocity_up
        density = air.density_at(middle, p)
        gravity = air.gravity_at(middle, p)
        recessed = (w.stage_attached > 0.5) | (w.landing_ahead > 0.0)
        w.ground_factor = where(recessed, 1.0 - p.recess_share, 1.0)
        tail = state.up - p.ground_reach
        low = tail < p.ground_reach
        if any_lane(low):
            share = clamp(1.0 - tail / p.ground_reach, 0.0, 1.0)
            factor = w.ground_factor * (1.0 + p.ground_effect * share)
            w.ground_factor = where(low, factor, w.ground_factor)
        flying = w.flying > 0.5
        w.settled = spread(lanes, 0.0)
        if settling:
            left = spread(lanes, interval)
            if joining > 0:
                found = take_over(count, plan.period, handed, inputs, runs, outcomes, work)
                joining -= found
                if found > 0:
                    starting = w.starting > 0.5
                    flight = load(lanes, work.keys, 0)
                    time = (count - w.late) * interval
                    state = where(starting, handed_state(lanes, work.state), state)
                    density = where(starting, air.density_at(state.up, p), density)
                    gravity = where(starting, air.gravity_at(state.up, p), gravity)
                    start_settling(
                        lanes, starting, seed, flight, state, density, gravity, legs, points,
                        tables.air, p, w, o,
                    )  # fmt: skip
                    left = where(starting, time + interval - o.contact_time, left)
            else:
                w.starting = spread(lanes, 0.0)
            now = where(w.starting > 0.5, o.contact_time, time)
            state, loads = settle_tick(
                lanes, left, now, state, density, gravity, legs, plan.design, points,
                ascent_curve, landing_curve, tables.air, p, w, o,
            )  # fmt: skip
        else:
            begun = count * interval  # in the air all keep the clock of the call
            state, loads = move_to(
                begun + interval, begun, plan.longest_step, state, loads, density, gravity, legs,
                ascent_curve, landing_curve, tables.air, belief, p, w, o,
            )  # fmt: skip
        w.tick_end = time + interval
        r = rotation_of(state.q0, state.q1, state.q2, state.q3)
        place_unit(state, r, w.cg_x, w.cg_y, w.cg_z, p, w)
        if settling:
            over = watch_rest(lanes, time + interval, interval, state, r, legs, points, p, w, o)
            over = over & (w.flying > 0.5)
            if any_lane(over):
                w.settled = where(over, 1.0, 0.0)
                w.flying = where(over, 0.0, w.flying)
                joining += write_settled(count, queue, outcomes, work)
        else:
            if any_lane(w.stage_falling > 0.5):
                dropped_stage.stage_step(count, interval, tables, p, w)
                dropped_stage.stage_distance(state, p, w)
            watch_burns(flying, state, r, loads, p, w, o)
            if any_lane(w.chute_open > 0.0):
                watch_parachute(flying, time, state, loads.half_density * speed2, p, w, o)
            pull2 = force[0] * force[0] + force[1] * force[1] + force[2] * force[2]
            watch_extremes(flying, state, r, pull2, loads.half_density * speed2, w, o)
            touched = flying & not_(w.flying > 0.5)
            w.starting = where(touched, 1.0, 0.0)
            if any_lane(touched):
                if aided:
                    watch_contact_honesty(lanes, touched, work.honesty, belief, o)
                hand_over(count, state, handed, work)
            check_sound(time + interval, state, w, o)
        count += 1

    if not settling:
        end_in_the_air(count, state, plan, tables, p, w, o)


@room
def end_in_the_air(count, state, plan, tables, p, w, o):
    """Endings of flights that did not come down, and the way down of a stage still falling."""
    aloft = w.flying > 0.5
    ending = where(w.off_pad > 0.5, 1.0 * IN_THE_AIR, 1.0 * ON_THE_PAD)
    o.ending = where(aloft, ending, o.ending)
    # a stage that is still falling when the vehicle is down; as above, or it would depend on how
    # long the other flights of the group last
    while count < plan.most_ticks and any_lane(w.stage_falling > 0.5):
        dropped_stage.stage_step(count, plan.interval, tables, p, w)
        dropped_stage.stage_distance(state, p, w)
        count += 1
    finish_outcomes(w, o)


# ---- many groups: what Python calls --------------------------------------------------------------


@part
def take_columns(source, columns, target):
    """Copy these columns of an array side by side, one a lane."""
    for lane in range(len(columns)):
        for row in range(source.shape[0]):
            target[row, lane] = source[row, columns[lane]]


@part
def put_columns(source, columns, target):
    """Copy lanes to these columns of an array."""
    for lane in range(len(columns)):
        for row in range(source.shape[0]):
            target[row, columns[lane]] = source[row, lane]


@part
def clear(lanes, array):
    """Set every number of a work array to zero."""
    for row in range(array.shape[0]):
        store(array, row, spread(lanes, 0.0))


@kernel
def fly(
    lanes, seed, groups, runs, inputs, settings_column, settling, queue, plan, tables, handed,
    outcomes, traces, work,
):  # fmt: skip
    """Fly groups of flights and write down their outcomes.

    Parameters
    ----------
    lanes : family of lane types
        Its width is the number of flights in a group.
    seed : uint64
    groups : int64[n, width]
        Columns of `inputs` and `outcomes` that fly together.
    runs : uint64[flights]
        Run numbers, which key the noise.
    inputs : float64[len(INPUTS), flights]
        What was drawn for each flight.
    settings_column : float64[len(SETTINGS)]
        What the flight computer was told, the same for all.
    settling : bool
        False: from the launch pad to the first touch. True: from there to rest, for flights that
        the first call handed over, in any grouping; one group, and the queue behind it.
    queue : Queue
        Empty when not settling; `turns` is changed.
    plan, tables : Plan, Tables
    handed : float64[flights, HANDED_ROWS]
        See sim.flight_handing.handed_over.
    outcomes : float64[len(OUTCOMES), flights]
        Written; read as well when settling.
    traces : float64[samples * len(TRACE), width]
        Written for the last group; no rows for none.
    work : Work
        Scratch, see sim.flight_work; one set a thread.
    """
    width = lanes.width
    p_array, w_array, o_array = work.inputs, work.carry, work.outcomes
    rest_array, sample_array, command_array = work.rest, work.sample, work.command
    belief_array, settings_array, memory_array = work.belief, work.settings, work.memory
    for row in range(settings_array.shape[0]):
        for column in range(width):
            settings_array[row, column] = settings_column[row]
    p, w = input_record(lanes, p_array), carry_record(lanes, w_array)
    o, rest = outcome_record(lanes, o_array), rest_record(lanes, rest_array)
    sample, command = sample_record(lanes, sample_array), command_record(lanes, command_array)
    belief = belief_record(lanes, belief_array)
    settings = settings_record(lanes, settings_array)
    memory = memory_record(lanes, memory_array)
    for i in range(len(groups)):
        take_columns(inputs, groups[i], p_array)
        clear(lanes, w_array)
        clear(lanes, sample_array)
        clear(lanes, command_array)
        clear(lanes, belief_array)
        clear(lanes, work.points)
        for lane in range(width):
            work.columns[lane] = groups[i, lane]
            work.keys[0, lane] = runs[groups[i, lane]]
        fly_group(
            lanes, seed, inputs, runs, settling, queue, plan, tables, handed, outcomes, traces,
            work, p, w, o, rest, sample, command, belief, settings, memory,
        )  # fmt: skip
        if not settling:
            put_columns(o_array, groups[i], outcomes)
