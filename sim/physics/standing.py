"""All that touches the ground: forces of the feet and of the airframe on the body, step by step.

Each point that may touch keeps a block of rows of a work array (see ROWS): where its leg is, where
it has hold of the ground, the state of its strut. Force on the body is that of the ground on the
foot, at the foot; the leg itself moves under the ground's push along its freedom and the strut's.
So the energy that the ground takes from the foot is what the body, the leg and the strut give.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.lanes import (
    absolute,
    any_lane,
    clamp,
    diff2,
    fma,
    load,
    maximum,
    minimum,
    normal_quad,
    part,
    room,
    spread,
    store,
    sum2,
    sum3,
    uniform_quad,
    where,
)
from sim.physics import struts
from sim.physics.frames import to_body, to_local
from sim.physics.ground import friction_force, normal_force, surface_height
from sim.physics.legs import MOST_LEGS, hinged_leg, telescoping_leg

# rows of a point
(
    PLACE, RATE, PULL,  # of the leg: m or rad, per s, per s2
    HOLD_EAST, HOLD_NORTH, HOLD_UP,  # m, where it has hold of the ground
    SET, PRESSURE, MASS,  # m, Pa, kg: of crush core or friction, of the gas
    NODE, SECOND_SET,  # m: between two struts in series, and the set of the second
    DIP, FIRMNESS, GRIP,  # m, 1, 1: how the ground is under this foot
    PRESENT, WORKS,  # flags: the leg is open, its strut holds
    STROKE,  # m
    TOUCHES, ON_PAD,  # flags
    AWAY,  # s, since it touched, tick by tick
    FORCE,  # N2, square of the largest of the ground on this point in this tick
) = range(21)  # fmt: skip
ROWS = 21
RIM_POINTS = 4  # on the nozzle and on the tail ring
FRAME_POINTS = 2 * RIM_POINTS + 1
POINTS = MOST_LEGS + FRAME_POINTS

SOIL, LUCK = 21, 22  # numbers of noise streams

INPUTS = ("frame_grip",)  # friction of the airframe on the ground over that of the feet


class Design(NamedTuple):
    """What kind of legs the scenario has, the same for all flights of a call."""

    hinged: bool
    strut: int  # of sim.physics.struts
    second: int  # in series with it; RIGID for none
    steps: int  # contact steps in a tick


class Push(NamedTuple):
    """What the ground does to the body: force local [N], moment about the cg, body axes [N m].

    And by how much less its moment about the long axis is for each rad/s by which the body rolls
    quicker at the end of the step than foreseen [N m s]: feet that hold are far from the axis, and
    a slender body has little inertia about it.
    """

    east: float
    north: float
    up: float
    x: float
    y: float
    z: float
    roll_yield: float


@room
def start_points(lanes, starting, seed, flight, count, points, p, w):
    """Set the rows of all points for the lanes that start: ground, strut, luck with the latches."""
    zero = spread(lanes, 0.0)
    volume = p.gas_area * p.gas_length
    mass = p.gas_pressure * volume / (struts.AIR * p.gas_temperature)
    for point in range(POINTS):
        base = point * ROWS
        for row in range(ROWS):
            store(points, base + row, where(starting, zero, load(lanes, points, base + row)))
        is_foot = point < count
        deep, firm, grip, _ = normal_quad(seed, flight, SOIL, point)
        stuck, latch, _, _ = uniform_quad(seed, flight, LUCK, point)
        is_open = (w.legs_open > 0.5) & (stuck >= p.leg_stuck)
        if is_foot:
            _set(lanes, starting, points, base + DIP, absolute(deep) * p.roughness)
            _set(lanes, starting, points, base + PRESENT, where(is_open, 1.0, 0.0))
            holds = where(latch >= p.leg_latch_failure, 1.0, 0.0)
            _set(lanes, starting, points, base + WORKS, holds)
        # bounded, so that no spot is bottomless or without friction
        firm = clamp(1.0 + p.stiffness_patches * firm, 0.2, 5.0)
        grip = clamp(1.0 + p.friction_patches * grip, 0.2, 5.0)
        _set(lanes, starting, points, base + FIRMNESS, firm)
        _set(lanes, starting, points, base + GRIP, grip)
        _set(lanes, starting, points, base + PRESSURE, p.gas_pressure)
        _set(lanes, starting, points, base + MASS, mass)


@part
def _set(lanes, mask, points, row, value):
    """Write a row in the lanes of a mask."""
    store(points, row, where(mask, value, load(lanes, points, row)))


@part
def touch(lanes, h, points, base, dx, dy, dz, ux, uy, uz, state, r, grip, ground, p, w):
    """Force of the ground on one point.

    Parameters
    ----------
    h : lanes [s]
    points : float64[POINTS * ROWS, width]
    base : int
        First row of the point.
    dx, dy, dz : lanes [m]
        The point from the centre of gravity, body axes.
    ux, uy, uz : lanes [m/s]
        Its velocity within the body.
    state : State
    r : Rotation
    grip : lanes [1]
        Friction of the point over that of the feet.
    ground : Surface
    p, w : records

    Returns
    -------
    normal : lanes [N]
    drag : tuple of three lanes [N]
        Friction, local axes.
    normal_yield, drag_yield : lanes [N s/m]
        By how much less they are for each m/s by which the point is quicker at the end of the step
        than it is now.
    """
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    east, north, up = to_local(r, dx, dy, dz)
    east, north, up = state.east + east, state.north + north, state.up + up
    height, on_pad = surface_height(east, north, up, p, w)
    depth = (height - load(lanes, points, base + DIP) - up) * ground.normal_up
    touching = depth > 0.0
    zero = 0.0 * up
    normal, drag, normal_yield, drag_yield = zero, (zero, zero, zero), zero, zero
    hold = (east, north, up)
    if any_lane(touching):
        ve, vn, vu = to_local(
            r, ux + diff2(wy, dz, wz, dy), uy + diff2(wz, dx, wx, dz), uz + diff2(wx, dy, wy, dx)
        )
        ve, vn, vu = state.velocity_east + ve, state.velocity_north + vn, state.velocity_up + vu
        rising = sum3(
            ve, ground.normal_east, vn, ground.normal_north, vu, ground.normal_up
        )  # fmt: skip
        normal, stiffness, damping = normal_force(
            depth, -rising, load(lanes, points, base + FIRMNESS), ground, p
        )
        slip = (
            fma(-rising, ground.normal_east, ve),
            fma(-rising, ground.normal_north, vn),
            fma(-rising, ground.normal_up, vu),
        )
        # from where it has hold of the ground, which is here if it has just come down
        down = load(lanes, points, base + TOUCHES) > 0.5
        be = where(down, east - load(lanes, points, base + HOLD_EAST), 0.0)
        bn = where(down, north - load(lanes, points, base + HOLD_NORTH), 0.0)
        bu = where(down, up - load(lanes, points, base + HOLD_UP), 0.0)
        lift = sum3(be, ground.normal_east, bn, ground.normal_north, bu, ground.normal_up)
        bristle = (
            fma(-lift, ground.normal_east, be),
            fma(-lift, ground.normal_north, bn),
            fma(-lift, ground.normal_up, bu),
        )
        factor = grip * load(lanes, points, base + GRIP)
        drag, bristle, drag_yield = friction_force(
            h, normal, depth, slip, bristle, factor, ground, p
        )
        hold = (east - bristle[0], north - bristle[1], up - bristle[2])
        normal_yield = fma(0.5 * h, stiffness, damping)
        normal, drag = where(touching, normal, 0.0), where(touching, drag, (zero, zero, zero))
        normal_yield = where(touching, normal_yield, 0.0)
        drag_yield = where(touching, drag_yield, 0.0)
    store(points, base + HOLD_EAST, hold[0])
    store(points, base + HOLD_NORTH, hold[1])
    store(points, base + HOLD_UP, hold[2])
    store(points, base + TOUCHES, where(touching, 1.0, 0.0))
    store(points, base + ON_PAD, where(on_pad, 1.0, 0.0))
    return normal, drag, normal_yield, drag_yield


@part
def strut_force(lanes, design, h, points, base, stroke, rate, works, p):
    """Force with which the struts of a leg resist this stroke, and how it changes.

    Returns
    -------
    force, stiffness, damping : lanes [N], [N/m], [N s/m]
        Without the damping; the stiffness is that by which the step may go.

    Notes
    -----
    Of two in series the place between them follows from equal forces, by one step of Newton's rule
    a contact step; what it leaves over is made good in the next.
    """
    old = load(lanes, points, base + STROKE)
    kept = load(lanes, points, base + SET)
    pressure, mass = load(lanes, points, base + PRESSURE), load(lanes, points, base + MASS)
    if design.second == struts.RIGID:
        own, slope, kept, pressure, mass = struts.own_force(
            design.strut, h, old, stroke, rate, kept, pressure, mass, p
        )
        stop, stop_slope, damping = struts.stops(stroke, p.strut_stroke, p)
        if design.strut == struts.SPRING:
            damping = damping + works * p.strut_damping
    else:
        node = load(lanes, points, base + NODE)
        before = node
        second_kept = load(lanes, points, base + SECOND_SET)
        # where it would be if nothing yielded: what yields must not take the other's share
        one, one_slope = struts.elastic_force(design.strut, before, node, kept, pressure, p)
        two, two_slope = struts.elastic_force(
            design.second, old - before, stroke - node, second_kept, pressure, p
        )
        node = node + (two - one) / (one_slope + two_slope + 1.0)
        per_step = 1.0 / maximum(h, 1e-9)  # the first step may have no length
        node_rate = (node - before) * per_step
        first, first_slope, kept, pressure, mass = struts.own_force(
            design.strut, h, before, node, node_rate, kept, pressure, mass, p
        )
        end, end_slope, end_damping = struts.stops(node, p.strut_stroke, p)
        if design.strut == struts.SPRING:
            end_damping = end_damping + p.strut_damping
        first, first_slope = first + end + end_damping * node_rate, first_slope + end_slope
        rest = stroke - node
        second, slope, second_kept, pressure, mass = struts.own_force(
            design.second, h, old - before, rest, rate - node_rate, second_kept, pressure, mass, p
        )
        stop, stop_slope, damping = struts.stops(rest, p.second_stroke, p)
        second, slope = second + stop, slope + stop_slope
        stiff = first_slope + end_damping * per_step
        most = 1.0 / (stiff + slope + 1.0)  # a node that nothing holds stays where it is
        shift = (second - first) * most
        store(points, base + NODE, node + shift)
        store(points, base + SECOND_SET, second_kept)
        own, slope = second - slope * shift, stiff * slope * most
        stop, stop_slope = 0.0 * own, 0.0 * own
    own = own + p.strut_preload + p.beside_rate * stroke
    store(points, base + SET, kept)
    store(points, base + PRESSURE, pressure)
    store(points, base + MASS, mass)
    store(points, base + STROKE, stroke)
    damping = damping + works * p.joint_damping
    return stop + works * own, stop_slope + works * (slope + p.beside_rate), damping


@room
def press(
    lanes, design, h, legs, points, state, r, cg_x, cg_y, cg_z, per_inertia, ground, p, w
):  # fmt: skip
    """Move the legs on by a step and add up what the ground does to the body.

    Parameters
    ----------
    design : Design
    h : lanes [s]
    legs : float64[2 n]
        Sines, then cosines, of the feet's azimuths.
    points : float64[POINTS * ROWS, width]
    state : State
        Place at the end of the step, velocities foreseen for it.
    r : Rotation
    cg_x, cg_y, cg_z : lanes [m]
    per_inertia : lanes
        One over the inertia of a leg.
    ground : Surface
    p, w : records

    Returns
    -------
    Push

    Notes
    -----
    A leg is light and the ground, its strut and its stops are stiff: its one freedom goes by the
    trapezoidal rule, made linear about where it would be without a push (Rosenbrock's way with
    stiff equations: Hairer and Wanner, Solving Ordinary Differential Equations II (1996), IV.7).
    The force on the body is the one that the leg has felt.
    """
    count = len(legs) // 2
    zero = 0.0 * state.up
    fx, fy, fz, mx, my, mz = zero, zero, zero, zero, zero, zero
    strut_peak, stroke_peak = w.strut_now, w.stroke_now
    touching, roll_yield = zero, zero
    bx, by, bz = to_body(r, ground.normal_east, ground.normal_north, ground.normal_up)
    half = 0.5 * h
    inertia = p.leg_inertia
    for leg in range(count):
        base = leg * ROWS
        sine, cosine = legs[leg], legs[leg + count]
        rate, before = load(lanes, points, base + RATE), load(lanes, points, base + PULL)
        x, radius = p.feet_x + zero, p.feet_radius + zero
        x_slope, radius_slope, stroke, lever, q = zero, zero, zero, zero, zero
        if design.strut != struts.RIGID:
            q = fma(h, rate, load(lanes, points, base + PLACE))
            if design.hinged:
                x, radius, x_slope, radius_slope, stroke, lever = hinged_leg(q, p)
            else:
                x, radius, x_slope, radius_slope, stroke, lever = telescoping_leg(q, p)
        present = load(lanes, points, base + PRESENT)
        is_open = present > 0.5
        x = where(is_open, x, p.folded_feet_x)
        radius = where(is_open, radius, p.folded_feet_radius)
        dx, dy, dz = x - cg_x, fma(radius, cosine, -cg_y), fma(radius, sine, -cg_z)
        radius_slope = radius_slope * present
        jx, jy, jz = x_slope * present, radius_slope * cosine, radius_slope * sine
        normal, drag, normal_yield, drag_yield = touch(
            lanes, h, points, base, dx, dy, dz, jx * rate, jy * rate, jz * rate, state, r,
            1.0 + zero, ground, p, w,
        )  # fmt: skip
        gx, gy, gz = to_body(r, drag[0], drag[1], drag[2])
        if design.strut != struts.RIGID:
            works = load(lanes, points, base + WORKS)
            strut, stiffness, damping = strut_force(
                lanes, design, h, points, base, stroke, lever * rate, works, p
            )
            strut = fma(damping * lever, rate, strut)
            strut_yield = fma(half, stiffness, damping) * lever
            out = sum3(jx, bx, jy, by, jz, bz)  # of the foot along the normal
            # and along the surface
            tx, ty, tz = fma(-out, bx, jx), fma(-out, by, jy), fma(-out, bz, jz)
            across = sum3(tx, tx, ty, ty, tz, tz)
            pull = diff2(normal, out, lever, strut) + sum3(gx, tx, gy, ty, gz, tz)
            given = sum3(normal_yield * out, out, drag_yield, across, strut_yield, lever)
            quicker = half * fma(inertia, before, pull) / fma(half, given, inertia)
            quicker = where(is_open, quicker, 0.0)
            normal = maximum(fma(-normal_yield * out, quicker, normal), minimum(normal, 0.0))
            slower = -drag_yield * quicker
            gx, gy, gz = fma(slower, tx, gx), fma(slower, ty, gy), fma(slower, tz, gz)
            strut = fma(strut_yield, quicker, strut)
            pull = diff2(normal, out, lever, strut) + sum3(gx, tx, gy, ty, gz, tz)
            store(points, base + PLACE, where(is_open, fma(half, quicker, q), 0.0))
            store(points, base + RATE, where(is_open, rate + quicker, 0.0))
            store(points, base + PULL, where(is_open, pull * per_inertia, 0.0))
            strut_peak = maximum(strut_peak, absolute(strut))
            stroke_peak = maximum(stroke_peak, stroke)
        size2 = fma(normal, normal, sum3(gx, gx, gy, gy, gz, gz))
        store(points, base + FORCE, maximum(load(lanes, points, base + FORCE), size2))
        gx, gy, gz = fma(normal, bx, gx), fma(normal, by, gy), fma(normal, bz, gz)
        fx, fy, fz = fx + gx, fy + gy, fz + gz
        mx = mx + diff2(dy, gz, dz, gy)
        my = my + diff2(dz, gx, dx, gz)
        mz = mz + diff2(dx, gy, dy, gx)
        roll_yield = fma(drag_yield, sum2(dy, dy, dz, dz), roll_yield)
        touching = touching + load(lanes, points, base + TOUCHES)
    w.strut_now, w.stroke_now, w.feet_down = strut_peak, stroke_peak, touching
    east, north, up = to_local(r, fx, fy, fz)
    return Push(east, north, up, mx, my, mz, roll_yield)


@part
def frame_point(point, p, w):
    """Body coordinates [m] of a point of the airframe: nozzle rim, tail ring, tip of the nose."""
    sine, cosine = 0.0, 0.0
    if point % RIM_POINTS == 0:
        cosine = 1.0
    elif point % RIM_POINTS == 1:
        sine = 1.0
    elif point % RIM_POINTS == 2:
        cosine = -1.0
    else:
        sine = -1.0
    stage = w.stage_attached > 0.5
    x, radius = p.nose_x + 0.0 * w.cg_x, 0.0 * w.cg_x
    if point < RIM_POINTS:
        x, radius = where(stage, p.ascent_exit_x, p.landing_exit_x), p.nozzle_radius
    elif point < 2 * RIM_POINTS:
        x = where(stage, p.stack_tail_x, p.core_tail_x)
        radius = where(stage, p.stack_tail_radius, p.core_tail_radius)
    return x, radius * cosine, radius * sine


@room
def lay_ground(lanes, starting, legs, points, state, r, p, w):
    """Lay the plane of the ground under the vehicles that touch now: nothing is in it yet."""
    w.ground_shift = where(starting, 0.0, w.ground_shift)
    count = len(legs) // 2
    shift = 1e9 + 0.0 * state.up
    for point in range(count + FRAME_POINTS):
        base = point * ROWS
        if point < count:
            is_open = load(lanes, points, base + PRESENT) > 0.5
            x = where(is_open, p.feet_x, p.folded_feet_x)
            radius = where(is_open, p.feet_radius, p.folded_feet_radius)
            y, z = radius * legs[point + count], radius * legs[point]
            dip = load(lanes, points, base + DIP)
        else:
            x, y, z = frame_point(point - count, p, w)
            dip = 0.0 * x
        east, north, up = to_local(r, x - w.cg_x, y - w.cg_y, z - w.cg_z)
        up = state.up + up
        height, _ = surface_height(state.east + east, state.north + north, up, p, w)
        shift = minimum(shift, up + dip - height)
    w.ground_shift = where(starting, shift, w.ground_shift)


@room
def press_frame(lanes, h, points, state, r, cg_x, cg_y, cg_z, push, ground, p, w):
    """Add what the ground does to nozzle, tail ring and nose, where any of them is near it."""
    stage = w.stage_attached > 0.5
    nozzle_x = where(stage, p.ascent_exit_x, p.landing_exit_x)
    tail_x = where(stage, p.stack_tail_x, p.core_tail_x)
    tail_radius = where(stage, p.stack_tail_radius, p.core_tail_radius)
    across = absolute(r.zy) + absolute(r.zz)  # or less
    # heights of rims and tip over the ground below the centre of gravity, a little early
    slope = absolute(p.slope_east) + absolute(p.slope_north)
    below = (
        p.slope_east * (state.east - p.pad_east) + p.slope_north * (state.north - p.pad_north)
        + w.ground_shift
    )  # fmt: skip
    lowest = state.up + r.zx * (nozzle_x - cg_x) - p.nozzle_radius * across
    tail = state.up + r.zx * (tail_x - cg_x) - tail_radius * across
    nose = state.up + r.zx * (p.nose_x - cg_x)
    lowest = where(tail < lowest, tail, lowest)
    lowest = where(nose < lowest, nose, lowest)
    distance = p.reach * across + tail_radius
    near = lowest < maximum(p.pad_up, 0.0) + below + slope * distance + 0.01
    w.frame_down = 0.0 * state.up
    if any_lane(near):
        for point in range(FRAME_POINTS):
            base = (MOST_LEGS + point) * ROWS
            x, y, z = frame_point(point, p, w)
            dx, dy, dz = x - cg_x, y - cg_y, z - cg_z
            still = 0.0 * dx
            normal, drag, _, _ = touch(
                lanes, h, points, base, dx, dy, dz, still, still, still, state, r, p.frame_grip,
                ground, p, w,
            )  # fmt: skip
            force = (
                drag[0] + normal * ground.normal_east,
                drag[1] + normal * ground.normal_north,
                drag[2] + normal * ground.normal_up,
            )
            fx, fy, fz = to_body(r, force[0], force[1], force[2])
            more = Push(
                push.east + force[0], push.north + force[1], push.up + force[2],
                push.x + dy * fz - dz * fy, push.y + dz * fx - dx * fz, push.z + dx * fy - dy * fx,
                push.roll_yield,
            )  # fmt: skip
            down = near & (load(lanes, points, base + TOUCHES) > 0.5)
            push = where(down, more, push)
            w.frame_down = where(down, 1.0, w.frame_down)
    return push
