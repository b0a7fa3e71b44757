"""Before the flight: how the landing burn is meant to go, and the ignition table that starts it so.

The nominal landing motor is taken apart into a boost and a weak part (see guidance.py). The weak
part is planned to slow the vehicle by a share of what it can at most, so that it can do more or
less, and to last a set share of what the motor has. That fixes the sink rate and the height at
which the boost has to end. Backwards from there: for each sink rate at the command, the throttle is
sought with which the boost, after a fall for the mean light delay, ends at that sink rate; the
height lost meanwhile is added. Where the boost at full thrust cannot slow that much, the weak part
is left with more to do, and starts higher, on curve (1) of guidance.py.

A motor without a weak part (level curve) brakes at mid authority all the way.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SINK_STEP = 1.0  # m/s, between entries of the ignition table
SINK_RATES = np.arange(0.0, 61.0, SINK_STEP)
FALL_STEP = 0.01  # s
SHORTEST_WEAK_PART = 0.4  # s; a shorter one is a tail-off
WEAK_SHARE = 0.7  # of the weak part's time, planned until contact
RESERVE = 0.25  # s of the burn not planned with, as in guidance.py
SLOWING_SHARE = 0.4  # of the weak part's net deceleration at full thrust, planned
LEAST_SLOWING = 0.2  # m/s2


@dataclass(frozen=True)
class Vehicle:
    """What is believed of the vehicle that lands.

    Attributes
    ----------
    push : array [m/s^2]
        Unobstructed thrust over mass, at equal steps after light.
    push_step : float [s]
        Between them.
    least_throttle : float
        Share of thrust that the throttle always lets through.
    drag_share : float [1/m]
        Drag over mass and speed squared.
    gravity : float [m/s^2]
    light_delay : float [s]
        From command to thrust.
    touchdown_sink_rate : float [m/s]
        Aimed at.
    """

    push: Floats
    push_step: float
    least_throttle: float
    drag_share: float
    gravity: float
    light_delay: float
    touchdown_sink_rate: float


@dataclass(frozen=True)
class LandingPlan:
    """Times after light [s], net deceleration [m/s^2], heights of the feet [m]."""

    boost_end: float
    burn_end: float
    sustain_plan: float
    sustain_slowing: float
    design_sink_rate: float  # m/s at the command, with mid authority throughout
    ignition_heights: Floats


def plan_landing(vehicle: Vehicle) -> LandingPlan:
    """Divide the burn and compute the ignition table.

    Returns
    -------
    LandingPlan
        `ignition_heights[k]` belongs to a sink rate of k * SINK_STEP.
    """
    boost_end, burn_end = _parts(vehicle)
    goal, middle = vehicle.touchdown_sink_rate, 0.5 * (1.0 + vehicle.least_throttle)
    if boost_end > 0.0:
        weak = _mean_push(vehicle, boost_end, burn_end)
        slowing = max(SLOWING_SHARE * (weak - vehicle.gravity), LEAST_SLOWING)
        lasting = WEAK_SHARE * max(burn_end - RESERVE - boost_end, 0.0)
    else:
        mean = _mean_push(vehicle, 0.0, burn_end)
        slowing = max(middle * mean - vehicle.gravity, LEAST_SLOWING)
        lasting = 0.0
    start, lost = _fall(vehicle, SINK_RATES, vehicle.light_delay, None)
    handed_over = np.full_like(start, goal + slowing * lasting)
    end, boost_lost = _boost(vehicle, start, boost_end, handed_over)
    end = np.maximum(end, goal)
    heights = (end**2 - goal**2) / (2.0 * slowing) + lost + boost_lost
    at_middle = _fall(vehicle, start, boost_end, np.full_like(start, middle))[0]
    design = float(np.interp(goal + slowing * lasting, at_middle, SINK_RATES))
    return LandingPlan(
        boost_end, burn_end, lasting, slowing, design, np.maximum.accumulate(np.fmax(heights, 0.0))
    )


def _parts(vehicle: Vehicle) -> tuple[float, float]:
    """Find the ends of the boost (0 if there is none) and of the burn [s after light]."""
    push, step = vehicle.push, vehicle.push_step
    alight = np.flatnonzero(push > 0.6 * vehicle.gravity)
    if not len(alight):
        return 0.0, 0.0
    burn_end = float(alight[-1]) * step
    strong = 0.5 * (np.percentile(push[push > 0.0], 90.0) + vehicle.gravity)
    above = np.flatnonzero(push > strong)
    boost_end = float(above[-1]) * step if len(above) else 0.0
    return (boost_end if burn_end - boost_end > SHORTEST_WEAK_PART else 0.0), burn_end


def _mean_push(vehicle: Vehicle, start: float, end: float) -> float:
    times = np.arange(len(vehicle.push)) * vehicle.push_step
    inside = (times >= start) & (times <= end)
    return float(vehicle.push[inside].mean()) if inside.any() else 0.0


def _fall(
    vehicle: Vehicle, sink: Floats, duration: float, throttle: Floats | None
) -> tuple[Floats, Floats]:
    """Sink rates after that time of fall, thrusting if a throttle is given, and heights lost."""
    steps = max(round(duration / FALL_STEP), 1)
    step = duration / steps
    sink, lost = sink.copy(), np.zeros_like(sink)
    times = np.arange(len(vehicle.push)) * vehicle.push_step
    pushes = np.interp((np.arange(steps) + 0.5) * step, times, vehicle.push)
    for push in pushes:
        thrust = 0.0 if throttle is None else throttle * push
        change = vehicle.gravity - vehicle.drag_share * sink * np.abs(sink) - thrust
        lost += step * (sink + 0.5 * step * change)
        sink += step * change
    return sink, lost


def _boost(
    vehicle: Vehicle, start: Floats, boost_end: float, handed_over: Floats
) -> tuple[Floats, Floats]:
    """Sink rate at the end of the boost and height lost, with the throttle that ends it right."""
    if boost_end == 0.0:
        return start, np.zeros_like(start)
    return _fall(vehicle, start, boost_end, _share(vehicle, start, boost_end, handed_over))


def _share(vehicle: Vehicle, start: Floats, boost_end: float, handed_over: Floats) -> Floats:
    """Share of the thrust with which the boost ends at the sink rates to be handed over."""
    low, high = np.full_like(start, vehicle.least_throttle), np.ones_like(start)
    for _ in range(16):
        throttle = 0.5 * (low + high)
        end, _lost = _fall(vehicle, start, boost_end, throttle)
        low = np.where(end > handed_over, throttle, low)
        high = np.where(end > handed_over, high, throttle)
    return high


def boost_share(vehicle: Vehicle, sink: float) -> float:
    """Mean share of the thrust that the boost needs, lit as planned at a sink rate [m/s].

    Parameters
    ----------
    vehicle : Vehicle
        With the least share that is to be thought of.
    sink : float [m/s]
        As thrust begins.

    Returns
    -------
    float [1]
        nan for a motor without a boost; 1 where the motor is no stronger than that.
    """
    plan = plan_landing(vehicle)
    if plan.boost_end == 0.0:
        return float("nan")
    goal = vehicle.touchdown_sink_rate + plan.sustain_slowing * plan.sustain_plan
    start = np.array([sink])
    return float(_share(vehicle, start, plan.boost_end, np.full_like(start, goal))[0])


def boost_reserve(vehicle: Vehicle, sink: float) -> float:
    """Velocity by which the boost could do more than it is planned to [m/s].

    Parameters
    ----------
    vehicle : Vehicle
    sink : float [m/s]
        As thrust begins.

    Returns
    -------
    float [m/s]
        Negative for a boost that hands over too fast even at full thrust straight down, drag
        counted; nan for a motor without one.
    """
    plan = plan_landing(vehicle)
    if plan.boost_end == 0.0:
        return float("nan")
    handed_over = vehicle.touchdown_sink_rate + plan.sustain_slowing * plan.sustain_plan
    start = np.array([sink])
    end, _lost = _fall(vehicle, start, plan.boost_end, np.ones_like(start))
    return handed_over - float(end[0])
