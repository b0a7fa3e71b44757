"""How the world moves on by one tick: Runge-Kutta steps that end where something happens."""

from __future__ import annotations

from sim.flight_records import FAILED
from sim.flight_watch import watch_apogee, write_contact
from sim.lanes import absolute, any_lane, apart, maximum, minimum, not_, part, room, where
from sim.physics import actuators, aerodynamics, contact, launch_pad, mass, motor, parting, swap
from sim.physics.frames import rotation_of
from sim.physics.motor import INFINITE
from sim.physics.rigid_body import Loads, State, inverse_tensor, mount_angle, runge_kutta

GAP_TOLERANCE = 1e-7  # m, how exactly the first touch is found
LEAST_STEP = 1e-7  # s, below which no step is tried again
NET_TOLERANCE = 1e-7  # share of weight, how exactly lift-off is found
NET_SLACK = 1e-3  # the same for a step that was cut to nothing
MOST_STEPS = 1000  # within a tick; a flight that needs more has failed numerically
RUNNING = 0.05  # N, thrust above which a motor counts as burning
SOUND = 1e9  # a state beyond this, or nan, is a numerical failure


@part
def take_configuration(p, w):
    """Body, servo and shape for the flags of the configuration."""
    mass.configure(p, w)
    swap.carry(p, w)
    actuators.choose_servo(p, w)
    actuators.set_goals(p, w)
    aerodynamics.choose_shape(p, w)


@part
def spun(state, share):
    """The same state with this share of its roll rate."""
    return State(
        state.east, state.north, state.up,
        state.velocity_east, state.velocity_north, state.velocity_up,
        state.q0, state.q1, state.q2, state.q3, share * state.rate_x, state.rate_y, state.rate_z,
        state.servo_y, state.servo_y_rate, state.servo_z, state.servo_z_rate, state.dip,
        state.wheel_x, state.wheel_y, state.wheel_z,
    )  # fmt: skip


@part
def next_event(w):
    """Time of the next thing that is already sure to happen [s]."""
    soon = minimum(w.ascent_piece_end, w.landing_piece_end)
    soon = minimum(soon, w.slide_at)
    return minimum(minimum(soon, w.separation_at), minimum(w.legs_at, w.petals_at))


@part
def step_loads(middle, density, gravity, p, w):
    """What a Runge-Kutta step sees as constant: mass, inertia, thrust and air in its middle.

    Parameters
    ----------
    middle : lanes [s]
        Time in the middle of the step.
    density, gravity : lanes [kg/m3], [m/s2]
    p, w : records

    Returns
    -------
    Loads
    """
    attached = w.stage_attached
    ascent = attached * motor.thrust_now(
        middle, w.ascent_piece_start, w.ascent_thrust, w.ascent_slope
    )
    landing = motor.thrust_now(middle, w.landing_piece_start, w.landing_thrust, w.landing_slope)
    # propellant burns in step with the impulse
    ascent_rate, landing_rate = w.ascent_per_impulse, w.landing_per_impulse
    ascent_given = motor.impulse_now(
        middle, w.ascent_piece_start, w.ascent_thrust, w.ascent_slope, w.ascent_impulse
    )
    landing_given = motor.impulse_now(
        middle, w.landing_piece_start, w.landing_thrust, w.landing_slope, w.landing_impulse
    )
    m = mass.mass_properties(
        attached * (p.ascent_propellant - ascent_rate * ascent_given),
        p.landing_propellant - landing_rate * landing_given,
        p,
        w,
    )
    ascent_flow, landing_flow = ascent_rate * ascent, landing_rate * landing
    ascent_arm = p.ascent_propellant_x - m.x
    landing_arm = p.landing_propellant_x + w.landing_ahead - m.x
    ascent_exit, landing_exit = p.ascent_exit_x - m.x, p.landing_exit_x - m.x
    # -dJ/dt of the burning grains, and what the gas takes away at the nozzle
    jet_transverse = ascent_flow * (
        ascent_exit * ascent_exit - ascent_arm * ascent_arm - p.ascent_gyration_transverse
    ) + landing_flow * (
        landing_exit * landing_exit - landing_arm * landing_arm - p.landing_gyration_transverse
    )
    jet_axial = ascent_flow * (p.ascent_exit_gyration - p.ascent_gyration_axial) + landing_flow * (
        p.landing_exit_gyration - p.landing_gyration_axial
    )
    jet_side = ascent_flow * (p.ascent_exit_x - p.ascent_propellant_x) + landing_flow * (
        p.landing_exit_x - p.landing_propellant_x
    )
    creep = -(ascent_flow * ascent_arm + landing_flow * landing_arm) * m.per_mass
    ixx, iyy, izz, ixy, ixz, iyz = inverse_tensor(m.jxx, m.jyy, m.jzz, m.jxy, m.jxz, m.jyz)
    return Loads(
        m.mass, m.per_mass, m.x, m.y, m.z, creep, m.jxx, m.jyy, m.jzz, m.jxy, m.jxz, m.jyz,
        ixx, iyy, izz, ixy, ixz, iyz, jet_axial, jet_transverse, jet_side, ascent, landing,
        0.5 * density, gravity, where(ascent + landing > RUNNING, 1.0, 0.0),
    )  # fmt: skip


