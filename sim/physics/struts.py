"""Struts of the legs: spring, gas damper, crush core, friction damper; force against stroke.

A strut force is positive where the strut resists being pushed in. What depends on the rate in a
straight line is given back as a coefficient, so that the step can treat it implicitly; what yields
(crush core, friction) is brought back onto its limit once a step, so that nothing is stiff.
"""

from __future__ import annotations

from sim.lanes import (
    absolute,
    any_lane,
    clamp,
    maximum,
    minimum,
    not_,
    part,
    polynomial,
    room,
    sqrt,
    where,
)

RIGID, SPRING, GAS, CRUSH, FRICTION = range(5)

INPUTS = (
    "strut_preload",  # N
    "strut_rate", "strut_damping",  # N/m, N s/m, of a spring strut
    "beside_rate", "joint_damping",  # N/m, N s/m, beside whatever struts a leg has
    "strut_stroke", "second_stroke",  # m, of the strut and of the one in series with it
    "stop_stiffness", "stop_damping",  # N/m, N s/m
    "gas_area", "gas_length", "gas_vent",  # m2, m, m: bore, column, stroke at which it is shut
    "gas_orifice",  # m2, discharge coefficient times area
    "gas_exponent", "gas_pressure", "gas_temperature",  # 1, Pa, K, of the air around
    "seal_friction",  # N
    "crush_force", "crush_stiffness", "crush_dense", "crush_rise",  # N, N/m, m, 1
    "slide_force", "break_force", "slide_stiffness", "slide_speed",  # N, N, N/m, m/s
)  # fmt: skip

AIR = 287.05287  # J/(kg K)
# of air, whose ratio k of specific heats is 1.4
CRITICAL = 0.5282817877171742  # (2 / (k + 1))^(k / (k - 1)): below it the flow is choked
FLOW = (  # psi / sqrt(1 - r) in 1 - r down to the critical ratio; relative error 3e-10
    -0.1642073290086026, 0.19808334805521902, -0.16619024725626652, 0.024848994991908752,
    -0.05230837936945468, -0.057698142749016655, -0.09852972226472823, -0.20292770794276874,
    -0.7576144779560681, 1.4142135625412258,
)  # fmt: skip


@part
def flow_factor(ratio):
    """Share psi of an isentropic nozzle: mass flow = Cd A p psi / sqrt(R T).

    Source: any text on gas dynamics; R8.1 to R8.3. `ratio` is downstream over upstream pressure.
    psi = sqrt(2 k / (k - 1) (1 - r^((k - 1) / k))) r^(1 / k), and no more below the critical ratio.
    """
    fall = 1.0 - clamp(ratio, CRITICAL, 1.0)
    return sqrt(fall) * polynomial(fall, FLOW)


@part
def outflow(pressure, mass, volume, p):
    """Mass flow out of the cylinder through its orifice [kg/s], and R T of that air [J/kg].

    Below zero it breathes in.
    """
    outside = p.gas_pressure
    out = pressure > outside
    high, low = maximum(pressure, outside), minimum(pressure, outside)
    inside_heat = pressure * volume / maximum(mass, 1e-12)  # R T
    heat = where(out, inside_heat, AIR * p.gas_temperature)
    fall = 1.0 - clamp(low / high, CRITICAL, 1.0)
    flow = p.gas_orifice * high * sqrt(fall / heat) * polynomial(fall, FLOW)  # as flow_factor
    return where(out, flow, -flow), heat


@part
def toward(before, after, goal):
    """Where `after` is, but not beyond the goal as seen from before."""
    return where((after - goal) * (before - goal) < 0.0, goal, after)


@room
def gas_step(h, before, after, pressure, mass, p):
    """Pressure [Pa] and mass [kg] of the air in a cylinder after a step of the piston.

    Parameters
    ----------
    h : lanes [s]
    before, after : lanes [m]
        Stroke at the ends of the step.
    pressure, mass : lanes [Pa], [kg]
    p : record

    Notes
    -----
    V p' = n (R T m' - p V'), with the exponent n of the process between 1 and 1.4; the vent is
    shut by the piston beyond gas_vent. Compression by the symmetric rational step, flow by Heun's
    rule.
    """
    least = 0.02 * p.gas_length
    old = p.gas_area * maximum(p.gas_length - before, least)
    new = p.gas_area * maximum(p.gas_length - after, least)
    n = p.gas_exponent
    x = n * (new - old) / (new + old)
    pressed = pressure * (1.0 - x) / (1.0 + x)
    open_vent = (after < p.gas_vent) & (p.gas_orifice > 0.0)
    if any_lane(open_vent):
        flow, warmth = outflow(pressed, mass, new, p)
        fall = n * warmth * flow / new
        guess = toward(pressed, pressed - h * fall, p.gas_pressure)
        left = maximum(mass - h * flow, 1e-12)
        second, warmth = outflow(guess, left, new, p)
        second_fall = n * warmth * second / new
        eased = toward(pressed, pressed - 0.5 * h * (fall + second_fall), p.gas_pressure)
        # no more air goes than the pressure shows
        whole = 0.5 * h * (fall + second_fall)
        share = where(absolute(whole) > 0.0, (pressed - eased) / whole, 0.0)
        flown = 0.5 * h * (flow + second) * clamp(share, 0.0, 1.0)
        mass = where(open_vent, maximum(mass - flown, 1e-12), mass)
        pressed = where(open_vent, eased, pressed)
    return pressed, mass


