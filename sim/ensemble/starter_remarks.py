"""What to say of a first scenario before it is written: what cannot fly, and what would."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from sim.ensemble.starter_fit import Trial
from sim.scenario.starter import NO_THROTTLE, Answers
from sim.scenario.starter_vehicle import MotorTotals

LEAST_LIFT_OFF = 3.0  # thrust to weight: common practice, a rule of thumb
LEAST_TO_FLY = 1.1  # below it, it burns on the launch pad, or its thrust does not slow a fall
NEAR_ENOUGH = 0.07  # of the suited impulse
LOW, HIGH = 15.0, 250.0  # m of apogee between which these settings make sense
LONG_DRIFT = 7.0  # m; beyond it ensembles of first scenarios miss their landing pad by drift
LOT_SCATTER = 0.02  # of total impulse, as the scenario assumes it


def nonsense(trial: Trial, motors: Mapping[str, MotorTotals]) -> list[str]:
    """What no flight can come of, as messages; nothing should be written then."""
    found = []
    for which, ratio, weight, does in (
        ("ascent", trial.lift_off, trial.weight, "it stays on the launch pad"),
        ("landing", trial.light, trial.landing_weight, "it does not slow the fall"),
    ):
        motor = motors[which]
        if not ratio >= LEAST_TO_FLY:
            found.append(
                f"the {which} motor pushes {motor.impulse / motor.burn_time:.1f} N on average "
                f"against a weight of {weight:.1f} N: {does}; it needs "
                f"{_pushes(motor, weight, LEAST_LIFT_OFF if which == 'ascent' else 1.5)}"
            )
    return found


def remarks(trial: Trial, answers: Answers, motors: Mapping[str, MotorTotals]) -> Iterator[str]:
    """What will not go well, as sentences that end with what would be right."""
    ascent, landing = motors["ascent"], motors["landing"]
    if trial.lift_off < LEAST_LIFT_OFF:
        yield (
            f"At lift-off the ascent motor pushes {trial.lift_off:.1f} times the weight on "
            "average. Below about 3 (common practice, a rule of thumb) a vehicle leaves the launch "
            "pad so slowly that wind and misalignment turn it. Right would be "
            f"{_pushes(ascent, trial.weight, LEAST_LIFT_OFF)}."
        )
    if not LOW <= trial.apogee <= HIGH:
        yield (
            f"It climbs to about {trial.apogee:.0f} m. The settings written suit {LOW:g} to "
            f"{HIGH:g} m; give the ascent motor {'more' if trial.apogee < LOW else 'less'} impulse."
        )
    yield from _landing(trial, landing)
    blown = trial.timing.drift_time * answers["wind"].value
    if blown > LONG_DRIFT:
        yield (
            f"In a wind of {answers['wind'].text} it is blown some {blown:.0f} m before it comes "
            "down, more than leaning into the wind on the way up and steering on the way down "
            "always make up. Right would be less wind, more mass for its size, or a lower climb; "
            "setdown tolerance says how much wind is too much."
        )
    if answers["throttle"].text == NO_THROTTLE:
        yield (
            f"Without a throttle nothing takes out the scatter of motors: {100 * LOT_SCATTER:g} % "
            f"of the landing impulse alone are {LOT_SCATTER * trial.removable:.1f} m/s at the "
            "ground, a light a tenth of a second late is worse, and both add up. Expect most "
            "flights to come down too fast. Right would be a throttle of 20 to 35 % (--throttle)."
        )


def _landing(trial: Trial, landing: MotorTotals) -> Iterator[str]:
    if not math.isfinite(trial.suited):
        yield (
            "No landing motor of that burn time takes out this fall: try another --landing-burn, "
            "usually 2 to 4 s, or another apogee."
        )
        return
    ratio = landing.impulse / trial.suited
    if abs(ratio - 1.0) <= NEAR_ENOUGH:
        return
    weak = ratio < 1.0
    does = "cannot take out the fall and it comes down hard" if weak else (
        "stops it too high, and it rises again or falls from there"
    )  # fmt: skip
    other = trial.suited_apogee
    climb = f", or a climb to about {other:.0f} m" if LOW <= other <= HIGH else ""
    yield (
        f"The landing motor has {landing.impulse:.3g} N s; the fall from {trial.apogee:.0f} m asks "
        f"for about {trial.suited:.3g} N s. So it {does}. Right would be a landing motor near that "
        f"impulse{climb}; or change the mass: setdown ignition says by how much."
    )


def _pushes(motor: MotorTotals, weight: float, ratio: float) -> str:
    """Say what a motor would have to be to push so many times a weight."""
    return (
        f"an average of {ratio * weight:.0f} N: {ratio * weight * motor.burn_time:.0f} N s in "
        f"{motor.burn_time:.2g} s, or {motor.impulse:.3g} N s in "
        f"{motor.impulse / (ratio * weight):.2g} s"
    )
