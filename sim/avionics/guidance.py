"""Guidance: how far to lean on the way up, how hard to brake and where to lean on the way down.

Climb. Either a programme (lean so far from then until then), or aimed: the lateral speed wanted is
the way still to go to the aiming point over the time of the coast, and the lean makes it up in a
set time. The aiming point lies upwind of the landing pad by the drift expected from the wind that
was read on the field.

Vertical, landing burn. The nominal motor is strong for a while (the boost, until `boost_end` after
light; none for a level thrust curve) and then weak. The weak part can hardly brake, so the boost
has to hand over height and sink rate on the curve

    sink^2 = touchdown^2 + 2 a height                                                    (1)

that the weak part can follow at its planned net deceleration a. With mean net deceleration n over
the time d left of the boost, the state handed over is  v - n d,  h - v d + n d^2 / 2;  put into
(1) this is a quadratic with the root

    v - n d = sqrt(touchdown^2 + 2 a h - a v d + a^2 d^2 / 4) - a d / 2

which is solved anew at each tick: a late light, a weak motor, a height error are shared out over
what is left of the boost. Drag k v^2 fades as the vehicle slows; with constant push and a sink rate
falling linearly to much less, its mean is k (v^2 + v w + w^2) / 3 and it saves k v^2 d^2 / 12 of
height, so that the push asked for is nearly constant. After the boost, the deceleration is
a + gain (v - sink of (1)). When the burn would end before contact, the sink is raised so that the
height is used up in time.

Sideways, landing burn: acceleration asked is 6 / t^2 ZEM - 2 / t ZEV with the zero-effort miss and
velocity of the point between the feet and the time to go t (Guo, Hawkins and Wie, J. Guidance,
Control, and Dynamics 36 (2013); R11.9), inside a limit d of tilt. Where the landing pad is farther
than the vehicle can go and be at rest again (the law asks g d at both ends for a distance of
g d t^2 / 6, and somewhat more can be had as the boost pushes harder than g), a point that near on
the way is aimed at: arriving fast sideways is worse than arriving beside the mark. Near the end the
steering freezes: the nose is held upright.

A motor without a throttle is held back by leaning it (divert.py): the push asked for is the same.
"""

from sim.avionics.divert import boost_left, divert
from sim.avionics.rotation import cross, rotate
from sim.avionics.seam import CLIMB, LANDING
from sim.lanes import any_lane, clamp, interpolate, maximum, minimum, room, sqrt, where

LEAST_BOOST = 0.1  # s, shortest time over which the boost is planned
LEAST_BURN = 0.3  # s, shortest burn left over which the height is used up
RESERVE = 0.25  # s of the burn kept for what goes wrong
LEAST_TIME_TO_GO = 0.9  # s for steering: the attitude loop follows nothing quicker
REACH = 0.45  # of g d t^2 with d as half the tilt: a third by the law, and somewhat more
RATIO_GAIN = 0.06  # share of the difference in thrust believed at each tick
LEAST_RATIO, LARGEST_RATIO = 0.75, 1.25
LEAST_PUSH = 4.0  # m/s2, below which thrust is not compared or leaned on


@room
def boost_push(h, sink, left, settings):
    """Push that leads to curve (1) at the end of the boost [m/s2], and time to contact then [s]."""
    goal, slowing, k = settings.touchdown_sink_rate, settings.sustain_slowing, settings.drag_share
    h = h + k * sink * sink * left * left * (1.0 / 12.0)
    inside = goal * goal + slowing * (2.0 * h - sink * left + 0.25 * slowing * left * left)
    handed_over = sqrt(maximum(inside, goal * goal)) - 0.5 * slowing * left
    drag = k * (sink * sink + sink * handed_over + handed_over * handed_over) * (1.0 / 3.0)
    push = (sink - handed_over) / left + settings.gravity - drag
    return push, left + maximum(handed_over - goal, 0.0) / slowing


@room
def sustain_push(h, sink, drag, since_light, settings):
    """Push that follows curve (1) [m/s2], and time to contact [s]."""
    goal, slowing = settings.touchdown_sink_rate, settings.sustain_slowing
    curve = sqrt(goal * goal + 2.0 * slowing * h)
    burn_left = maximum(settings.burn_end - RESERVE - since_light, LEAST_BURN)
    curve = maximum(curve, minimum(2.0 * h / burn_left - goal, 2.0 * curve))
    push = slowing + settings.sink_gain * (sink - curve) + settings.gravity - drag
    return push, 2.0 * h / (maximum(sink, goal) + goal)


@room
def sense_push(nominal, drag, since_light, memory):
    """Compare the push that is felt with the nominal one at the believed throttle."""
    expected = nominal * memory.throttle
    ratio = (memory.force_x - drag) / maximum(expected, LEAST_PUSH)
    moved = memory.push_ratio + RATIO_GAIN * (ratio - memory.push_ratio)
    steady = (since_light > 0.1) & (expected > LEAST_PUSH)
    memory.push_ratio = where(steady, clamp(moved, LEAST_RATIO, LARGEST_RATIO), memory.push_ratio)


