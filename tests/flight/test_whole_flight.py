"""A whole vehicle without control against equations of its own, integrated to twelve digits.

The flight leaves the launch pad in wind, burns its ascent motor, drops the stage, burns its landing
motor, opens its legs; every uncertain number that bends its way is set off its nominal value. The
equations are in own_flight.py, integrated by scipy's DOP853 (Hairer, Norsett and Wanner, Solving
Ordinary Differential Equations I) at a relative tolerance of 1e-10.
"""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.prepare import flight_inputs
from sim.scenario import load_scenario
from tests.flight.eight import HERON, INPUTS, fly_eight, rotation
from tests.flight.own_flight import OwnFlight

DEGREE = np.pi / 180.0
TICK = 0.005
LEGS_AFTER = 0.2  # s

# what a typical flight of the ensemble might draw, every part of it alive
MILD = {
    "vehicle.cg_offset": 3e-4, "vehicle.cg_offset_clocking": 1.0,
    "vehicle.transverse_asymmetry": 0.02, "vehicle.product_inertia": 1e-4,
    "ascent_motor.misalignment": 0.05 * DEGREE, "ascent_motor.misalignment_clocking": 2.0,
    "ascent_motor.offset": 2e-4, "ascent_motor.offset_clocking": 4.0,
    "ascent_motor.impulse_factor": 1.01, "ascent_motor.burn_time_factor": 0.98,
    "landing_motor.misalignment": 0.05 * DEGREE, "landing_motor.misalignment_clocking": 4.0,
    "landing_motor.offset": 1e-4, "landing_motor.offset_clocking": 1.0,
    "ascent_gimbal.zero_offset.y": 0.05 * DEGREE, "ascent_gimbal.zero_offset.z": -0.04 * DEGREE,
    "landing_gimbal.zero_offset.y": 0.05 * DEGREE, "landing_gimbal.zero_offset.z": -0.04 * DEGREE,
    "launch_pad.tilt": 0.3 * DEGREE, "launch_pad.tilt_direction": 0.7, "launch_pad.heading": 0.4,
    "launch_pad.tip_off_rate": 1.0 * DEGREE, "launch_pad.tip_off_clocking": 2.2,
    "stage.side_rate": 2.0 * DEGREE, "stage.side_rate_clocking": 1.1,
    "wind.speed": 1.5, "wind.direction": 200.0 * DEGREE,
    "aerodynamics.axial_factor": 1.07, "aerodynamics.normal_factor": 0.94,
    "aerodynamics.centre_of_pressure_shift": 0.008,
    "site.temperature": 291.0, "site.pressure": 100300.0,
}  # fmt: skip
# a bad parting: it tumbles from there to the ground
TUMBLE = MILD | {
    "vehicle.cg": 0.62, "stage.side_rate": 150.0 * DEGREE, "landing_motor.ignition_delay": 1e9,
}  # fmt: skip

CASES = {"ten_seconds": (MILD, 2.502), "landing_burn_at_the_top": (MILD, 4.202),
         "tumble": (TUMBLE, 4.202)}  # fmt: skip


@pytest.fixture(scope="module", params=CASES)
def both(request):
    """One flight of the program and its own equations, at whole seconds to 10 s or the ground."""
    numbers, ignition = CASES[request.param]
    scenario = load_scenario(
        HERON,
        sets=[
            "flight_computer.kind=none", "wind.law=power", "wind.turbulence=none",
            "ascent_gimbal.backlash=0 deg", "landing_gimbal.backlash=0 deg",
            "aerodynamics.ground_effect=0", f"flight_computer.ignition_time={ignition} s",
            f"flight_computer.legs_after_ignition={LEGS_AFTER} s",
        ],
    )  # fmt: skip
    inputs = dict(zip(INPUTS, flight_inputs(numbers, scenario, 1)[:, 0], strict=True))
    flown = fly_eight(scenario, inputs, longest=10.0, tick=TICK)
    outcomes = {name: value[0] for name, value in flown.outcomes.items()}
    # what the clock on board commands happens at its ticks, a delay later
    lit = 1e9 if request.param == "tumble" else outcomes["landing_light_time"]
    legs = np.ceil((ignition + LEGS_AFTER) / TICK) * TICK + scenario.numbers["legs.delay"].value
    own = OwnFlight(scenario, numbers, separation=outcomes["separation_time"], light=lit, legs=legs)
    last = min(10.0, np.nan_to_num(outcomes["contact_time"], nan=10.0))
    times = [t for t in np.arange(1.0, 11.0) if t <= last]
    return flown, outcomes, own, times, own.fly(times)


def test_whole_flight__place_within_a_millimetre(both):
    flown, _, _, times, states = both
    assert len(times) >= 5
    for time, (place, _, _) in zip(times, states, strict=True):
        found = flown.at(time, 0, "east", "north", "up")
        assert np.linalg.norm(found - place) < 1e-3


def test_whole_flight__attitude_within_a_hundredth_of_a_degree(both):
    flown, _, _, times, states = both
    for time, (_, matrix, _) in zip(times, states, strict=True):
        found = rotation(flown.quaternion(time, 0))
        # for a small turn the matrices differ by root two of it
        assert np.linalg.norm(found - matrix) / np.sqrt(2.0) < 0.01 * DEGREE


def test_whole_flight__rates(both):
    flown, _, _, times, states = both
    for time, (_, _, omega) in zip(times, states, strict=True):
        assert flown.rates(time, 0) == pytest.approx(omega, abs=1e-4)


def test_lift_off__when_the_thrust_exceeds_the_weight(both):
    _, outcomes, own, _, _ = both
    assert outcomes["lift_off_time"] == pytest.approx(own.lift_off_time, abs=1e-6)


def test_lift_off__moves_smoothly_with_the_ignition_delay():
    # an event between two ticks: a tenth of a millisecond later lights a tenth later
    scenario = load_scenario(HERON, sets=["flight_computer.kind=none", "wind.turbulence=none"])
    delay = 0.0901 + 1e-4 * np.arange(8)
    flown = fly_eight(scenario, {"ascent_delay": delay}, longest=0.2)
    since = flown.outcomes["lift_off_time"] - delay
    assert since == pytest.approx(np.full(8, since[0]), abs=1e-7)
