"""Divert: a motor without a throttle is held back by leaning it out of the vertical.

Leaned by an angle t, a push gives its cosine upwards: 20, 25 and 30 deg shed 6, 9 and 13 % of the
vertical impulse. Guidance asks for a vertical push (guidance.py); what the motor gives beyond it is
shed. The lean goes out, towards the landing pad, and comes back in, so that the sideways speed that
it builds up is taken out again by the end of the boost. What remains is a way sideways, so an aimed
climb ends short of the landing pad by as much.

Closed loop: each tick, the push felt since light is summed up. What the boost has still to give is
its nominal sum, scaled by what the push felt has been over the nominal, less what it has given. A
push above nominal can be more impulse, or the same impulse sooner: IMPULSE_SHARE of it is taken for
more impulse, the best linear estimate from scatters of 2 % of impulse and 3 % of burn time. That
time left, the height and the sink rate give the push to ask for and thereby the lean.

A vehicle leans late, by the lag of its attitude loop: the sideways speed that counts is that which
the lean of now still leads to. Out as long as that can be taken out in the time left; then in, by
that speed over the time left, within LEEWAY of what has to be shed. As it swings over a vehicle
sheds less: hence SHED_GAIN.

After the boost it goes upright and to rest sideways first: there is little push and little time.
With the attitude loop taken as a lag T, the speed V = v + T a that the lean of now still leads to
changes by just the acceleration asked, and X = x + T v by V. The polynomial in time that ends in t
at rest, with the acceleration asked at zero, and so upright, asks

    12 (d - V t / 3) / t^2 - 2 V / t

for a way d (polynomial guidance of the second degree, common practice); at d = V t / 3 it is a
straight line to zero. Beyond that way the mark is steered to only as far as a small lean reaches.

Open loop, to compare: lean and times are fixed at light, from height and sink rate then.
"""

from sim.avionics.rotation import rotate
from sim.lanes import any_lane, clamp, maximum, minimum, room, sqrt, where

DIVERT, OPEN_LOOP = 1.0, 2.0  # settings.surplus; 0 for throttle or none
IMPULSE_SHARE = 0.35  # 2.2^2 / (2.2^2 + 3^2), of a push above nominal
OVERTIME = 1.12  # times the nominal boost, when it is over in any case
SHED_GAIN = 1.3
LEEWAY = 0.4
EARLY = 1.7  # lags of the attitude loop before the end, when the nose is called upright
LEAST_SPAN = 0.15  # s, over which sideways speed is taken out
LEAST_END = 0.5  # s, the same after the boost: the attitude loop follows nothing quicker
FADE = 1.5  # lags of the attitude loop: limit of the lean, in full from 1.5 of them, none below 0.5
REACH = 0.1  # of g d t^2 with d as half the tilt: a twelfth for a tilt of one d, and little more
AHEAD = 1.0  # s of flight after light by which the way to the landing pad is judged
SURE_SHED = 0.01  # share; below it, turning back is not yet final
LEAST_DISTANCE = 1.0  # m, from the landing pad, below which its direction says little
LEAST_PUSH = 4.0  # m/s2


@room
def boost_left(since_light, nominal, drag, diverting, settings, memory):
    """Time [s] that the boost has left, from what has been felt; and keep the sum of the push."""
    given = memory.given_push + settings.tick * (memory.force_x - drag)
    memory.given_push = where(diverting, given, memory.given_push)
    total = settings.boost_push * (1.0 + IMPULSE_SHARE * (memory.push_ratio - 1.0))
    left = (total - memory.given_push) / maximum(nominal * memory.push_ratio, LEAST_PUSH)
    return minimum(left, OVERTIME * settings.boost_end - since_light)


@room
def start_divert(first, shed, landing_point, settings, memory):
    """At light: where to, and the plan of the open loop."""
    east = settings.landing_east - landing_point[0]
    north = settings.landing_north - landing_point[1]
    distance = sqrt(east * east + north * north)
    known = distance > LEAST_DISTANCE
    scale = 1.0 / maximum(distance, LEAST_DISTANCE)
    east = where(known, scale * east, settings.divert_to_east)
    north = where(known, scale * north, settings.divert_to_north)
    memory.divert_east = where(first, east, memory.divert_east)
    memory.divert_north = where(first, north, memory.divert_north)
    memory.divert_side = where(first, 1.0, memory.divert_side)
    memory.divert_shed = where(first, shed, memory.divert_shed)


