"""The attitude loop at both ends of a burn: mass, arm, inertia and thrust as they are there.

The computer turns the angular acceleration that it wants into a gimbal angle by one leverage a
burn, that of half the propellant, and by the push that it feels (or, gains not scheduled, by the
mean push). What the vehicle really has differs by some percent at both ends, and multiplies the
gain.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from sim.ensemble.derived import attitude_loop
from sim.ensemble.loop_margins import Loop, Margins, find_margins
from sim.ensemble.plumb_flight import body_of
from sim.ensemble.settings import computer_settings
from sim.ensemble.thrust_curves import reduced_curve

if TYPE_CHECKING:
    from sim.scenario import Scenario

ENDS = (1.0, 0.0)  # share of the burning motor's propellant that is left


def loop_gains(scenario: Scenario, f: Mapping[str, float], motor: str) -> tuple[float, ...]:
    """Loop gain at each of `ENDS` [1], over the one that the computer is told to have.

    Parameters
    ----------
    scenario : Scenario
    f : mapping
        Fields of the flight kernel, nominal.
    motor : {"ascent", "landing"}

    Notes
    -----
    Angular acceleration per gimbal angle is T l / I: thrust, arm and inertia of the vehicle as it
    is. The computer divides by (T / m) (m l / I), of which T / m is felt and m l / I is told it; if
    gains are not scheduled, T is its peak (the worst case for stability) and T / m is told too.
    """
    told, _ = computer_settings(scenario)
    found = []
    for left in ENDS:
        aboard = {"ascent": {"ascent": left, "landing": 1.0}, "landing": {"landing": left}}[motor]
        body = body_of(f, staged=motor == "ascent", propellant=aboard, legs=motor == "landing")
        arm = -f[f"{motor}_pivot_x"] - body.station
        gain = body.mass * arm / body.inertia / told[f"{motor}_leverage"]
        if not scenario.choices["flight_computer.schedule_gains"]:
            curve = reduced_curve(scenario, f"{motor}_motor")
            assert curve is not None, "the motor is there"
            peak = curve.peak_thrust * f[f"{motor}_thrust_scale"]
            gain *= peak / body.mass / told[f"{motor}_push"]
        found.append(gain)
    return tuple(found)


def loops_of_burn(scenario: Scenario, f: Mapping[str, float], motor: str) -> tuple[Loop, ...]:
    """Linear loops at both ends of a burn; parameters as `loop_gains`."""
    loop = attitude_loop(scenario, f, motor)
    return tuple(
        replace(loop, stiffness=gain * loop.stiffness, rate_gain=gain * loop.rate_gain)
        for gain in loop_gains(scenario, f, motor)
    )


def least_margins(loops: tuple[Loop, ...]) -> Margins:
    """Least margin of each kind of several loops; the crossover is the highest."""
    found = [find_margins(loop) for loop in loops]
    return Margins(
        crossover=max(m.crossover for m in found),
        phase_margin=min(m.phase_margin for m in found),
        gain_margin=min(m.gain_margin for m in found),
        gain_reduction=max(m.gain_reduction for m in found),
        delay_margin=min(m.delay_margin for m in found),
    )
