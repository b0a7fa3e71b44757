"""Settings of the built-in flight computer, from what is believed of the vehicle.

No drawn number gets in here: a flight computer is loaded before anybody knows what the day will
bring.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.avionics.landing_plan import SINK_STEP, LandingPlan, Vehicle, plan_landing
from sim.avionics.memory import BY_HEIGHT, BY_TABLE, BY_TIME, LEVELLED, MEASURED, PLUMB
from sim.ensemble.divert_plan import divert_settings, planned_least
from sim.ensemble.gravity import STANDARD_GRAVITY, gravity_line
from sim.ensemble.prepare_aids import FITTED
from sim.ensemble.settings_aids import filter_settings
from sim.ensemble.swap import carried_ahead, mount_of, swaps
from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]

PUSH_STEP = 0.02  # s
BLUNT_DRAG = 0.9  # of a blunt cylinder end first: Hoerner, Fluid-Dynamic Drag, 1965 (from memory)
GAS_CONSTANT = 287.05287  # J/(kg K), ISO 2533
BURN_OUT_FORCE = 0.3 * STANDARD_GRAVITY
LIGHT_SHARE = 0.35  # of the nominal push early in the burn, which says that the motor burns
ABORT_TILT = math.radians(60.0)  # before the landing burn: lighting a motor sideways helps nobody

ATTITUDE_LAWS = {"plumb": PLUMB, "levelled": LEVELLED, "measured": MEASURED}
IGNITION_LAWS = {"table": BY_TABLE, "height": BY_HEIGHT, "time": BY_TIME}


def computer_settings(scenario: Scenario) -> tuple[dict[str, float], dict[str, Floats]]:
    """Fields of SETTINGS, and the two tables of the flight computer.

    Parameters
    ----------
    scenario : Scenario
        Only its believed numbers, its choices and its thrust curves are read.

    Returns
    -------
    settings : dict of str to float
        Every field of `sim.avionics.memory.SETTINGS`, SI.
    tables : dict of str to array
        `ignition_height` [m] over sink rate, `landing_push` [m/s^2] over time since light.
    """
    reader = _Believed(scenario)
    gravity, gradient = _gravity(reader)
    vehicle = planned_vehicle(scenario)
    push, drag = vehicle.push, vehicle.drag_share
    throttled = scenario.has("throttle") and reader.choice("flight_computer.surplus") == "throttle"
    least = 1.0 - reader("throttle.authority") if throttled else 1.0
    plan = plan_landing(replace(vehicle, least_throttle=planned_least(scenario, least)))
    settings = {
        **_alignment(reader),
        **_place(reader),
        "gravity": gravity,
        "gravity_gradient": gradient,
        **_sequence(reader),
        **_climb(reader),
        **_landing(reader, plan, push),
        **divert_settings(scenario, plan.boost_end, push, PUSH_STEP),
        "drag_share": drag,
        "least_throttle": least,
        **_attitude(reader, push),
        **filter_settings(reader, gravity),
    }
    return settings, {"ignition_height": plan.ignition_heights, "landing_push": push}


def planned_vehicle(scenario: Scenario, least: float = 1.0) -> Vehicle:
    """What is believed of the vehicle that lands, with a least share of the thrust."""
    reader = _Believed(scenario)
    return Vehicle(
        _landing_push(reader), PUSH_STEP, least, _falling_drag(reader),
        max(_gravity(reader)[0], 1e-6), reader("landing_motor.ignition_delay"),
        reader("flight_computer.touchdown_sink_rate"),
    )  # fmt: skip


class _Believed:
    """Believed numbers and choices of a scenario, by dotted name."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario

    def __call__(self, name: str) -> float:
        return float(self.scenario.numbers[name].believed)

    def if_given(self, name: str) -> float:
        """Return the believed number, or nan (never) where the scenario does not say."""
        return self(name) if self.scenario.numbers[name].given else math.nan

    def choice(self, name: str) -> str:
        return str(self.scenario.choices[name])

    def flag(self, name: str) -> float:
        return float(bool(self.scenario.choices[name]))

    def code(self, name: str, codes: dict[str, float]) -> float:
        found = self.choice(name)
        if found not in codes:
            raise UserMistake(f"{name} is {found!r}; it must be one of {', '.join(codes)}.")
        return codes[found]

    def has(self, part: str) -> bool:
        return self.scenario.has(part)