@room
def steer(q, landing, landing_point, time_to_go, push, settings, memory):
    """Lean that brings the point between the feet over the landing pad, at rest.

    Returns velocity east and north of the centre of gravity [m/s].
    """
    arm = (-settings.unit_forward, -settings.unit_y, -settings.unit_z)
    swing = rotate(q, cross((memory.rate_x, memory.rate_y, memory.rate_z), arm))
    east = memory.velocity_east + swing[0]
    north = memory.velocity_north + swing[1]
    t = maximum(time_to_go, LEAST_TIME_TO_GO)
    off_east = settings.landing_east - landing_point[0]
    off_north = settings.landing_north - landing_point[1]
    distance = sqrt(off_east * off_east + off_north * off_north)
    reach = REACH * settings.guidance_tilt * settings.gravity * time_to_go * time_to_go
    share = minimum(1.0, reach / maximum(distance, 1e-9))
    miss_east, miss_north = share * off_east - east * t, share * off_north - north * t
    # half the sine of the lean: acceleration sideways over push
    share = 0.5 / (maximum(push, LEAST_PUSH) * t * t)
    lean_east = share * (6.0 * miss_east + 2.0 * east * t)
    lean_north = share * (6.0 * miss_north + 2.0 * north * t)
    lean = sqrt(lean_east * lean_east + lean_north * lean_north)
    share = minimum(1.0, settings.guidance_tilt / maximum(lean, 1e-9))
    share = where(time_to_go > settings.guidance_freeze, share, 0.0)
    memory.steer_east = where(landing, share * lean_east, memory.steer_east)
    memory.steer_north = where(landing, share * lean_north, memory.steer_north)
    return east, north


@room
def land(time, q, height, nose_up, landing, landing_point, push_table, settings, memory):
    """Throttle and lean for the lanes whose landing motor burns."""
    since_light = time - memory.light_time
    sink = -memory.velocity_up
    drag = settings.drag_share * sink * sink
    nominal = interpolate(push_table, since_light * settings.push_steps)
    sense_push(nominal, drag, since_light, memory)
    full = maximum(nominal * memory.push_ratio, LEAST_PUSH)
    h = maximum(height, 0.0)
    left = settings.boost_end - since_light
    diverting = landing & (settings.surplus > 0.5)
    if any_lane(diverting):
        felt = boost_left(since_light, nominal, drag, diverting, settings, memory)
        left = where(diverting, felt, left)
    boost, boost_time = boost_push(h, sink, maximum(left, LEAST_BOOST), settings)
    sustain, sustain_time = sustain_push(h, sink, drag, since_light, settings)
    push = where(left > 0.0, boost, sustain)
    throttle = clamp(push / (full * maximum(nose_up, 0.5)), settings.least_throttle, 1.0)
    planned = (left > LEAST_BOOST) | (left <= 0.0)  # else too late to plan: hold
    memory.throttle_command = where(landing & planned, throttle, memory.throttle_command)
    time_to_go = where(left > 0.0, boost_time, sustain_time)
    memory.time_to_go = where(landing, time_to_go, memory.time_to_go)
    speed = steer(q, landing, landing_point, time_to_go, full * throttle, settings, memory)
    if any_lane(diverting):
        divert(
            q, diverting, since_light, left, time_to_go, push, full, landing_point, speed, settings,
            memory,
        )  # fmt: skip


@room
def aim(aiming, landing_point, settings, memory):
    """Lean on the way up so that the lateral speed carries the vehicle to where it aims."""
    wanted_east = (memory.aim_east - landing_point[0]) / settings.coast_time
    wanted_north = (memory.aim_north - landing_point[1]) / settings.coast_time
    # half the sine of the lean: acceleration sideways over push
    share = 0.5 * settings.climb_rate / maximum(memory.force_x, LEAST_PUSH)
    lean_east = share * (wanted_east - memory.velocity_east)
    lean_north = share * (wanted_north - memory.velocity_north)
    lean = sqrt(lean_east * lean_east + lean_north * lean_north)
    share = minimum(1.0, settings.climb_tilt / maximum(lean, 1e-9))
    memory.steer_east = where(aiming, share * lean_east, memory.steer_east)
    memory.steer_north = where(aiming, share * lean_north, memory.steer_north)


@room
def guide(time, q, height, nose_up, landing_point, push_table, settings, memory):
    """Write the lean and the throttle wanted into the memory."""
    phase = memory.phase
    since = time - memory.lift_off_time
    leaning = (phase == CLIMB) & (since > settings.climb_tilt_start)
    leaning = leaning & (since < settings.climb_tilt_end)
    memory.steer_east = where(leaning, settings.climb_east, 0.0)
    memory.steer_north = where(leaning, settings.climb_north, 0.0)
    aiming = leaning & (settings.climb_aimed > 0.5)
    if any_lane(aiming):
        aim(aiming, landing_point, settings, memory)
    landing = (phase == LANDING) & (time >= memory.light_time)
    if any_lane(landing):
        land(time, q, height, nose_up, landing, landing_point, push_table, settings, memory)
    # the throttle follows its command late
    gap = memory.throttle - memory.throttle_command
    memory.throttle = memory.throttle_command + settings.throttle_keep * gap
