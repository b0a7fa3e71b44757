"""The motor swap and the divert: momentum, the cosine, a quiet return, and worth its while."""

from __future__ import annotations

import numpy as np
import pytest

from sim.avionics.divert import boost_left
from sim.ensemble.divert_plan import vertical_share
from sim.ensemble.fly_runs import fly_runs, fly_trace
from sim.ensemble.prepare import flight_inputs
from sim.flight_records import INPUTS
from sim.scenario import load_scenario
from tests.flight.eight import HERON, fly_eight, rotation

WAGTAIL = HERON.with_name("wagtail.toml")
OPEN_LOOP = HERON.with_name("wagtail_open_loop.toml")
STILL = ("wind.speed=0 m/s", "wind.turbulence=none")


@pytest.fixture(scope="module")
def in_space():
    """The wagtail let go turning in empty space; it burns and swaps its motors by the clock."""
    return load_scenario(
        WAGTAIL,
        sets=[
            "flight_computer.kind=none", "site.gravity=none", "aerodynamics.law=none",
            "start.mode=free", "start.height=500 m", "start.rate_y=40 deg/s",
            "start.rate_z=-20 deg/s", "start.rate_x=30 deg/s", "start.velocity_east=3 m/s",
            "stage.impulse=0.25 N s", "stage.side_rate=0 deg/s", "vehicle.cg_offset=0.3 mm",
            "swap.slide_time=150 ms", "legs.mass_shift=0 mm", "legs.inertia_gain=0 kg m2",
        ],
    )  # fmt: skip


def by_hand(scenario, ahead):
    """Mass, cg station and transverse inertia of the core, its landing motor so far ahead [m]."""
    n = {name: number.value for name, number in scenario.numbers.items()}
    radius, length = n["landing_motor.grain_diameter"] / 2, n["landing_motor.grain_length"]
    case, dry = n["swap.case_mass"], n["vehicle.dry_mass"]
    case_cg, dry_cg = n["swap.case_cg"], n["vehicle.cg"]
    # the vehicle without the case, by parallel axes, then case and grain where they are
    rest = dry - case
    rest_cg = (dry * dry_cg - case * case_cg) / rest
    own = n["vehicle.transverse_inertia"]
    own -= rest * (rest_cg - dry_cg) ** 2 + case * (case_cg - dry_cg) ** 2
    grain = n["landing_motor.propellant_mass"]
    bodies = [
        (rest, rest_cg, own),
        (case, case_cg - ahead, 0.0),
        (grain, n["landing_motor.propellant_cg"] - ahead, grain * (radius**2 / 4 + length**2 / 12)),
    ]
    mass = sum(b[0] for b in bodies)
    cg = sum(b[0] * b[1] for b in bodies) / mass
    return mass, cg, sum(b[2] + b[0] * (b[1] - cg) ** 2 for b in bodies)


@pytest.fixture(scope="module")
def slides(in_space):
    """Eight slides at moments off the grid of ticks."""
    return fly_eight(in_space, changes={"slide_time": np.linspace(0.1013, 0.1713, 8)}, longest=3.0)


def around(flown, lane):
    """Times of the last row before the slide and the first one after it."""
    row = int(np.searchsorted(flown.time, flown.outcomes["swap_time"][lane]))
    return flown.time[row - 1], flown.time[row]


def test_slide__happens_a_set_time_after_the_casing_is_free(slides):
    took = slides.outcomes["swap_time"] - slides.outcomes["separation_time"]
    assert took == pytest.approx(np.linspace(0.1013, 0.1713, 8), abs=1e-12)


def test_slide__keeps_momentum_and_angular_momentum(in_space, slides):
    # nothing acts from outside: the common centre goes straight on; about it the angular momentum
    # is kept, so that the rates across the axis go with one over the inertia
    ratio = by_hand(in_space, in_space.numbers["swap.travel"].value)[2] / by_hand(in_space, 0.0)[2]
    assert abs(ratio - 1.0) > 0.01  # or the last line would say nothing
    for lane in range(8):
        before, after = around(slides, lane)
        places = [slides.at(t, lane, "east", "north", "up") for t in (before, after)]
        names = "velocity_east", "velocity_north", "velocity_up"
        speeds = [slides.at(t, lane, *names) for t in (before, after)]
        assert speeds[1] == pytest.approx(speeds[0], abs=1e-9)
        assert places[1] - places[0] == pytest.approx(speeds[0] * (after - before), abs=1e-9)
        spin = [np.hypot(*slides.rates(t, lane)[1:]) for t in (before, after)]
        assert spin[1] / spin[0] == pytest.approx(ratio, rel=1e-3)


def test_slide__moves_the_centre_of_gravity_as_by_hand(in_space, slides):
    # two bodies on an axis, by parallel axes; seen from the inertial unit, which is on the hull
    mass, cg, _ = by_hand(in_space, 0.0)
    carried = by_hand(in_space, in_space.numbers["swap.travel"].value)[1]
    assert cg - carried == pytest.approx(0.0108, abs=3e-4)
    n = {name: number.value for name, number in in_space.numbers.items()}
    side = n["vehicle.cg_offset"] * n["vehicle.dry_mass"] / mass  # clocking 0: towards body y
    clocking = n["vehicle.cg_offset_clocking"]
    y, z = side * np.cos(clocking), side * np.sin(clocking)
    units = [
        np.array([at - n["inertial.station"], n["inertial.offset_y"] - y,
                  n["inertial.offset_z"] - z]) for at in (carried, cg)
    ]  # fmt: skip
    seen = []
    for time in around(slides, 0):
        place = slides.at(time, 0, "east", "north", "up")
        unit = slides.at(time, 0, "true_unit_east", "true_unit_north", "true_unit_up")
        seen.append((unit - place, rotation(slides.quaternion(time, 0))))
    start = seen[0][1] @ units[0] - seen[0][0]  # where the unit's count begins
    assert seen[1][1].T @ (seen[1][0] + start) == pytest.approx(units[1], abs=1e-6)


