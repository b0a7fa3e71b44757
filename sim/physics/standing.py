"""All that touches the ground: forces of the feet and of the airframe on the body, step by step.

Each point that may touch keeps a block of rows of a work array (see ROWS): where its leg is, its
bristle, the state of its strut. Force on the body is that of the ground on the foot, at the foot;
the leg itself moves under the ground's push along its freedom and the strut's. So the energy that
the ground takes from the foot is what the body, the leg and the strut give.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.lanes import (
    absolute,
    any_lane,
    clamp,
    load,
    maximum,
    minimum,
    normal_quad,
    part,
    room,
    spread,
    sqrt,
    store,
    uniform_quad,
    where,
)
from sim.physics import struts
from sim.physics.frames import to_body, to_local
from sim.physics.ground import friction_force, normal_force, normal_of, surface_height
from sim.physics.legs import MOST_LEGS, hinged_leg, telescoping_leg

# rows of a point
(
    PLACE, RATE, PULL, DRAG,  # of the leg: m or rad, per s, acceleration without drag, 1/s
    BRISTLE_EAST, BRISTLE_NORTH, BRISTLE_UP,  # m
    SET, PRESSURE, MASS,  # m, Pa, kg: of crush core or friction, of the gas
    DIP, FIRMNESS, GRIP,  # m, 1, 1: how the ground is under this foot
    PRESENT, WORKS,  # flags: the leg is open, its strut holds
    STROKE,  # m
    TOUCHES, ON_PAD,  # flags
    FORCE,  # N, largest of the ground on this point in this tick
) = range(19)  # fmt: skip
ROWS = 19
RIM_POINTS = 4  # on the nozzle and on the tail ring
FRAME_POINTS = 2 * RIM_POINTS + 1
POINTS = MOST_LEGS + FRAME_POINTS

SOIL, LUCK = 21, 22  # numbers of noise streams

INPUTS = ("frame_grip",)  # friction of the airframe on the ground over that of the feet


class Design(NamedTuple):
    """What kind of legs the scenario has, the same for all flights of a call."""

    hinged: bool
    strut: int  # of sim.physics.struts
    steps: int  # contact steps in a tick


class Push(NamedTuple):
    """What the ground does to the body: force local [N], moment about the cg, body axes [N m]."""

    east: float
    north: float
    up: float
    x: float
    y: float
    z: float


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
def touch(lanes, h, points, base, dx, dy, dz, ux, uy, uz, state, r, grip, p, w):
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
    p, w : records

    Returns
    -------
    force : tuple of three lanes [N]
        Local axes.
    size, slip : lanes [N], [m/s]
    """
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    east, north, up = to_local(r, dx, dy, dz)
    ve, vn, vu = to_local(
        r, ux + wy * dz - wz * dy, uy + wz * dx - wx * dz, uz + wx * dy - wy * dx
    )
    east, north, up = state.east + east, state.north + north, state.up + up
    ve, vn, vu = state.velocity_east + ve, state.velocity_north + vn, state.velocity_up + vu
    height, on_pad = surface_height(east, north, up, p, w)
    ne, nn, nu = normal_of(p)
    depth = (height - load(lanes, points, base + DIP) - up) * nu
    rising = ve * ne + vn * nn + vu * nu
    normal = normal_force(depth, -rising, load(lanes, points, base + FIRMNESS), p)
    slip = (ve - rising * ne, vn - rising * nn, vu - rising * nu)
    touching = depth > 0.0
    bristle = (
        load(lanes, points, base + BRISTLE_EAST),
        load(lanes, points, base + BRISTLE_NORTH),
        load(lanes, points, base + BRISTLE_UP),
    )
    bite = clamp(depth / maximum(p.foot_bite, 1e-6), 0.0, 1.0)
    factor = grip * load(lanes, points, base + GRIP)
    drag, bristle = friction_force(h, normal, bite, slip, bristle, factor, p)
    store(points, base + BRISTLE_EAST, where(touching, bristle[0], 0.0))
    store(points, base + BRISTLE_NORTH, where(touching, bristle[1], 0.0))
    store(points, base + BRISTLE_UP, where(touching, bristle[2], 0.0))
    store(points, base + TOUCHES, where(touching, 1.0, 0.0))
    store(points, base + ON_PAD, where(on_pad, 1.0, 0.0))
    fe = where(touching, normal * ne + drag[0], 0.0)
    fn = where(touching, normal * nn + drag[1], 0.0)
    fu = where(touching, normal * nu + drag[2], 0.0)
    size = sqrt(fe * fe + fn * fn + fu * fu)
    store(points, base + FORCE, maximum(load(lanes, points, base + FORCE), size))
    return (fe, fn, fu), size