def _gravity(believed: _Believed) -> tuple[float, float]:
    """Gravity at the launch point [m/s^2] and how much less it is a metre higher [1/s^2]."""
    law = believed.choice("site.gravity")
    here, slope, _ = gravity_line(law, believed("site.latitude"), believed("site.elevation"))
    return float(here), -float(slope)


def _falling_drag(believed: _Believed) -> float:
    """Drag over mass and speed squared, falling tail first with petals and legs open [1/m]."""
    density = believed("site.pressure") / (GAS_CONSTANT * believed("site.temperature"))
    area = BLUNT_DRAG * math.pi / 4.0 * believed("vehicle.diameter") ** 2
    area += believed("petals.drag_area") if believed.has("petals") else 0.0
    area += believed("legs.drag_area") if believed.has("legs") else 0.0
    return 0.5 * density * area / _landing_mass(believed)


def _landing_mass(believed: _Believed) -> float:
    propellant = believed("landing_motor.propellant_mass")
    aids = sum(body[0] for body in _aids(believed))
    fuel = propellant if believed.has("landing_motor") else 0.0
    return believed("vehicle.dry_mass") + aids + fuel


def _aids(believed: _Believed) -> list[tuple[float, float, float]]:
    """Mass, station and inertia (none) of each aid to navigation aboard."""
    return [
        (believed(f"{part}.mass"), believed(f"{part}.station"), 0.0)
        for part in FITTED
        if believed.has(part)
    ]


def _landing_push(believed: _Believed) -> Floats:
    """Nominal unobstructed thrust over the mass of that moment, at steps of PUSH_STEP."""
    if not believed.has("landing_motor"):
        return np.zeros(2)
    curve = believed.scenario.curves["landing_motor.curve"]
    factor = believed("landing_motor.impulse_factor")
    stretch = believed("landing_motor.burn_time_factor")
    time, thrust = stretch * curve[:, 0], factor / stretch * curve[:, 1]
    shares = np.concatenate(([0.0], np.cumsum(np.diff(time) * (thrust[1:] + thrust[:-1]) / 2.0)))
    shares /= shares[-1]
    mass = _landing_mass(believed) - believed("landing_motor.propellant_mass") * shares
    grid = np.arange(0.0, time[-1] + 2.0 * PUSH_STEP, PUSH_STEP)
    push: Floats = np.interp(grid, time, thrust / mass, right=0.0)
    return push


def _alignment(believed: _Believed) -> dict[str, float]:
    zeroing = believed.choice("alignment.zeroing")
    if zeroing not in ("none", "nose_axis", "all_axes"):
        raise UserMistake(
            f"alignment.zeroing is {zeroing!r}; it must be one of none, nose_axis, all_axes."
        )
    return {
        "attitude_law": believed.code("alignment.attitude", ATTITUDE_LAWS),
        "zero_nose": float(zeroing != "none"),
        "zero_side": float(zeroing == "all_axes"),
        "zero_gyro": float(believed("alignment.wait") > 0.0),  # without a wait nothing is averaged
    }


def _place(believed: _Believed) -> dict[str, float]:
    """Where things are: on the field, and on the vehicle along body axes."""
    aft = believed("stage.end") if believed.has("stage") else believed("vehicle.length")
    feet = believed("legs.foot_station") if believed.has("legs") else believed("vehicle.length")
    unit = believed("inertial.station")
    return {
        "launch_height": believed("launch_pad.height") - believed("landing_pad.height"),
        "landing_east": believed("landing_pad.east"),
        "landing_north": believed("landing_pad.north"),
        "unit_above_aft": aft - unit,
        "unit_above_feet": feet - unit,
        "unit_y": believed("inertial.offset_y"),
        "unit_z": believed("inertial.offset_z"),
        "unit_forward": _landing_body(believed)[1] - unit,
    }


