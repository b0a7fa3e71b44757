"""A point mass straight up and down in still air: a check by hand, no more than that."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.avionics.landing_plan import SINK_RATES
from sim.ensemble.swap import carried_ahead
from sim.ensemble.thrust_curves import reduced_curve

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Fields = Mapping[str, float]

STEP = 2e-3  # s


@dataclass(frozen=True)
class Body:
    """Mass [kg], station of the centre of gravity [m] and transverse inertia about it [kg m2]."""

    mass: float
    station: float
    inertia: float


def body_of(
    f: Fields, *, staged: bool, propellant: Mapping[str, float], legs: bool = False
) -> Body:
    """Vehicle with some share of each motor's propellant aboard.

    Parameters
    ----------
    f : mapping
        Fields of the flight kernel.
    staged : bool
        The ascent stage is attached.
    propellant : mapping
        Share of each motor's propellant, "ascent" and "landing"; none if not named. A core has
        none of an ascent motor's.
    legs : bool
        Legs are open.
    """
    name = "stack" if staged else "core"
    shift = f["legs_shift"] if legs else 0.0
    parts = [(f[f"{name}_mass"], -f[f"{name}_x"] + shift, f[f"{name}_jyy"])]
    ahead = f["swap_travel"] if staged and "swap_travel" in f else 0.0
    if ahead:
        parts.extend(carried_ahead(f["swap_case_mass"], -f["swap_case_x"], ahead))
    for motor, share in propellant.items():
        mass = share * f[f"{motor}_propellant"]
        inertia = mass * f[f"{motor}_gyration_transverse"]
        station = -f[f"{motor}_propellant_x"] - (ahead if motor == "landing" else 0.0)
        parts.append((mass, station, inertia))
    total = sum(mass for mass, _, _ in parts)
    station = sum(mass * at for mass, at, _ in parts) / total
    inertia = sum(own + mass * (at - station) ** 2 for mass, at, own in parts)
    if legs:  # masses all around the axis: half as much across it
        inertia += 0.5 * f["legs_gain"]
    return Body(total, station, inertia)


@dataclass(frozen=True)
class PlumbFlight:
    """What a flight straight up and down comes to; nan for what never happens.

    Attributes
    ----------
    maximum_speed : float [m/s]
        Upwards.
    separation_speed : float [m/s]
    apogee_height, apogee_time : float [m], [s]
        Of the centre of gravity above launch ground, since ignition.
    light_height, light_sink, light_time : float [m], [m/s], [s]
        Of the feet above the landing pad when the landing motor begins to push.
    fall_speed : float [m/s]
        At light, or at the ground if it never lights.
    """

    maximum_speed: float
    separation_speed: float
    apogee_height: float
    apogee_time: float
    light_height: float
    light_sink: float
    light_time: float
    fall_speed: float


@dataclass
class _State:
    time: float
    up: float
    speed: float
    mass: float


def fly_plumb(scenario: Scenario, f: Fields, ignition_height: Floats) -> PlumbFlight:
    """Fly up and fall to the light of the landing motor.

    Parameters
    ----------
    scenario : Scenario
    f : mapping
        Fields of the flight kernel, nominal.
    ignition_height : ndarray (n,) [m]
        Of the flight computer, over the sink rates of `sim.avionics.landing_plan`.

    Returns
    -------
    PlumbFlight
    """
    free = scenario.choices["start.mode"] == "free"
    staged = scenario.has("stage") and not free
    body = body_of(f, staged=staged, propellant={"ascent": float(not free), "landing": 1.0})
    cg = _cg_height(f, staged, free, body)
    state = _State(0.0, cg, f["start_velocity_up"] if free else 0.0, body.mass)
    fastest, parted = (state.speed, math.nan) if free else _climb(scenario, f, state)
    top = state.up
    while state.speed > 0.0:
        _step(state, f, 0.0, _coast_drag(f, scenario))
        top = max(top, state.up)
    apogee_time = state.time
    light = _fall(scenario, f, ignition_height, state)
    return PlumbFlight(fastest, parted, top, apogee_time, *light)


def _cg_height(f: Fields, staged: bool, free: bool, body: Body) -> float:
    """Height of the centre of gravity above launch ground at the start."""
    if free:
        return f["start_up"]
    aft = -f["stack_tail_x"] if staged else -f["core_tail_x"]
    return f["start_height"] + aft - body.station


def _step(state: _State, f: Fields, thrust: float, drag_area: float, flow: float = 0.0) -> None:
    """One step, at the middle's speed: second order, good to a few centimetres."""
    gravity = f["gravity"]

    def change(speed: float) -> float:
        drag = 0.5 * f["air_density"] * drag_area * speed * abs(speed)
        return (thrust - drag) / state.mass - gravity

    middle = state.speed + 0.5 * STEP * change(state.speed)
    state.up += STEP * middle
    state.speed += STEP * change(middle)
    state.mass -= STEP * flow
    state.time += STEP


