"""When the landing burn ends just at the ground: a point mass straight down, without steering.

Backwards from rest at the ground at burn-out, thrust curve, mass flow, gravity and drag give the
one height and sink rate at which the motor has to push first; the fall from the apogee has to pass
through that point. Forwards, the same burn tells what a weak motor or a late light leaves over.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]

STEP = 1e-3  # s


@dataclass(frozen=True)
class Burn:
    """A landing burn straight down.

    Attributes
    ----------
    time, thrust : ndarray (n,) [s], [N]
        Curve of the motor, unobstructed.
    propellant : float [kg]
    mass : float [kg]
        At light.
    gravity : float [m/s^2]
    drag : float [kg/m]
        Drag over speed squared.
    """

    time: Floats
    thrust: Floats
    propellant: float
    mass: float
    gravity: float
    drag: float = 0.0

    @property
    def end(self) -> float:
        """Burn-out [s] after light."""
        return float(self.time[-1])

    def profile(self, moments: Floats) -> tuple[list[float], list[float]]:
        """Unobstructed thrust [N] and mass [kg] at moments [s] after light.

        Before light and after burn-out there is no thrust. The mass flow follows the unobstructed
        curve whatever is let through.
        """
        thrust = np.interp(moments, self.time, self.thrust, left=0.0, right=0.0)
        parts = np.diff(self.time) * (self.thrust[1:] + self.thrust[:-1]) / 2.0
        burnt = np.concatenate(([0.0], np.cumsum(parts)))
        mass = self.mass - self.propellant * np.interp(moments, self.time, burnt / burnt[-1])
        return thrust.tolist(), mass.tolist()


@dataclass(frozen=True)
class LightPoint:
    """Where the motor must push first [m], [m/s], and the apogee that leads there [m].

    Heights are of the feet above the landing pad. The apogee is infinite if drag never lets the
    fall become so fast (the motor is too strong), and 0 if the motor never slows the fall.
    """

    height: float
    sink: float
    apogee: float


def light_point(burn: Burn, share: float = 1.0) -> LightPoint:
    """Where to light so that burn-out, rest and ground come together.

    Parameters
    ----------
    burn : Burn
    share : float [1]
        Of the thrust, let through all along.

    Returns
    -------
    LightPoint
    """
    height, sink = 0.0, 0.0
    steps = max(1, round(burn.end / STEP))
    dt = burn.end / steps
    thrust, mass = burn.profile(_moments(np.arange(steps, 0, -1), -0.5, dt))
    for full, carried in zip(thrust, mass, strict=True):
        slowing = _slowing(burn, share * full, carried, sink)
        slowing = _slowing(burn, share * full, carried, sink + 0.5 * dt * slowing)
        height += dt * (sink + 0.5 * dt * slowing)
        sink += dt * slowing
    if sink <= 0.0 or height <= 0.0:
        return LightPoint(math.nan, math.nan, 0.0)
    return LightPoint(height, sink, height + fall_height(burn, sink))


def fall_height(burn: Burn, sink: float) -> float:
    """Fall from rest [m] to a sink rate; infinite if drag never lets it fall so fast.

    Notes
    -----
    h = -m / (2 k) ln(1 - k v^2 / (m g)); without drag v^2 / (2 g).
    """
    if burn.drag == 0.0:
        return sink * sink / (2.0 * burn.gravity)
    x = burn.drag * sink * sink / (burn.mass * burn.gravity)
    return -burn.mass / (2.0 * burn.drag) * math.log1p(-x) if x < 1.0 else math.inf


def fall_speed(burn: Burn, height: float) -> float:
    """Sink rate [m/s] after a fall from rest [m]."""
    if burn.drag == 0.0:
        return math.sqrt(2.0 * burn.gravity * height)
    x = -math.expm1(-2.0 * burn.drag * height / burn.mass)
    return math.sqrt(burn.mass * burn.gravity / burn.drag * x)


def burn_down(
    burn: Burn, height: float, sink: float, share: float = 1.0, late: float = 0.0
) -> tuple[float, float]:
    """Speed at the ground [m/s] and height [m] at which it came to rest before, if it did.

    Parameters
    ----------
    burn : Burn
    height, sink : float [m], [m/s]
        Where the motor should have pushed first.
    share : float [1]
        Of the thrust.
    late : float [s]
        So much later it does.

    Returns
    -------
    (float, float)
        The second is nan unless the vehicle stopped above the ground; then the first is 0.
    """
    steps = int((late + burn.end + 60.0) / STEP)  # a minute of fall after burn-out is enough
    thrust, mass = burn.profile(_moments(np.arange(steps), 0.5, STEP) - late)
    for full, carried in zip(thrust, mass, strict=True):
        slowing = _slowing(burn, share * full, carried, sink)
        slowing = _slowing(burn, share * full, carried, sink - 0.5 * STEP * slowing)
        fall = STEP * (sink - 0.5 * STEP * slowing)
        if fall >= height:  # into the ground within this step
            return max(sink - STEP * height / fall * slowing, 0.0), math.nan
        height, sink = height - fall, sink - STEP * slowing
        if sink <= 0.0:
            return 0.0, height
    return sink, math.nan


def _moments(steps: NDArray[np.int64], shift: float, step: float) -> Floats:
    return np.asarray((steps + shift) * step, dtype=np.float64)


def _slowing(burn: Burn, thrust: float, mass: float, sink: float) -> float:
    """Deceleration [m/s^2]."""
    return (thrust + burn.drag * sink * abs(sink)) / mass - burn.gravity


def solve(
    residual: Callable[[float], float], low: float, high: float, tolerance: float = 1e-4
) -> float:
    """Root by bisection, the residual may be infinite; nan if both ends have the same sign."""
    first, last = residual(low), residual(high)
    if (first > 0.0) == (last > 0.0):
        return math.nan
    while high - low > tolerance:
        middle = 0.5 * (low + high)
        if (residual(middle) > 0.0) == (first > 0.0):
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@dataclass(frozen=True)
class Match:
    """How to make burn-out, rest and ground come together; nan where it cannot be.

    Attributes
    ----------
    apogee : float [m]
        As the scenario has it, of the feet above the landing pad.
    apogee_full, apogee_least : float [m]
        That full thrust, or the least the throttle lets through, asks for.
    share : float [1]
        Mean share of thrust that suits the apogee as it is, and the height to light at then.
    height : float [m]
    sink : float [m/s]
    ballast : float [kg]
        To be added (negative: taken off), at full thrust.
    least_share : float [1]
        The least that the throttle lets through.
    """

    apogee: float
    apogee_full: float
    apogee_least: float
    share: float
    height: float
    sink: float
    ballast: float
    least_share: float


def match_burn(scenario: Scenario) -> Match:
    """Match the landing burn of a scenario to its ground.

    Parameters
    ----------
    scenario : Scenario
        With a landing motor.

    Returns
    -------
    Match
    """
    burn, apogee, least = nominal_burn(scenario)
    full = light_point(burn)
    share = solve(lambda s: light_point(burn, s).apogee - apogee, 0.3, 1.2)
    at = light_point(burn, share) if math.isfinite(share) else full
    mass = scenario.numbers["vehicle.dry_mass"].value

    def residual(extra: float) -> float:
        other, top, _ = nominal_burn(scenario.with_values({"vehicle.dry_mass": mass + extra}))
        return light_point(other).apogee - top

    return Match(
        apogee, full.apogee, light_point(burn, least).apogee, share, at.height, at.sink,
        solve(residual, -0.3 * mass, 0.8 * mass, 0.005), least,
    )  # fmt: skip


def nominal_burn(scenario: Scenario) -> tuple[Burn, float, float]:
    """Nominal burn, apogee of the feet above the landing pad [m], and least share of thrust."""
    from sim.ensemble.plumb_flight import body_of, fly_plumb
    from sim.ensemble.prepare import flight_inputs
    from sim.ensemble.settings import computer_settings
    from sim.ensemble.thrust_curves import reduced_curve
    from sim.flight_records import INPUTS

    column = flight_inputs({}, scenario, 1)[:, 0]
    f = dict(zip(INPUTS, map(float, column), strict=True))
    curve = reduced_curve(scenario, "landing_motor")
    if curve is None:
        raise ValueError("no landing motor")
    body = body_of(f, staged=False, propellant={"landing": 1.0})
    area = f["core_axial_tail"] + (f["petals_area"] if scenario.has("petals") else 0.0)
    burn = Burn(
        time=curve.knots[:, 0] * f["landing_time_scale"],
        thrust=curve.knots[:, 1] * f["landing_thrust_scale"],
        propellant=f["landing_propellant"], mass=body.mass, gravity=f["gravity"],
        drag=0.5 * f["air_density"] * area,
    )  # fmt: skip
    flight = fly_plumb(scenario, f, computer_settings(scenario)[1]["ignition_height"])
    feet = flight.apogee_height - (-f["feet_x"] - body.station) - f["pad_up"]
    least = 1.0 - f["throttle_authority"] if scenario.has("throttle") else 1.0
    return burn, feet, least