def _sequence(believed: _Believed) -> dict[str, float]:
    petals = believed.choice("flight_computer.petals_at")
    staged = believed.has("stage")
    after = believed("flight_computer.separation_after_burn_out")
    return {
        "tick": 1.0 / believed("flight_computer.control_rate"),
        "lift_off_force": believed("flight_computer.lift_off_threshold"),
        "lift_off_samples": float(believed.scenario.choices["flight_computer.lift_off_samples"]),
        "burn_out_force": BURN_OUT_FORCE,
        "separation_after": after if staged else math.nan,
        "separation_time": _ascent_burn_out(believed) + after if staged else math.nan,
        "petals_at_apogee": float(petals == "apogee"),
        "petals_at_separation": float(petals == "separation"),
        "legs_after": believed("flight_computer.legs_after_ignition"),
        "abort_nose_up": math.cos(ABORT_TILT),
        "stage_wait": _wait("stage", believed.scenario),
        "light_wait": _wait("light", believed.scenario),
        "hold": believed.flag("flight_computer.hold"),
        "abort_parachute": float(believed.choice("flight_computer.on_fault") == "parachute"),
        "abort_level": float(believed.choice("flight_computer.on_fault") == "level_out"),
        "check_continuity": float(
            believed.scenario.choices["flight_computer.check_continuity"] is True
        ),
    }


def _ascent_burn_out(believed: _Believed) -> float:
    """Nominal time of ascent burn-out, from the ignition command [s]."""
    if not believed.has("ascent_motor"):
        return math.nan
    length = float(believed.scenario.curves["ascent_motor.curve"][-1, 0])
    return believed("ascent_motor.ignition_delay") + length


def _climb(believed: _Believed) -> dict[str, float]:
    """Start, end and lean of the pitch programme, towards the landing pad."""
    east, north = believed("landing_pad.east"), believed("landing_pad.north")
    distance = math.hypot(east, north)
    lean = math.sin(0.5 * believed("flight_computer.climb_tilt")) / distance if distance else 0.0
    return {
        "climb_tilt_start": believed("flight_computer.climb_tilt_start"),
        "climb_tilt_end": believed("flight_computer.climb_tilt_end"),
        "climb_aimed": float(believed.choice("flight_computer.climb") == "aimed"),
        "climb_tilt": math.sin(0.5 * believed("flight_computer.climb_tilt")),
        "climb_rate": 1.0 / believed("flight_computer.climb_time"),
        "coast_time": believed("flight_computer.coast_time"),
        "wind_drift": believed("flight_computer.wind_drift"),
        "climb_east": lean * east,
        "climb_north": lean * north,
    }


def _landing(believed: _Believed, plan: LandingPlan, push: Floats) -> dict[str, float]:
    tick, lag = 1.0 / believed("flight_computer.control_rate"), believed("throttle.lag")
    early = push[: round(0.3 / PUSH_STEP)]
    return {
        "ignition_law": believed.code("flight_computer.ignition", IGNITION_LAWS),
        "ignition_margin": believed("flight_computer.ignition_margin"),
        "ignition_height": believed("flight_computer.ignition_height"),
        "ignition_time": believed.if_given("flight_computer.ignition_time"),
        "sink_steps": 1.0 / SINK_STEP,
        "light_force": LIGHT_SHARE * max(float(early.mean()), 1.0),
        "push_steps": 1.0 / PUSH_STEP,
        "boost_end": plan.boost_end,
        "burn_end": plan.burn_end,
        "sustain_slowing": plan.sustain_slowing,
        "touchdown_sink_rate": believed("flight_computer.touchdown_sink_rate"),
        "sink_gain": believed("flight_computer.sink_gain"),
        "throttle_keep": math.exp(-tick / lag) if lag > 0.0 else 0.0,
        "guidance_tilt": math.sin(0.5 * believed("flight_computer.guidance_tilt")),
        "guidance_freeze": believed("flight_computer.guidance_freeze"),
    }


def _landing_body(believed: _Believed) -> tuple[float, float, float]:
    """Mass, station of the cg and transverse inertia in the middle of the landing burn."""
    shift = believed("legs.mass_shift") if believed.has("legs") else 0.0
    gain = believed("legs.inertia_gain") if believed.has("legs") else 0.0
    vehicle = (
        believed("vehicle.dry_mass"),
        believed("vehicle.cg") + shift,
        believed("vehicle.transverse_inertia") + 0.5 * gain,
    )
    propellant = believed("landing_motor.propellant_mass")
    half = (0.5 * propellant, believed("landing_motor.propellant_cg"), 0.0)
    fuel = [half] if believed.has("landing_motor") else []
    return _together(vehicle, *fuel, *_aids(believed)) if fuel or _aids(believed) else vehicle