def _climb(scenario: Scenario, f: Fields, state: _State) -> tuple[float, float]:
    """Burn and drop the stage; returns greatest speed and speed at separation."""
    curve = reduced_curve(scenario, "ascent_motor")
    fastest, ground = 0.0, state.up
    if curve is not None:
        time = f["ascent_delay"] + curve.knots[:, 0] * f["ascent_time_scale"]
        thrust = curve.knots[:, 1] * f["ascent_thrust_scale"]
        area = f["stack_axial_nose"] - f["stack_base"]
        while state.time < time[-1]:
            push = float(np.interp(state.time, time, thrust, left=0.0))
            flow = push * f["ascent_propellant"] / f["ascent_total"]
            _step(state, f, push, area, flow)
            if state.up < ground:  # held down until thrust exceeds weight
                state.up, state.speed = ground, 0.0
            fastest = max(fastest, state.speed)
    if not scenario.has("stage"):
        return fastest, math.nan
    after = scenario.numbers["flight_computer.separation_after_burn_out"].believed
    free_at = state.time + after + f["separation_delay"]
    while state.time < free_at and state.speed > 0.0:
        _step(state, f, 0.0, f["stack_axial_nose"])
    state.mass -= f["stage_mass"]
    return fastest, state.speed


def _coast_drag(f: Fields, scenario: Scenario) -> float:
    return f["core_axial_nose"] if scenario.has("stage") else f["stack_axial_nose"]


def _fall(
    scenario: Scenario, f: Fields, table: Floats, state: _State
) -> tuple[float, float, float, float]:
    """Fall tail first to the light; returns its height, sink rate and time, and the last speed."""
    area = f["core_axial_tail"] + (f["petals_area"] if scenario.has("petals") else 0.0)
    body = body_of(f, staged=False, propellant={"landing": 1.0})
    feet_below = -f["feet_x"] - body.station + f["pad_up"]
    lit_at = math.inf
    while state.up > feet_below:
        height, sink = state.up - feet_below, -state.speed
        if math.isinf(lit_at) and _commanded(scenario, table, height, sink, state.time):
            lit_at = state.time + f["landing_delay"]
        if state.time >= lit_at:
            return height, sink, state.time, sink
        if state.time > 600.0:
            break
        _step(state, f, 0.0, area)
    return math.nan, math.nan, math.nan, -state.speed


def _commanded(
    scenario: Scenario, table: Floats, height: float, sink: float, time: float
) -> bool:
    """Whether the built-in computer would command the landing motor now."""
    if not scenario.has("landing_motor"):
        return False

    def told(key: str) -> float:
        return scenario.numbers[f"flight_computer.{key}"].believed

    law = scenario.choices["flight_computer.ignition"]
    if law == "time":
        return time >= told("ignition_time")
    if law == "height":
        return height <= told("ignition_height")
    return height <= float(np.interp(sink, SINK_RATES, table)) + told("ignition_margin")
