"""What faults do to whole flights: behaviour, a closed form, and equations of their own."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim.ensemble.fly_runs import fly_runs
from sim.ensemble.prepare import flight_inputs
from sim.flight_records import INPUTS
from sim.scenario import load_scenario
from tests.flight.eight import HERON, fly_eight
from tests.flight.own_flight import OwnFlight

DEGREE = np.pi / 180.0
CALM = ["wind.speed=0 m/s", "wind.turbulence=none"]
NEVER = 1e30
SOUND, JAMMED, REVERSED, CUT, STUCK, DEAD = range(6)


@pytest.fixture(scope="module")
def flights():
    """Eight flights of one sound scenario, each lane with a fault of its own."""
    scenario = load_scenario(HERON, [*CALM, "throttle.wander=0 %"])
    inputs = dict(zip(INPUTS, flight_inputs({}, scenario, 8), strict=True))

    def lanes(name, lane, value):
        row = np.array(inputs[name], dtype=np.float64)
        row[lane] = value
        return row

    changes = {
        "jam_from": lanes("jam_from", JAMMED, 1.0),
        "jam_y": lanes("jam_y", JAMMED, 1.5 * DEGREE),
        "jam_z": lanes("jam_z", JAMMED, -0.7 * DEGREE),
        "landing_gimbal_gain": lanes("landing_gimbal_gain", REVERSED, -1.0),
        "reset_from": lanes("reset_from", CUT, 3.0),
        "reset_until": lanes("reset_until", CUT, 3.8),
        "throttle_stuck_from": lanes("throttle_stuck_from", STUCK, 0.0),
        "throttle_stuck_at": lanes("throttle_stuck_at", STUCK, 0.2),
        "channel_from": lanes("channel_from", DEAD, 0.0),
        "channel_number": lanes("channel_number", DEAD, 3.0),
        "channel_gain": lanes("channel_gain", DEAD, 0.0),
    }  # fmt: skip
    return fly_eight(scenario, changes, longest=12.0)


def in_flight(flown, name, lane, start, end):
    span = (flown.time >= start) & (flown.time < end) & (flown["mass"][:, lane] > 0.0)
    return flown[name][span, lane]


def tilts(flown, lane, start, end):
    """Angle of the long axis from the vertical, from the quaternion."""
    s, x, y, z = (in_flight(flown, f"quaternion_{i}", lane, start, end) for i in range(4))
    return np.arccos(np.clip(2.0 * (x * z - s * y), -1.0, 1.0))


def test_sound__lands(flights):
    assert flights.outcomes["touchdown_speed"][SOUND] < 2.0


def test_jam__gimbal_stays_where_it_stopped(flights):
    end = flights.outcomes["ascent_burn_out_time"][JAMMED]
    later = in_flight(flights, "gimbal_y", JAMMED, 1.1, end - 0.05)
    assert later.size > 20
    assert later == pytest.approx(np.full(later.shape, 1.5 * DEGREE), abs=0.01 * DEGREE)
    other = in_flight(flights, "gimbal_z", JAMMED, 1.1, end - 0.05)
    assert other == pytest.approx(np.full(other.shape, -0.7 * DEGREE), abs=0.01 * DEGREE)
    assert np.abs(in_flight(flights, "gimbal_y", SOUND, 1.1, end - 0.05)).max() < 0.5 * DEGREE


def test_reversed_gimbal__tumbles_once_its_motor_is_lit(flights):
    light = flights.outcomes["landing_light_time"][REVERSED]
    assert tilts(flights, REVERSED, 0.0, light).max() < 30.0 * DEGREE
    assert tilts(flights, REVERSED, light, 12.0).max() > 60.0 * DEGREE
    assert tilts(flights, SOUND, light, 12.0).max() < 30.0 * DEGREE


def test_reset__forgets_where_it_is(flights):
    """It begins anew with nothing known: believed place and truth part at once."""

    def error(lane, time):
        believed = flights.at(time, lane, "believed_up")
        return abs(float(believed[0] - flights.at(time, lane, "true_unit_up")[0]))

    assert error(CUT, 2.9) < 1.0
    assert error(CUT, 4.5) > 5.0
    assert error(SOUND, 4.5) < 2.0
    assert flights.outcomes["touchdown_speed"][CUT] > 8.0


def test_throttle__stuck_lets_the_same_share_through_all_along(flights):
    light = flights.outcomes["landing_light_time"][STUCK]
    end = flights.outcomes["contact_time"][STUCK]
    share = in_flight(flights, "throttle", STUCK, light + 0.3, min(end, light + 1.2))
    assert share.size > 20
    assert share == pytest.approx(np.full(share.shape, 0.8), abs=1e-6)


def test_dead_accelerometer__lift_off_is_never_noticed(flights):
    """Nose channel at zero: the computer waits on the launch pad, and nothing lights."""
    assert np.isnan(flights.outcomes["landing_light_time"][DEAD])


def test_recess__takes_its_share_of_the_thrust_and_of_nothing_else():
    """In empty space: what is pushed in the first 0.2 s of the landing burn, gravity taken off."""
    scenario = load_scenario(HERON, sets=[
        *CALM, "flight_computer.kind=none", "flight_computer.ignition_time=2.5 s",
        "aerodynamics.law=none",
    ])  # fmt: skip
    share = np.array([0.0, 0.4, 0.0, 0.4, 0.0, 0.4, 0.0, 0.4])
    inside = {"separation_delay": np.full(8, NEVER), "recess_share": share}
    flown = fly_eight(scenario, inputs_of(scenario, inside), longest=3.5)
    light = flown.outcomes["landing_light_time"][0]
    first, last = np.searchsorted(flown.time, [light, light + 0.2])
    seconds = flown.time[last] - flown.time[first]

    def pushed(lane):
        names = ("velocity_east", "velocity_north", "velocity_up")
        change = np.array([flown[name][last, lane] - flown[name][first, lane] for name in names])
        return float(np.linalg.norm(change + np.array([0.0, 0.0, 9.807 * seconds])))

    assert pushed(0) > 1.0
    assert pushed(1) == pytest.approx(0.6 * pushed(0), rel=2e-3)
    assert np.array_equal(flown["mass"][:, 0], flown["mass"][:, 1])
    assert np.array_equal(flown["thrust_landing"][:, 0], flown["thrust_landing"][:, 1])
    # once the stage is off nothing is lost
    apart = fly_eight(scenario, inputs_of(scenario, {"recess_share": share}), longest=3.5)
    assert np.array_equal(apart["up"][:, 0], apart["up"][:, 1])


def inputs_of(scenario, changes):
    return dict(zip(INPUTS, flight_inputs({}, scenario, 8), strict=True)) | changes


def test_parachute__sink_rate_is_that_of_the_closed_form():
    """sqrt(2 m g / (rho CdA)), common practice; the vehicle's own drag, 0.05 m2, only slows it."""
    scenario = load_scenario(HERON, [
        *CALM, 'parachute.drag_area="0.9 m2"', "flight_computer.check_continuity=true",
        "faults.landing_no_light.forced=true", "faults.landing_no_light.open_circuit=1",
    ])  # fmt: skip
    out = fly_runs(scenario, 1, np.arange(8), {})
    temperature, pressure = (scenario.numbers[f"site.{k}"].value
                             for k in ("temperature", "pressure"))  # fmt: skip
    density = pressure / (287.05287 * temperature)
    for area, compare in ((0.9, np.less), (0.95, np.greater)):
        limit = np.sqrt(2.0 * out["mass_at_contact"] * 9.807 / (density * area))
        assert compare(out["sink_rate"], limit).all(), (out["sink_rate"], limit)