@room
def divert(
    q, diverting, since_light, left, time_to_go, push, full, landing_point, speed, settings, memory
):  # fmt: skip
    """Lean out, or back in, in the lanes whose landing motor burns.

    Parameters
    ----------
    q : quaternion
        Believed attitude.
    diverting : mask
    since_light, left, time_to_go : lanes [s]
        The boost's time left is not positive after it.
    push, full : lanes [m/s2]
        Asked upwards; what the motor gives.
    landing_point, speed : pairs of lanes [m], [m/s]
        Where the point between the feet is; velocity of the centre of gravity, east and north.
    settings, memory : records
    """
    limit = settings.divert_half_sine
    most = 2.0 * limit * limit
    shed = clamp(SHED_GAIN * (1.0 - push / full), 0.0, most)
    first = diverting & (memory.divert_side == 0.0)
    if any_lane(first):
        ahead = landing_point[0] + AHEAD * speed[0], landing_point[1] + AHEAD * speed[1]
        start_divert(first, shed, ahead, settings, memory)
    fixed = settings.surplus == OPEN_LOOP
    shed = where(fixed, memory.divert_shed, shed)
    boosted = settings.boost_end > 0.0
    active = where(boosted, left, time_to_go - settings.guidance_freeze)
    whole = where(boosted, settings.boost_end, settings.burn_end - settings.guidance_freeze)
    span = where(fixed, whole - since_light, active)

    lag = settings.rate_gain / settings.bandwidth_squared
    half = sqrt(0.5 * shed)
    sideways = 2.0 * full * half * sqrt(1.0 - half * half)  # m/s2
    # the speed that the lean of now still leads to, were the nose called upright
    leaned = rotate(q, (full * lag, 0.0 * lag, 0.0 * lag))
    coming_east, coming_north = speed[0] + leaned[0], speed[1] + leaned[1]
    out_speed = coming_east * memory.divert_east + coming_north * memory.divert_north
    fast = sqrt(coming_east * coming_east + coming_north * coming_north)
    # once it goes outwards, what goes across has to be taken out as well
    turn = where(out_speed > 0.0, fast, out_speed) >= sideways * (span - EARLY * lag)
    turn = where(fixed, since_light >= 0.5 * whole, turn)
    final = diverting & turn & (shed > SURE_SHED)
    memory.divert_side = where(final, -1.0, memory.divert_side)
    back = turn | (memory.divert_side < 0.0)

    needed = 0.5 * fast / (full * maximum(span - EARLY * lag, LEAST_SPAN))
    inward = clamp(half, (1.0 - LEEWAY) * needed, (1.0 + LEEWAY) * needed)
    inward = minimum(inward, limit) / maximum(fast, 1e-3)
    east = where(back, -inward * coming_east, half * memory.divert_east)
    north = where(back, -inward * coming_north, half * memory.divert_north)
    east = where(fixed, memory.divert_side * half * memory.divert_east, east)
    north = where(fixed, memory.divert_side * half * memory.divert_north, north)
    leaning = diverting & (active > 0.0) & (span > 0.0)
    # afterwards
    t = maximum(time_to_go - lag, LEAST_END)
    off_east = settings.landing_east - landing_point[0] - lag * speed[0] - t * coming_east / 3.0
    off_north = settings.landing_north - landing_point[1] - lag * speed[1] - t * coming_north / 3.0
    distance = sqrt(off_east * off_east + off_north * off_north)
    reach = REACH * settings.guidance_tilt * settings.gravity * t * t
    near = 6.0 / t * minimum(1.0, reach / maximum(distance, 1e-9))
    over = 1.0 / (t * maximum(full, LEAST_PUSH))  # half the sine of the lean for 2 m/s in that time
    rest_east = over * (near * off_east - coming_east)
    rest_north = over * (near * off_north - coming_north)
    lean = sqrt(rest_east * rest_east + rest_north * rest_north)
    most = settings.guidance_tilt * clamp(time_to_go / (FADE * lag) - 0.5, 0.0, 1.0)
    share = minimum(1.0, most / maximum(lean, 1e-9))
    east, north = where(leaning, east, share * rest_east), where(leaning, north, share * rest_north)
    memory.steer_east = where(diverting, east, memory.steer_east)
    memory.steer_north = where(diverting, north, memory.steer_north)