@apart
def swap_motors(slides, now, state, density, gravity, p, w):
    """The landing motor has slid into its place, in these lanes; return the state."""
    old = step_loads(now, density, gravity, p, w)
    w.landing_ahead = where(slides, 0.0, w.landing_ahead)
    take_configuration(p, w)
    new = step_loads(now, density, gravity, p, w)
    return swap.slid(slides, now, state, old, new, w)


@room
def open_legs(legs, state, azimuths, p, w):
    """Lanes whose legs open now; the ground bars legs whose feet would swing down into it."""
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    gap, _ = contact.lowest_point(
        r, state, w.cg_x, w.cg_y, w.cg_z, w.stage_attached, 1.0 + 0.0 * w.legs_open, azimuths, p
    )
    barred = legs & (gap < 0.0)
    w.legs_barred = where(barred, 1.0, w.legs_barred)
    w.legs_at = where(barred, INFINITE, w.legs_at)
    opens = legs & not_(barred)
    # the open feet are nearer to the ground than what was lowest before
    w.gap = where(opens & (w.gap < INFINITE), gap, w.gap)
    return opens


@room
def happen(due, now, state, density, gravity, p, w, azimuths, ascent_curve, landing_curve):
    """Let happen what is due now: knots and lighting, the stage parting, motor swap, petals, legs.

    Returns the state, told for the centre of gravity of the new configuration.
    """
    motor.walk_curves(due, now, p, w, ascent_curve, landing_curve)
    parts = due & (w.separation_at <= now)
    legs = due & (w.legs_at <= now)
    petals = due & (w.petals_at <= now)
    if any_lane(legs):
        legs = open_legs(legs, state, azimuths, p, w)
    if any_lane(parts | legs | petals):
        w.stage_attached = where(parts, 0.0, w.stage_attached)
        w.legs_open = where(legs, 1.0, w.legs_open)
        w.petals_open = where(petals, 1.0, w.petals_open)
        w.separation_at = where(parts, INFINITE, w.separation_at)
        w.legs_at = where(legs, INFINITE, w.legs_at)
        w.petals_at = where(petals, INFINITE, w.petals_at)
        take_configuration(p, w)
        new = step_loads(now, density, gravity, p, w)
        r = rotation_of(state.q0, state.q1, state.q2, state.q3)
        moved = parting.moved_cg(state, r, new.cg_x - w.cg_x, new.cg_y - w.cg_y, new.cg_z - w.cg_z)
        changed = parts | legs | petals
        state = where(changed, moved, state)
        # legs that swing out take up spin, as a dancer's arms do
        slower = (new.jxx - p.legs_gain) / new.jxx
        state = where(legs, spun(state, slower), state)
        w.cg_x = where(changed, new.cg_x, w.cg_x)
        w.cg_y = where(changed, new.cg_y, w.cg_y)
        w.cg_z = where(changed, new.cg_z, w.cg_z)
        if any_lane(parts):
            state = parting.free_stage(parts, now, state, new, p, w)
            swap.begin(parts, now, p, w)
    slides = due & (w.slide_at <= now)
    if any_lane(slides):
        state = swap_motors(slides, now, state, density, gravity, p, w)
    return state


@room
def lift_off(held, h, now, state, loads, w):
    """Whether the thrust exceeds the weight within this step, and where.

    Returns
    -------
    beyond, lifts : masks
        The step went too far; the step ends at lift-off.
    limit : lanes [s]
        Step that ends at lift-off, where it went too far.
    """
    r = rotation_of(state.q0, state.q1, state.q2, state.q3)
    weight = loads.mass * loads.gravity
    # thrust is a straight line within a step
    first = w.ascent_thrust + w.ascent_slope * (now - w.ascent_piece_start)
    last = first + w.ascent_slope * h
    net_first, net_last = first * r.zx - weight, last * r.zx - weight
    pushing = held & ((last > 0.0) | (w.ascent_slope > 0.0))
    beyond = pushing & (net_last > NET_TOLERANCE * weight) & (h > 0.0)
    # a step that begins beyond the point is cut to nothing, and lift-off is where it begins
    share = where(net_first < 0.0, net_first / (net_first - net_last), 0.0)
    # the weight in the middle of a shorter step differs a little
    near = where(h > 0.0, NET_TOLERANCE, NET_SLACK) * weight
    lifts = pushing & not_(beyond) & (net_last >= -near)
    return beyond, lifts, where(beyond, h * share, INFINITE)