def test_parachute__that_stays_in_does_nothing():
    sets = [
        *CALM, 'parachute.drag_area="0.9 m2"', "flight_computer.check_continuity=true",
        "faults.landing_no_light.forced=true", "faults.landing_no_light.open_circuit=1",
    ]  # fmt: skip
    out = fly_runs(load_scenario(HERON, [*sets, "faults.parachute_stays_in.forced=true"]),
                   1, np.arange(8), {})  # fmt: skip
    assert (out["touchdown_speed"] > 15.0).all()


# ---- the impact of a flight that never lights, against equations of its own ----------------------


def test_no_light__in_empty_space_falls_on_a_parabola():
    """Without air nothing but gravity acts once the stage is off: DOP853 from there to the ground.

    Gravity is that of the place, by the closed formula of OwnFlight.
    """
    scenario = load_scenario(HERON, [
        *CALM, "aerodynamics.law=none", "flight_computer.kind=none", "landing_pad.height=-1 m",
        "faults.landing_no_light.forced=true", "launch_pad.tilt=4 deg",
    ])  # fmt: skip
    flown = fly_eight(scenario, longest=14.0)
    own = OwnFlight(scenario, {}, separation=NEVER, light=1e9, legs=NEVER)
    start = flown.outcomes["separation_time"][0] + 0.3
    start = float(flown.time[np.searchsorted(flown.time, start)])
    end = float(flown.time[flown.time < flown.outcomes["contact_time"][0]][-1])
    assert end - start > 3.0
    state = np.concatenate([
        flown.at(start, 0, "east", "north", "up"),
        flown.at(start, 0, "velocity_east", "velocity_north", "velocity_up"),
    ])  # fmt: skip

    def fall(_, y):
        return [*y[3:], 0.0, 0.0, -own.gravity(y[2])]

    found = solve_ivp(fall, (start, end), state, method="DOP853", rtol=1e-11, atol=1e-11)
    assert np.hypot(*found.y[:2, -1]) > 3.0  # it really goes somewhere
    assert flown.at(end, 0, "east", "north", "up") == pytest.approx(found.y[:3, -1], abs=1e-4)


@pytest.mark.slow
def test_no_light__in_air_comes_down_where_its_own_equations_say():
    """Full drag, over the top and down: place and speed on the last whole tenth before the ground.

    OwnFlight is what other tests hold whole flights against: nose state, matrices, DOP853.
    """
    sets = [
        *CALM, "flight_computer.kind=none", "ascent_gimbal.backlash=0 deg",
        "landing_gimbal.backlash=0 deg", "aerodynamics.ground_effect=0", "fins.span=20 mm",
        "petals.drag_area=0 m2",
    ]  # fmt: skip
    scenario = load_scenario(HERON, sets)
    forced = scenario.with_faults(["landing_no_light"])
    numbers = {"launch_pad.tilt": 3.0 * DEGREE, "launch_pad.tilt_direction": 0.5}
    inputs = dict(zip(INPUTS, flight_inputs(numbers, forced, 1)[:, 0], strict=True))
    assert inputs["landing_delay"] > 1e6
    flown = fly_eight(forced, inputs, longest=12.0)
    outcomes = {name: value[0] for name, value in flown.outcomes.items()}
    last = np.floor(10.0 * min(12.0, outcomes["contact_time"])) / 10.0 - 0.1
    own = OwnFlight(scenario, numbers, separation=outcomes["separation_time"], light=1e9, legs=1e9)
    ((place, _, _),) = own.fly([last], rtol=1e-8)
    assert np.isnan(outcomes["landing_light_time"])
    assert np.hypot(*place[:2]) > 2.0
    assert flown.at(last, 0, "east", "north", "up") == pytest.approx(place, abs=2e-3)