def _ascent_body(believed: _Believed) -> tuple[float, float, float]:
    """Mass, cg and inertia in the middle of the ascent burn."""
    parts = [
        (
            believed("vehicle.dry_mass"),
            believed("vehicle.cg"),
            believed("vehicle.transverse_inertia"),
        ),
        *_aids(believed),
    ]
    travel = believed("swap.travel") if swaps(believed.scenario) else 0.0
    parts += carried_ahead(believed("swap.case_mass"), believed("swap.case_cg"), travel)
    if believed.has("landing_motor"):
        propellant = believed("landing_motor.propellant_mass")
        parts.append((propellant, believed("landing_motor.propellant_cg") - travel, 0.0))
    if believed.has("stage"):
        inertia = believed("stage.transverse_inertia")
        parts.append((believed("stage.mass"), believed("stage.cg"), inertia))
    if believed.has("ascent_motor"):
        half = 0.5 * believed("ascent_motor.propellant_mass")
        parts.append((half, believed("ascent_motor.propellant_cg"), 0.0))
    return _together(*parts)


def _together(*parts: tuple[float, float, float]) -> tuple[float, float, float]:
    """Mass, cg and transverse inertia of several bodies on one axis (parallel axes)."""
    mass = sum(part[0] for part in parts)
    cg = sum(part[0] * part[1] for part in parts) / mass
    inertia = sum(part[2] + part[0] * (part[1] - cg) ** 2 for part in parts)
    return mass, cg, inertia


def _attitude(believed: _Believed, push: Floats) -> dict[str, float]:
    wn, zeta = believed("flight_computer.bandwidth"), believed("flight_computer.damping")
    integral = believed("flight_computer.integral")
    ascent, landing = _ascent_body(believed), _landing_body(believed)
    # back-calculation with sqrt(Ti Td), Ti = 1 / integral and Td = 2 zeta / wn
    unwind = 1.0 / (math.sqrt(2.0 * zeta / (wn * integral)) * wn**2 * integral) if integral else 0.0
    alight = push[push > STANDARD_GRAVITY]
    wheel, roll = (
        believed("flight_computer.wheel_bandwidth"),
        believed("flight_computer.roll_bandwidth"),
    )
    axes = believed.choice("wheels.axes") if believed.has("wheels") else "none"
    torque = believed("wheels.torque")
    axial = believed("vehicle.axial_inertia")
    mount = mount_of("landing", believed.scenario)
    return {
        "bandwidth_squared": wn**2,
        "rate_gain": 2.0 * zeta * wn,
        "integral": integral,
        "unwind": unwind,
        "scheduled": believed.flag("flight_computer.schedule_gains"),
        "ascent_push": max(_ascent_push(believed, ascent[0]), STANDARD_GRAVITY),
        "landing_push": float(alight.mean()) if len(alight) else STANDARD_GRAVITY,
        "ascent_leverage": _leverage(ascent, believed("ascent_gimbal.pivot")),
        "landing_leverage": _leverage(landing, believed(f"{mount}.pivot")),
        "ascent_travel": believed("ascent_gimbal.travel"),
        "landing_travel": believed(f"{mount}.travel"),
        "wheel_gain": landing[2] * wheel**2,
        "wheel_rate_gain": landing[2] * 2.0 * zeta * wheel,
        "wheel_limit": torque if axes == "all" else 0.0,
        "roll_gain": axial * roll**2,
        "roll_rate_gain": axial * 2.0 * zeta * roll,
        "wheel_unload": believed("flight_computer.wheel_unload"),
        "wheel_momentum": believed("wheels.momentum") if axes == "all" else 0.0,
        "roll_limit": torque if axes in ("all", "roll") else 0.0,
    }


def _ascent_push(believed: _Believed, mass: float) -> float:
    """Mean thrust over mass of the ascent burn [m/s^2]."""
    if not believed.has("ascent_motor"):
        return 0.0
    time, thrust = believed.scenario.curves["ascent_motor.curve"].T
    impulse = float(np.sum(np.diff(time) * (thrust[1:] + thrust[:-1]) / 2.0))
    return impulse / float(time[-1] - time[0]) / mass


def _leverage(body: tuple[float, float, float], pivot: float) -> float:
    """Mass times arm over transverse inertia [1/m]; 1 where no gimbal is behind the cg."""
    mass, cg, inertia = body
    return mass * (pivot - cg) / inertia if pivot > cg else 1.0


def _wait(check: str, scenario: Scenario) -> float:
    """How long a check waits [s]; nan if it is not made."""
    made = scenario.choices[f"flight_computer.check_{check}"] is True
    return scenario.numbers[f"flight_computer.{check}_wait"].believed if made else math.nan