@part
def crush_step(stroke, set_, p):
    """Force [N] and permanent set [m] of a crush core at this stroke.

    Elastic up to the plateau, then the set follows; it takes no force on the way back. The plateau
    rises once the core is dense (R9.12: 70 to 75 % of its length). Also whether it is elastic now.
    """
    span = maximum(p.strut_stroke - p.crush_dense, 1e-6)
    dense = clamp((set_ - p.crush_dense) / span, 0.0, 1.0)
    plateau = p.crush_force * (1.0 + p.crush_rise * dense * dense)
    trial = p.crush_stiffness * (stroke - set_)
    force = clamp(trial, 0.0, plateau)
    crushes = trial > plateau
    elastic = not_(crushes) & (trial > 0.0)
    return force, where(crushes, stroke - plateau / p.crush_stiffness, set_), elastic


@part
def slide_step(stroke, rate, set_, slide, breakaway, p):
    """Force [N] and set [m] of a friction damper: elastic while it sticks, then it slides.

    Breakaway force while it sticks, falling to the sliding force with the square of the rate. Also
    whether it sticks now.
    """
    ratio = rate / p.slide_speed
    most = slide + (breakaway - slide) / (1.0 + ratio * ratio)
    trial = p.slide_stiffness * (stroke - set_)
    force = clamp(trial, -most, most)
    slips = absolute(trial) > most
    return force, where(slips, stroke - force / p.slide_stiffness, set_), not_(slips)


@part
def stops(stroke, longest, p):
    """Force of the end stops [N], their stiffness and damping [N/m, N s/m] while they touch."""
    over, under = maximum(stroke - longest, 0.0), minimum(stroke, 0.0)
    touching = (over > 0.0) | (under < 0.0)
    return (
        p.stop_stiffness * (over + under),
        where(touching, p.stop_stiffness, 0.0),
        where(touching, p.stop_damping, 0.0),
    )


@part
def elastic_force(kind, before, stroke, kept, pressure, p):
    """Force that a strut would have if it neither yielded nor slid, and its slope [N], [N/m]."""
    force, slope = 0.0 * stroke, 0.0 * stroke
    if kind == SPRING:
        force, slope = p.strut_rate * stroke, p.strut_rate + slope
    elif kind == GAS:
        column = maximum(p.gas_length - before, 0.02 * p.gas_length)
        slope = p.gas_exponent * pressure * p.gas_area / column
        force = (pressure - p.gas_pressure) * p.gas_area + slope * (stroke - before)
        force = force + p.slide_stiffness * (stroke - kept)
        slope = slope + p.slide_stiffness
    elif kind == CRUSH:
        force, slope = p.crush_stiffness * (stroke - kept), p.crush_stiffness + slope
    elif kind == FRICTION:
        force, slope = p.slide_stiffness * (stroke - kept), p.slide_stiffness + slope
    return force, slope


@room
def own_force(kind, h, before, stroke, rate, kept, pressure, mass, p):
    """Force of one strut at this stroke, without linear damping and without its stops.

    Parameters
    ----------
    kind : int
        SPRING, GAS, CRUSH or FRICTION.
    h : lanes [s]
    before, stroke : lanes [m]
        At the ends of the step.
    rate : lanes [m/s]
    kept, pressure, mass : lanes [m], [Pa], [kg]
        What the strut remembers: set, and the air in it.
    p : record

    Returns
    -------
    force, slope : lanes [N], [N/m]
        The slope is that by which the step may go.
    kept, pressure, mass : lanes
    """
    force, slope = 0.0 * stroke, 0.0 * stroke
    if kind == SPRING:
        force, slope = p.strut_rate * stroke, p.strut_rate + slope
    elif kind == GAS:
        pressure, mass = gas_step(h, before, stroke, pressure, mass, p)
        seal, kept, sticks = slide_step(stroke, rate, kept, p.seal_friction, p.seal_friction, p)
        column = maximum(p.gas_length - stroke, 0.02 * p.gas_length)
        force = (pressure - p.gas_pressure) * p.gas_area + seal
        slope = p.gas_exponent * pressure * p.gas_area / column
        slope = slope + where(sticks, p.slide_stiffness, 0.0)
    elif kind == CRUSH:
        force, kept, elastic = crush_step(stroke, kept, p)
        slope = where(elastic, p.crush_stiffness, 0.0)
    elif kind == FRICTION:
        force, kept, sticks = slide_step(stroke, rate, kept, p.slide_force, p.break_force, p)
        slope = where(sticks, p.slide_stiffness, 0.0)
    return force, slope, kept, pressure, mass