@room
def move_to(
    end, time, longest, state, loads, density, gravity, legs, ascent_curve, landing_curve,
    air_table, belief, p, w, o,
):  # fmt: skip
    """Move the world on to the end of the tick, event by event; each lane at its own pace.

    Parameters
    ----------
    end, time : float [s]
        Where the tick ends and began.
    longest : float [s]
        Longest step.
    state : State
    loads : Loads
        Of the step before, for lanes that do not move any more.
    density, gravity : lanes [kg/m3], [m/s2]
    legs, ascent_curve, landing_curve, air_table : float64[n]
        Azimuths of the feet, thrust curves and forces of the air, see sim.physics.contact, motor
        and aerodynamics.
    belief, p, w, o : records

    Returns
    -------
    state : State
    loads : Loads
        Of the last step.
    """
    now = time + 0.0 * state.up
    moving = w.flying > 0.5
    steps = 0
    while any_lane(moving) and steps < MOST_STEPS:
        steps += 1
        due = moving & (next_event(w) <= now)
        if any_lane(due):
            state = happen(
                due, now, state, density, gravity, p, w, legs, ascent_curve, landing_curve
            )
        stop = minimum(end, next_event(w))
        longest_here = minimum(minimum(stop - now, w.limit), longest)
        h = where(moving, maximum(longest_here, 0.0), 0.0)
        new_loads = step_loads(now + 0.5 * h, density, gravity, p, w)
        loads = where(moving, new_loads, loads)
        after = runge_kutta(state, h, loads, air_table, p, w)

        held = moving & (w.off_pad < 0.5)
        lifts, beyond, limit = held & not_(held), held & not_(held), 0.0 * h + INFINITE
        if any_lane(held):
            after = where(held, launch_pad.held(state, after), after)
            beyond, lifts, limit = lift_off(held, h, now, state, loads, w)

        # first touch: a step that goes through the ground is tried again, shorter
        near = moving & (w.off_pad > 0.5) & (after.up < p.reach)
        gap, point = 0.0 * h + INFINITE, 0.0 * h
        if any_lane(near):
            r = rotation_of(after.q0, after.q1, after.q2, after.q3)
            gap, point = contact.lowest_point(
                r, after, loads.cg_x, loads.cg_y, loads.cg_z,
                w.stage_attached, w.legs_open, legs, p,
            )  # fmt: skip
            gap = where(near, gap, INFINITE)
            # (a vehicle that leaves a launch pad lower than the landing pad is under it at once)
            through = (gap < -GAP_TOLERANCE) & (h > LEAST_STEP) & (w.gap < INFINITE)
            beyond = beyond | through
            limit = where(through, h * w.gap / (w.gap - gap), limit)

        w.limit = limit
        accepted = moving & not_(beyond)
        watch_apogee(accepted & (w.off_pad > 0.5), now, h, state, after, o)
        w.gap = where(accepted, gap, w.gap)
        w.cg_x = where(accepted, loads.cg_x + 0.5 * h * loads.cg_creep, w.cg_x)
        w.cg_y, w.cg_z = where(accepted, loads.cg_y, w.cg_y), where(accepted, loads.cg_z, w.cg_z)
        now = where(accepted, where(h < stop - now, now + h, stop), now)
        state = where(accepted, after, state)
        if any_lane(lifts):
            state = where(lifts, launch_pad.released(state, p), state)
            w.off_pad = where(lifts, 1.0, w.off_pad)
            o.lift_off_time = where(lifts, now, o.lift_off_time)
        touched = accepted & near & (gap <= GAP_TOLERANCE)
        if any_lane(touched):
            r = rotation_of(state.q0, state.q1, state.q2, state.q3)
            write_contact(touched, now, state, r, loads, point, belief, p, w, o)
            w.flying = where(touched, 0.0, w.flying)
        moving = (w.flying > 0.5) & (now < end)
    if any_lane(moving):  # caught between events that never end: no sound flight comes here
        o.ending = where(moving, 1.0 * FAILED, o.ending)
        o.failed_time = where(moving, now, o.failed_time)
        w.flying = where(moving, 0.0, w.flying)
    w.slack_y = mount_angle(state.servo_y, w.slack_y, w.servo_backlash)
    w.slack_z = mount_angle(state.servo_z, w.slack_z, w.servo_backlash)
    return state, loads


@room
def check_sound(time, state, w, o):
    """A flight that turned to nan, or to impossible numbers, ends here as a failure."""
    total = (
        absolute(state.east) + absolute(state.north) + absolute(state.up)
        + absolute(state.velocity_east) + absolute(state.velocity_north)
        + absolute(state.velocity_up) + absolute(state.rate_x) + absolute(state.rate_y)
        + absolute(state.rate_z) + absolute(state.q0) + absolute(state.q1) + absolute(state.q2)
        + absolute(state.q3) + absolute(state.dip) + absolute(state.servo_y)
        + absolute(state.servo_z)
    )  # fmt: skip
    failed = (w.flying > 0.5) & not_(total < SOUND)
    if any_lane(failed):
        o.ending = where(failed, 1.0 * FAILED, o.ending)
        o.failed_time = where(failed, time, o.failed_time)
        w.flying = where(failed, 0.0, w.flying)
        w.stage_falling = where(failed, 0.0, w.stage_falling)
