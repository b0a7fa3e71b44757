"""Figures that a builder wants to see first, derived from the nominal numbers of a scenario.

They come from the same fields that the flight kernel reads, by simple formulas: a point mass
straight up and down in still air, small angles, linear loops. They are there to find mistakes; the
flights themselves are what counts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from sim.avionics.landing_plan import boost_reserve
from sim.ensemble.divert_figures import divert_figures
from sim.ensemble.divert_plan import diverts
from sim.ensemble.figures import Derived, Figure
from sim.ensemble.gravity import STANDARD_GRAVITY
from sim.ensemble.loop_margins import Loop, Margins, find_margins
from sim.ensemble.plumb_flight import Body, PlumbFlight, body_of, fly_plumb
from sim.ensemble.swap import mount_of
from sim.ensemble.thrust_curves import reduced_curve

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from sim.scenario.thrust import ThrustCurve

GAIN_MARGIN = 2.0  # 6 dB, and
PHASE_MARGIN = math.radians(30.0)  # of rigid launch vehicles; MIL-F-9490D asks 45 deg; R10.9
LIGHT_TIME = 0.3  # s of burn that "at light" and "at lift-off" are averaged over
# upper limits of total impulse [N s] double from class to class: NFPA 1125; R7.1
CLASSES: list[str] = ["1/4A", "1/2A", *"ABCDEFGHIJKLMNO"]
SMALLEST_CLASS = 0.625  # N s


def derive(scenario: Scenario) -> Derived:
    """Work out the derived figures of a scenario.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Derived

    Raises
    ------
    UserMistake
        If the numbers cannot be flown.
    """
    from sim.ensemble.prepare import flight_inputs
    from sim.ensemble.settings import computer_settings
    from sim.flight_records import INPUTS

    column = flight_inputs({}, scenario, 1)[:, 0]
    fields = dict(zip(INPUTS, map(float, column), strict=True))
    _, tables = computer_settings(scenario)
    flight = fly_plumb(scenario, fields, tables["ignition_height"])
    found = Derived()
    for motor in ("ascent", "landing"):
        if scenario.has(f"{motor}_motor"):
            _motor(found, motor, scenario, fields)
    _nominal(found, flight)
    _stability(found, scenario, fields, flight)
    if scenario.has("landing_motor"):
        _budget(found, scenario, fields, flight)
    for motor in ("ascent", "landing"):
        if scenario.has(mount_of(motor, scenario)) and scenario.has(f"{motor}_motor"):
            _control(found, motor, scenario, fields)
    return found


def impulse_class(impulse: float) -> str:
    """Letter of a total impulse [N s], as NFPA 1125 has it; upper limits belong to the class.

    Returns
    -------
    str
        Beyond the last letter of the table: "beyond O".
    """
    limit = SMALLEST_CLASS
    for letter in CLASSES:
        if impulse <= limit:
            return letter
        limit *= 2.0
    return "beyond O"


def _curve(scenario: Scenario, motor: str) -> ThrustCurve:
    curve = reduced_curve(scenario, f"{motor}_motor")
    if curve is None:
        raise ValueError(f"no {motor} motor")
    return curve


# ---- thrust --------------------------------------------------------------------------------------


def _motor(found: Derived, motor: str, scenario: Scenario, f: Mapping[str, float]) -> None:
    curve = _curve(scenario, motor)
    impulse, burn = f[f"{motor}_total"], curve.burn_time * f[f"{motor}_time_scale"]
    first = _mean_thrust(curve, f, motor, 0.0, LIGHT_TIME)
    body = body_of(f, staged=motor == "ascent", propellant={"ascent": 1.0, "landing": 1.0})
    weight = body.mass * f["gravity"]
    where = "lift-off" if motor == "ascent" else "light"
    early = f"first {LIGHT_TIME:g} s of thrust, {body.mass:.3f} kg"
    group = f"{motor} motor"
    found.add(
        group,
        Figure(f"{motor}_thrust_to_weight", f"thrust to weight at {where}", first / weight, "1",
               "1", early if motor == "ascent" else f"full throttle, {early}"),
    )  # fmt: skip
    if motor == "landing":
        _throttled(found, curve, scenario, f, first / weight)
    found.add(
        group,
        Figure(f"{motor}_burn_time", "burn time", burn, "s", "s", "between 5 % of peak thrust"),
        Figure(f"{motor}_total_impulse", "total impulse", impulse, "N s", "N s",
               f"class {impulse_class(impulse)}, average {impulse / burn:.1f} N, "
               f"peak {curve.peak_thrust * f[f'{motor}_thrust_scale']:.1f} N"),
        Figure(f"{motor}_exhaust_speed", "impulse over propellant",
               impulse / f[f"{motor}_propellant"] if f[f"{motor}_propellant"] else math.inf,
               "m/s", "m/s", f"specific impulse {_specific_impulse(impulse, f, motor):.0f} s"),
    )  # fmt: skip
    if motor == "ascent" and first <= weight:
        found.cautions.append(
            f"The ascent motor pushes {first:.1f} N against a weight of {weight:.1f} N at first: "
            "it burns on the launch pad without lifting off, or barely."
        )


def _specific_impulse(impulse: float, f: Mapping[str, float], motor: str) -> float:
    mass = f[f"{motor}_propellant"]
    return impulse / mass / STANDARD_GRAVITY if mass else math.inf


def _throttled(
    found: Derived, curve: ThrustCurve, scenario: Scenario, f: Mapping[str, float], full: float
) -> None:
    least = 1.0 - f["throttle_authority"]
    late = body_of(f, staged=False, propellant={"landing": 0.0}, legs=True)
    end = curve.knots[-1, 0] * f["landing_time_scale"]
    after = _mean_thrust(curve, f, "landing", 0.5 * end, 0.9 * end) / (late.mass * f["gravity"])
    if scenario.has("throttle"):
        share = f"lets through {100 * least:.0f} %"
        found.add("landing motor", Figure(
            "landing_thrust_to_weight_least", "the same, least throttle", full * least, "1", "1",
            share,
        ))  # fmt: skip
    found.add("landing motor", Figure(
        "landing_thrust_to_weight_late", "thrust to weight late in the burn", after, "1", "1",
        f"full throttle, from 50 to 90 % of the burn; least {after * least:.2f}",
    ))  # fmt: skip
    if after * least > 1.0:
        found.cautions.append(
            f"Late in its burn the landing motor pushes {after * least:.2f} times the weight even "
            "at least throttle: a vehicle that stops too early rises again."
        )


def _mean_thrust(
    curve: ThrustCurve, f: Mapping[str, float], motor: str, start: float, end: float
) -> float:
    """Mean thrust [N] from `start` to `end` seconds after first thrust."""
    time = curve.knots[:, 0] * f[f"{motor}_time_scale"]
    thrust = curve.knots[:, 1] * f[f"{motor}_thrust_scale"]
    grid = np.linspace(start, min(end, float(time[-1])), 401)
    return float(np.mean(np.interp(grid, time, thrust)))


# ---- the nominal flight, straight up and down ----------------------------------------------------


def _nominal(found: Derived, flight: PlumbFlight) -> None:
    found.add(
        "straight up and down",
        Figure("plumb_maximum_speed", "greatest speed up", flight.maximum_speed, "m/s", "m/s"),
        Figure("plumb_apogee_height", "apogee", flight.apogee_height, "m", "m",
               f"of the cg above launch ground, after {flight.apogee_time:.1f} s"),
    )  # fmt: skip
    if math.isfinite(flight.light_height):
        found.add(
            "straight up and down",
            Figure("plumb_ignition_height", "landing motor lights", flight.light_height, "m", "m",
                   f"feet above the landing pad, {flight.light_time:.1f} s"),
            Figure("plumb_ignition_sink_rate", "sink rate then", flight.light_sink, "m/s", "m/s"),
        )  # fmt: skip


def _budget(
    found: Derived, scenario: Scenario, f: Mapping[str, float], flight: PlumbFlight
) -> None:
    """Velocity that the landing motor can take out, against what falls due."""
    from sim.ensemble.settings import planned_vehicle

    group = "landing motor"
    if not math.isfinite(flight.light_sink):
        found.cautions.append(
            "Straight up and down, the vehicle comes to the ground before its landing motor "
            "lights: look at the ignition law, the ignition delay and the apogee."
        )
        return
    curve = _curve(scenario, "landing")
    body = body_of(f, staged=False, propellant={"landing": 1.0})
    burnt = f["landing_propellant"]
    ratio = body.mass / (body.mass - burnt)
    exhaust = f["landing_total"] / burnt if burnt else math.inf
    can = exhaust * math.log(ratio) if burnt else f["landing_total"] / body.mass
    burn = curve.burn_time * f["landing_time_scale"]
    due = flight.light_sink + f["gravity"] * burn
    least = can * (1.0 - f["throttle_authority"])
    found.add(
        group,
        Figure("velocity_removable", "velocity it can take out", can, "m/s", "m/s",
               f"full throttle, whole burn; {least:.1f} m/s at least throttle"),
        Figure("velocity_due", "velocity that falls due", due, "m/s", "m/s",
               f"sink rate at light {flight.light_sink:.1f} + gravity over the burn "
               f"{f['gravity'] * burn:.1f} m/s"),
        Figure("velocity_reserve", "reserve", can / due - 1.0, "1", "%",
               "air drag left out; it helps"),
    )  # fmt: skip
    if diverts(scenario):
        divert_figures(found, scenario, flight.light_sink)
    boost = boost_reserve(planned_vehicle(scenario), flight.light_sink)
    if math.isfinite(boost):  # what is weak afterwards need not burn to its end
        found.add(
            group,
            Figure("boost_reserve", "reserve of the boost", boost, "m/s", "m/s",
                   "full throttle, straight down, drag counted; of what it hands over"),
        )  # fmt: skip
        if boost < 0.0:
            found.cautions.append(
                f"Even at full thrust the boost of the landing motor leaves {-boost:.1f} m/s more "
                "than its weak part can take: lower the apogee, or fit a stronger motor."
            )
    elif can < due:
        found.cautions.append(
            f"The landing motor can take out {can:.1f} m/s, but {due:.1f} m/s falls due if it "
            "burns to its end: lower the apogee, light later, or fit a stronger motor."
        )
    if least > due and not diverts(scenario):
        found.cautions.append(
            f"Even at least throttle the landing motor takes out {least:.1f} m/s, more than the "
            f"{due:.1f} m/s that falls due: the vehicle would rise again."
        )


# ---- stability -----------------------------------------------------------------------------------


def _stability(
    found: Derived, scenario: Scenario, f: Mapping[str, float], flight: PlumbFlight
) -> None:
    if scenario.choices["aerodynamics.law"] == "none":
        return
    full = body_of(f, staged=True, propellant={"ascent": 1.0, "landing": 1.0})
    dry = body_of(f, staged=True, propellant={"landing": 1.0})
    core = body_of(f, staged=False, propellant={"landing": 1.0})
    up_slope, up_at = f["stack_slope_nose"], -f["stack_slope_nose_x"]
    core_slope, core_at = f["core_slope_nose"], -f["core_slope_nose_x"]
    air = 0.5 * f["air_density"]
    fast = flight.maximum_speed
    _margin(found, "stability_lift_off", "going up, at lift-off", up_at - full.station, up_at,
            full, air * up_slope, 0.5 * fast, scenario)  # fmt: skip
    if scenario.has("ascent_motor"):
        _margin(found, "stability_burn_out", "going up, at burn-out", up_at - dry.station, up_at,
                dry, air * up_slope, fast, scenario)  # fmt: skip
    if scenario.has("stage"):
        _margin(found, "stability_coast", "coasting nose first, stage dropped",
                core_at - core.station, core_at, core, air * core_slope,
                flight.separation_speed or fast, scenario)  # fmt: skip
    petals = f["petals_area"] if scenario.has("petals") else 0.0
    slope = f["core_slope_tail"] + petals
    at = -(f["core_slope_tail"] * f["core_slope_tail_x"] + petals * f["petals_x"]) / slope
    what = "petals open" if petals else "no petals"
    _margin(found, "stability_tail_first", f"coming down tail first, {what}", core.station - at,
            at, core, air * slope, flight.fall_speed, scenario)  # fmt: skip


def _margin(
    found: Derived, name: str, label: str, margin: float, at: float, body: Body,
    stiffness: float, speed: float, scenario: Scenario,
) -> None:  # fmt: skip
    """Distance of the centre of pressure behind the cg as it flies, and what that does."""
    diameter = scenario.numbers["vehicle.diameter"].value
    cg, pressure = 1e3 * body.station, 1e3 * at
    where = f"cg {cg:.0f} mm, centre of pressure {pressure:.0f} mm behind the nose"
    rate = math.sqrt(stiffness * speed**2 * abs(margin) / body.inertia)  # 1/s
    if rate == 0.0:
        does = "stable" if margin > 0.0 else "UNSTABLE" if margin < 0.0 else "neutral"
    elif margin > 0.0:
        does = f"swings in {2.0 * math.pi / rate:.1f} s at {speed:.0f} m/s"
    else:
        does = f"UNSTABLE: doubles in {math.log(2.0) / rate:.2f} s at {speed:.0f} m/s"
    found.add("stability in still air, small angles", Figure(
        name, label, margin, "m", "mm", f"{margin / diameter:+.2f} calibres; {does}; {where}",
    ))  # fmt: skip
    if margin <= 0.0 < rate and name in _UNSTABLE:
        found.cautions.append(
            f"{_UNSTABLE[name]}: {margin / diameter:+.2f} calibres, an angle doubles in "
            f"{math.log(2.0) / rate:.2f} s at {speed:.0f} m/s."
        )


_UNSTABLE = {
    "stability_burn_out": "Going up the vehicle is unstable by itself; the gimbal must hold it, "
    "and from burn-out until the stage drops nothing does but wheels",
    "stability_coast": "Coasting nose first the vehicle is unstable by itself",
    "stability_tail_first": "Tail first the vehicle is unstable by itself; between the burns it "
    "needs wheels, petals or a short fall",
}


# ---- control -------------------------------------------------------------------------------------


def attitude_loop(scenario: Scenario, f: Mapping[str, float], motor: str) -> Loop:
    """Linear attitude loop about one axis with the chosen gains.

    Parameters
    ----------
    scenario : Scenario
    f : mapping
        Fields of the flight kernel, nominal.
    motor : {"ascent", "landing"}
    """

    def told(key: str) -> float:
        return scenario.numbers[f"flight_computer.{key}"].believed

    bandwidth, mount = told("bandwidth"), mount_of(motor, scenario)
    return Loop(
        stiffness=bandwidth**2,
        rate_gain=2.0 * told("damping") * bandwidth,
        integral=told("integral"),
        servo_frequency=f[f"{motor}_servo_frequency"],
        servo_damping=f[f"{motor}_servo_damping"],
        delay=scenario.numbers[f"{mount}.delay"].value + 0.5 / told("control_rate"),
    )


def _control(found: Derived, motor: str, scenario: Scenario, f: Mapping[str, float]) -> None:
    curve = _curve(scenario, motor)
    half = {"ascent": {"ascent": 0.5, "landing": 1.0}, "landing": {"landing": 0.5}}[motor]
    body = body_of(f, staged=motor == "ascent", propellant=half, legs=motor == "landing")
    arm = -f[f"{motor}_pivot_x"] - body.station
    burn = curve.burn_time * f[f"{motor}_time_scale"]
    thrust = f[f"{motor}_total"] / burn
    authority = thrust * arm * math.sin(f[f"{motor}_travel"]) / body.inertia
    group = f"control during the {motor} burn"
    found.add(group, Figure(
        f"{motor}_gimbal_authority", "gimbal authority", authority, "rad/s2", "deg/s2",
        f"at {math.degrees(f[f'{motor}_travel']):g} deg, average thrust {thrust:.1f} N, "
        f"arm {1e3 * arm:.0f} mm, inertia {body.inertia:.3f} kg m2",
    ))  # fmt: skip
    if arm <= 0.0:
        found.cautions.append(
            f"The {motor} gimbal pivots ahead of the centre of gravity: it steers the wrong way."
        )
    if f[f"{motor}_gimbal_gain"] < 0.0:
        found.cautions.append(
            f"The {motor} gimbal is reversed (faults.gimbal_reversed): the vehicle tumbles as soon "
            "as it steers. Check signs on the bench before every flight."
        )
    if scenario.choices["flight_computer.kind"] != "built_in":
        return
    loop = attitude_loop(scenario, f, motor)
    margins = find_margins(loop)
    _add_margins(found, group, motor, margins, loop)
    if not scenario.choices["flight_computer.schedule_gains"]:
        swing = 20.0 * math.log10(curve.peak_thrust * f[f"{motor}_thrust_scale"] / thrust)
        found.cautions.append(
            f"Gains are not scheduled: at peak thrust the {motor} loop's gain is {swing:.1f} dB "
            "above these margins, and it falls with the thrust."
        )


def _add_margins(found: Derived, group: str, motor: str, margins: Margins, loop: Loop) -> None:
    lower = 20.0 * math.log10(margins.gain_reduction) if margins.gain_reduction > 0.0 else -math.inf
    falls = f"; may fall by {-lower:.1f} dB" if math.isfinite(lower) else ""
    found.add(
        group,
        Figure(f"{motor}_gain_margin", "gain margin", margins.gain_margin, "1", "dB",
               f"loop gain may rise by so much{falls}"),
        Figure(f"{motor}_phase_margin", "phase margin", margins.phase_margin, "rad", "deg",
               f"at crossover, {margins.crossover:.1f} rad/s"),
        Figure(f"{motor}_delay_margin", "delay margin", margins.delay_margin, "s", "ms",
               f"beyond the {1e3 * loop.delay:.1f} ms modelled (servo, half a tick)"),
    )  # fmt: skip
    if not margins.phase_margin > 0.0 or margins.gain_margin < 1.0:
        found.cautions.append(f"The attitude loop is unstable in the {motor} burn.")
    elif margins.phase_margin < PHASE_MARGIN or margins.gain_margin < GAIN_MARGIN:
        found.cautions.append(
            f"The attitude loop's margins in the {motor} burn are below 6 dB or 30 deg, "
            "customary for launch vehicles: less bandwidth, a faster servo or less delay helps."
        )