def test_swap__keeps_the_common_centre_with_the_casing(in_space):
    # Newton's third law, from before the ejection to after the slide
    flown = fly_eight(
        in_space, changes={"separation_impulse": np.linspace(0.0, 0.7, 8)}, longest=3.0
    )
    stage, end = in_space.numbers["stage.mass"].value, 2.9
    core = flown.at(3.0, 0, "mass")[0]
    for lane in range(8):
        early = flown.outcomes["separation_time"][lane] - 0.1
        start = flown.time[np.searchsorted(flown.time, early)]
        places = [flown.at(t, lane, "east", "north", "up") for t in (start, start + 0.02)]
        drift = (places[1] - places[0]) / 0.02
        assert flown.outcomes["swap_time"][lane] < end
        mine = flown.at(end, lane, "east", "north", "up")
        casing = flown.at(end, lane, "stage_east", "stage_north", "stage_up")
        common = (core * mine + stage * casing) / (core + stage)
        assert common == pytest.approx(places[0] + drift * (end - start), abs=1e-6)


def test_one_mount__is_that_of_the_ascent_motor():
    inputs = flight_inputs({"ascent_gimbal.zero_offset.y": 0.004}, load_scenario(WAGTAIL), 1)[:, 0]
    for name in ("travel", "zero_y", "backlash", "pivot_x"):
        both = [inputs[INPUTS.index(f"{motor}_{name}")] for motor in ("ascent", "landing")]
        assert both[0] == both[1] != 0.0


@pytest.mark.parametrize(("tilt", "worth"), [(20.0, 0.060), (25.0, 0.094), (30.0, 0.134)])
def test_tilt__is_worth_one_minus_its_cosine(tilt, worth):
    # geometry: 6, 9 and 13 % of the vertical impulse
    assert 1.0 - vertical_share(np.radians(tilt)) == pytest.approx(worth, abs=5e-4)


def test_divert__leans_out_and_returns_upright_and_at_rest():
    # a quiet flight: no wind, no noise drawn for it
    scenario = load_scenario(WAGTAIL, sets=list(STILL))
    outcomes, trace = fly_trace(scenario, 1, None, {}, width=8)
    numbers = {name: float(np.ravel(value)[0]) for name, value in outcomes.items()}
    assert 12.0 < np.degrees(numbers["maximum_tilt_burn"]) < 32.0
    assert np.degrees(numbers["tilt"]) < 5.0
    assert numbers["lateral_speed"] < 1.2
    assert numbers["touchdown_speed"] < 3.0
    assert numbers["miss_distance"] < 2.0
    # out and back in: the nose leans one way, then the other
    lit = np.ravel(trace["time"]) > numbers["landing_light_time"]
    y, z = (np.ravel(trace[f"quaternion_{i}"])[lit] for i in (2, 3))
    east = 1.0 - 2.0 * (y * y + z * z)
    assert east.max() > 0.15
    assert east[int(east.argmax()) :].min() < -0.15


def test_divert__closed_loop_beats_open_loop_under_impulse_scatter():
    # paired: the same draws of nothing but the landing motor's impulse
    runs = np.arange(24)
    impulse = np.linspace(0.95, 1.05, 24)
    soft = []
    for path in (WAGTAIL, OPEN_LOOP):
        scenario = load_scenario(path, sets=list(STILL))
        flown = fly_runs(scenario, 1, runs, {"landing_motor.impulse_factor": impulse}, width=8)
        soft.append(flown["touchdown_speed"] < 3.0)  # what the legs take
    closed, opened = soft
    gained, lost = int(np.sum(closed & ~opened)), int(np.sum(opened & ~closed))
    # McNemar's exact test: if neither were better, 8 gained and 1 lost is seen once in 51
    assert gained >= 8
    assert lost <= 1


def test_boost_left__is_nominal_when_the_push_is():
    class Record:
        pass

    settings, memory = Record(), Record()
    settings.tick, settings.boost_push, settings.boost_end = 0.005, 30.0, 1.0
    memory.given_push, memory.force_x, memory.push_ratio = 15.0 - 0.15, 30.0, 1.0
    left = boost_left(0.5, 30.0, 0.0, True, settings, memory)
    assert left == pytest.approx(0.5)
    assert memory.given_push == pytest.approx(15.0)
    # a motor that pushes 4 % harder is taken for 1.4 % more impulse, and is over sooner
    memory.given_push, memory.push_ratio = 15.0 * 1.04 - 0.15, 1.04
    left = boost_left(0.5, 30.0, 0.0, True, settings, memory)
    assert left == pytest.approx((30.0 * 1.014 - 15.6) / (30.0 * 1.04))