@part
def strut_force(lanes, design, h, points, base, stroke, rate, works, p):
    """Force of the strut [N] without its linear damping, that damping [N s/m], the set kept."""
    old = load(lanes, points, base + STROKE)
    force, damping = struts.stops(stroke, p)
    own = p.strut_preload + p.strut_rate * stroke
    set_ = load(lanes, points, base + SET)
    if design.strut == struts.GAS:
        pressure, mass = load(lanes, points, base + PRESSURE), load(lanes, points, base + MASS)
        pressure, mass = struts.gas_step(h, old, stroke, pressure, mass, p)
        store(points, base + PRESSURE, pressure)
        store(points, base + MASS, mass)
        seal, set_ = struts.slide_step(stroke, rate, set_, p.seal_friction, p.seal_friction, p)
        own = own + (pressure - p.gas_pressure) * p.gas_area + seal
    elif design.strut == struts.CRUSH:
        core, set_ = struts.crush_step(stroke, set_, p)
        own = own + core
    elif design.strut == struts.FRICTION:
        sliding, set_ = struts.slide_step(stroke, rate, set_, p.slide_force, p.break_force, p)
        own = own + sliding
    store(points, base + SET, set_)
    store(points, base + STROKE, stroke)
    return force + works * own, damping + works * p.strut_damping


@room
def press(lanes, design, h, legs, points, state, r, cg_x, cg_y, cg_z, p, w):
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
    p, w : records

    Returns
    -------
    Push

    Notes
    -----
    Velocity Verlet with foreseen velocities; a leg's linear damping by the trapezoidal rule.
    """
    count = len(legs) // 2
    zero = 0.0 * state.up
    push = Push(zero, zero, zero, zero, zero, zero)
    strut_peak, stroke_peak = w.strut_now, w.stroke_now
    touching = zero
    for leg in range(count):
        base = leg * ROWS
        sine, cosine = legs[leg], legs[leg + count]
        q, rate = load(lanes, points, base + PLACE), load(lanes, points, base + RATE)
        pull, drag = load(lanes, points, base + PULL), load(lanes, points, base + DRAG)
        now = pull - drag * rate
        foreseen = (rate + h * pull) / (1.0 + h * drag)
        x, radius = p.feet_x + zero, p.feet_radius + zero
        x_slope, radius_slope, stroke, lever = zero, zero, zero, zero
        if design.strut != struts.RIGID:
            q = q + h * (rate + 0.5 * h * now)
            if design.hinged:
                x, radius, x_slope, radius_slope, stroke, lever = hinged_leg(q, p)
            else:
                x, radius, x_slope, radius_slope, stroke, lever = telescoping_leg(q, p)
        present = load(lanes, points, base + PRESENT)
        is_open = present > 0.5
        x = where(is_open, x, p.folded_feet_x)
        radius = where(is_open, radius, p.folded_feet_radius)
        dx, dy, dz = x - cg_x, radius * cosine - cg_y, radius * sine - cg_z
        jx, jy, jz = x_slope * present, radius_slope * cosine, radius_slope * sine
        force, size = touch(
            lanes, h, points, base, dx, dy, dz, jx * foreseen, jy * foreseen, jz * foreseen,
            state, r, 1.0 + zero, p, w,
        )  # fmt: skip
        fx, fy, fz = to_body(r, force[0], force[1], force[2])
        push = Push(
            push.east + force[0], push.north + force[1], push.up + force[2],
            push.x + dy * fz - dz * fy, push.y + dz * fx - dx * fz, push.z + dx * fy - dy * fx,
        )  # fmt: skip
        touching = touching + load(lanes, points, base + TOUCHES)
        load_now = size
        if design.strut != struts.RIGID:
            works = load(lanes, points, base + WORKS)
            strut, damping = strut_force(
                lanes, design, h, points, base, stroke, lever * foreseen, works, p
            )
            new_pull = (fx * jx + fy * jy + fz * jz - lever * strut) / p.leg_inertia
            new_drag = damping * lever * lever / p.leg_inertia
            rate = (rate + 0.5 * h * (now + new_pull)) / (1.0 + 0.5 * h * new_drag)
            store(points, base + PLACE, where(is_open, q, 0.0))
            store(points, base + RATE, where(is_open, rate, 0.0))
            store(points, base + PULL, where(is_open, new_pull, 0.0))
            store(points, base + DRAG, where(is_open, new_drag, 0.0))
            load_now = absolute(strut + damping * lever * rate)
        strut_peak = maximum(strut_peak, load_now)
        stroke_peak = maximum(stroke_peak, stroke)
    w.strut_now, w.stroke_now, w.feet_down = strut_peak, stroke_peak, touching
    return push


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
def press_frame(lanes, h, points, state, r, cg_x, cg_y, cg_z, push, p, w):
    """Add what the ground does to nozzle, tail ring and nose, where any of them is near it."""
    stage = w.stage_attached > 0.5
    nozzle_x = where(stage, p.ascent_exit_x, p.landing_exit_x)
    tail_x = where(stage, p.stack_tail_x, p.core_tail_x)
    tail_radius = where(stage, p.stack_tail_radius, p.core_tail_radius)
    across = sqrt(r.zy * r.zy + r.zz * r.zz)
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
            force, _ = touch(
                lanes, h, points, base, dx, dy, dz, still, still, still, state, r, p.frame_grip,
                p, w,
            )  # fmt: skip
            fx, fy, fz = to_body(r, force[0], force[1], force[2])
            more = Push(
                push.east + force[0], push.north + force[1], push.up + force[2],
                push.x + dy * fz - dz * fy, push.y + dz * fx - dx * fz, push.z + dx * fy - dy * fx,
            )  # fmt: skip
            down = near & (load(lanes, points, base + TOUCHES) > 0.5)
            push = where(down, more, push)
            w.frame_down = where(down, 1.0, w.frame_down)
    return push
