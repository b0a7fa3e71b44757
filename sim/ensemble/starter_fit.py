"""Trial flights of a first scenario: what landing impulse suits it, and how it climbs.

Straight up and down in still air, by the simple formulas of `plumb_flight` and `burn_match`: quick
enough to answer between two questions, and only good enough for that.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from sim.ensemble.burn_match import Burn, light_point, nominal_burn, solve
from sim.ensemble.plumb_flight import PlumbFlight, body_of, fly_plumb
from sim.scenario.starter import Answers
from sim.scenario.starter_curve import stand_in_curve
from sim.scenario.starter_file import Timing, scenario_text
from sim.scenario.starter_vehicle import MotorTotals

if TYPE_CHECKING:
    from sim.scenario import Scenario

Fields = Mapping[str, float]

# Mean share of the throttle's authority that a suited landing burn has dipped in, by whether it has
# a strong start and a weak rest; found by flying ensembles of first scenarios.
DIPPED = {True: 0.37, False: 0.5}
# Without a throttle: impulse over what a burn-out just at the ground would take; a strong start
# does best with a rest that hardly carries the weight. Found in the same way.
UNTHROTTLED = {True: 0.9, False: 1.0}
FIRST_GUESS = 60.0  # N s for each kilogram that lands
BEFORE_LIGHT = 0.92  # of the time from climb to light, in which lateral speed carries it away
DRIFT = 1.6  # drift until light, times this, with what the landing burn adds; flown in 4 m/s
STEP = 0.02  # s


@dataclass(frozen=True)
class Trial:
    """A trial flight straight up and down.

    Attributes
    ----------
    lift_off, light : float [1]
        Average thrust of a motor over the weight when it lights.
    weight : float [N]
        At lift-off.
    landing_weight : float [N]
        When the landing motor lights.
    apogee : float [m]
        Of the feet above the landing pad.
    suited : float [N s]
        Impulse of a landing motor of that curve that takes out the fall; nan if none does.
    suited_apogee : float [m]
        That the landing motor could take out.
    removable : float [m/s]
        That the landing motor takes out at full thrust, gravity apart.
    timing : Timing
        What follows for the climb.
    """

    lift_off: float
    light: float
    weight: float
    landing_weight: float
    apogee: float
    suited: float
    suited_apogee: float
    removable: float
    timing: Timing


def fly_trial(answers: Answers, motors: Mapping[str, MotorTotals]) -> Trial:
    """Fly a first scenario up and down.

    Parameters
    ----------
    answers : mapping of str to Answer
    motors : mapping
        "ascent" and "landing", with the rows of their curves.

    Returns
    -------
    Trial

    Raises
    ------
    UserMistake
        The numbers cannot be flown.
    """
    from sim.ensemble.prepare import flight_inputs
    from sim.ensemble.settings import computer_settings
    from sim.flight_records import INPUTS

    ascent, landing = motors["ascent"], motors["landing"]
    climb_end = min(1.4, max(0.9 * ascent.burn_time, 0.35))
    scenario = _load(answers, motors, Timing(climb_end=climb_end))
    settings, tables = computer_settings(scenario)
    column = flight_inputs({}, scenario, 1)[:, 0]
    fields = dict(zip(INPUTS, map(float, column), strict=True))
    burn, apogee, least = nominal_burn(scenario)
    share = _share(least, settings["boost_end"] > 0.0)
    flight = fly_plumb(scenario, fields, tables["ignition_height"])
    stack = body_of(fields, staged=True, propellant={"ascent": 1.0, "landing": 1.0})
    weight, landing_weight = stack.mass * burn.gravity, burn.mass * burn.gravity
    return Trial(
        lift_off=ascent.impulse / ascent.burn_time / weight,
        light=landing.impulse / landing.burn_time / landing_weight,
        weight=weight, landing_weight=landing_weight, apogee=apogee,
        suited=landing.impulse * _needed(burn, apogee) / share,
        suited_apogee=light_point(burn, share).apogee,
        removable=landing.impulse / (burn.mass - 0.5 * burn.propellant),
        timing=_timing(fields, flight, ascent.burn_time, climb_end),
    )  # fmt: skip


def _share(least: float, two_part: bool) -> float:
    """Mean share of thrust to count on, from the least that the throttle lets through."""
    if least >= 1.0:
        return 1.0 / UNTHROTTLED[two_part]
    return 1.0 - DIPPED[two_part] * (1.0 - least)


def _needed(burn: Burn, apogee: float) -> float:
    """Share of the thrust that takes out a fall from that apogee; nan if none does."""
    if apogee <= 0.0:
        return math.nan
    return solve(lambda share: light_point(burn, share).apogee - apogee, 0.05, 8.0, 1e-3)


def suited_landing_motor(
    answers: Answers, ascent: MotorTotals, burn_time: float, shape: str
) -> MotorTotals | None:
    """Landing motor of a stand-in shape whose impulse takes out the fall; None if there is none.

    Parameters
    ----------
    answers : mapping of str to Answer
        All but those about the landing motor's impulse and what comes after.
    ascent : MotorTotals
    burn_time : float [s]
    shape : {"even", "two-part"}
    """
    motor = stand_in(FIRST_GUESS * answers["dry_mass"].value, burn_time, shape)
    for _ in range(2):  # its propellant is part of the weight
        trial = fly_trial(answers, {"ascent": ascent, "landing": motor})
        if not math.isfinite(trial.suited):
            return None
        motor = stand_in(trial.suited, burn_time, shape)
    return motor


def stand_in(impulse: float, burn_time: float, shape: str) -> MotorTotals:
    """Motor of which only the totals are known, with the rows of an invented curve."""
    rows = [[time, thrust] for time, thrust in stand_in_curve(impulse, burn_time, shape)]
    return MotorTotals(rows, impulse, burn_time, "a stand-in")


def _load(answers: Answers, motors: Mapping[str, MotorTotals], timing: Timing) -> Scenario:
    from sim.scenario import load_scenario

    with TemporaryDirectory(prefix="setdown-") as folder:
        path = Path(folder) / "trial.toml"
        path.write_text(scenario_text("trial", answers, motors, timing), encoding="utf-8")
        return load_scenario(path)


def _timing(f: Fields, flight: PlumbFlight, burn_time: float, climb_end: float) -> Timing:
    light = flight.light_time
    if not math.isfinite(light):  # it comes down before it lights: any number will do
        light = 1.5 * flight.apogee_time
    coast = BEFORE_LIGHT * max(light - climb_end, 0.5)
    return Timing(climb_end, coast, DRIFT * _drift(f, flight, burn_time, light))


def _drift(f: Fields, flight: PlumbFlight, burn_time: float, light: float) -> float:
    """Metres blown until light for each m/s of steady wind, held upright [s].

    Notes
    -----
    m dv/dt = 1/2 rho S V (u - v), small angles of attack: S is the slope of the normal force, tail
    first with the axial force beside it; V goes up and down in straight lines.
    """
    core = body_of(f, staged=False, propellant={"landing": 1.0}).mass
    stack = body_of(f, staged=True, propellant={"landing": 1.0, "ascent": 0.5}).mass
    out = f["ascent_delay"] + burn_time
    top = max(flight.apogee_time, out + STEP)
    petals = 2.0 * f["petals_area"]  # side force by slope and by drag
    sink = max(flight.fall_speed, 0.0)
    speed = gone = 0.0
    for step in range(round(light / STEP)):
        time = (step + 0.5) * STEP
        if time < out:
            fast, area, mass = flight.maximum_speed * time / out, f["stack_slope_nose"], stack
        elif time < top:
            fast = flight.maximum_speed * (top - time) / (top - out)
            area, mass = f["core_slope_nose"] + f["core_axial_nose"], core
        else:
            fast = sink * (time - top) / max(light - top, STEP)
            area, mass = f["core_slope_tail"] + f["core_axial_tail"] + petals, core
        speed += STEP * 0.5 * f["air_density"] * area * fast / mass * (1.0 - speed)
        gone += STEP * speed
    return gone
