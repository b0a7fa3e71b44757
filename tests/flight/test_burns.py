"""Burning motors and a dropped stage in the whole flight loop, in empty space."""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.fly_runs import load_computer
from sim.ensemble.prepare import flight_inputs
from sim.flight_records import INPUTS
from sim.scenario import load_scenario
from tests.flight.eight import HERON, STANDARD_GRAVITY, burning, fly_eight, rotation
from tests.outside import outside_check

CENTRE = -0.25  # m, body coordinate of the centre of gravity of the body in brick.toml


def around_centre(flow_inputs, mass, exit_arm=0.5):
    """A grain whose centre is the vehicle's, so that the centre of gravity stays where it is."""
    grain = flow_inputs["ascent_propellant"]
    return flow_inputs | {
        "stack_mass": mass - grain, "stack_x": CENTRE, "ascent_propellant_x": CENTRE,
        "ascent_exit_x": CENTRE - exit_arm, "ascent_pivot_x": CENTRE - exit_arm,
    }  # fmt: skip


def test_jet_damping__of_pitch_and_spin():
    # Thomson, Introduction to Space Dynamics (1961), ch. 8, and Rott and Pottsepp, AIAA J. 2
    # (1964) 764 (from memory); R1.10: I = I0 - mu kp^2 t, w / w0 = (I / I0)^(le^2 / kp^2 - 1)
    flow, arm, gyration, inertia = 0.05, 0.5, 0.05, 0.15
    curve, motor = burning(thrust=20.0, flow=flow)
    grain = motor["ascent_propellant"]
    spin_inertia, spin_gyration, exit_gyration = 0.02, 0.04, 0.06
    lanes = np.arange(8)
    changes = around_centre(motor, mass=20.0, exit_arm=arm) | {
        "ascent_gyration_transverse": gyration**2, "ascent_gyration_axial": spin_gyration**2,
        "ascent_exit_gyration": exit_gyration**2,
        "stack_jyy": inertia - grain * gyration**2, "stack_jzz": inertia - grain * gyration**2,
        "stack_jxx": spin_inertia - grain * spin_gyration**2,
        "start_rate_x": np.where(lanes == 2, 1.0, 0.0),
        "start_rate_y": np.where(lanes == 0, 1.0, 0.0),
        "start_rate_z": np.where(lanes == 1, 1.0, 0.0),
    }  # fmt: skip
    flown = fly_eight(changes=changes, longest=3.0, curves={"ascent_curve": curve})
    source = "Thomson (1961) ch. 8; Rott and Pottsepp (1964); R1.10, from memory"
    outside_check(
        what="rates left by 3 s of jet damping, about y and z", source=source,
        expected=[0.780508310, 0.780508310],
        got=[flown.at(3.0, 0, "rate_y")[0], flown.at(3.0, 1, "rate_z")[0]], tolerance=1e-8,
        unit="rad/s",
    )  # fmt: skip
    left = (spin_inertia - flow * spin_gyration**2 * 3.0) / spin_inertia
    expected = left ** (exit_gyration**2 / spin_gyration**2 - 1.0)
    outside_check(
        what="spin left by 3 s of jet damping", source=source, expected=[expected],
        got=flown.at(3.0, 2, "rate_x"), tolerance=1e-8, unit="rad/s",
    )  # fmt: skip


def test_rocket_equation__speed_height_and_mass():
    source = "rocket equation with gravity; R11.7, derived"
    curve, motor = burning(thrust=25.0, flow=0.02, seconds=10.0)
    grain = motor["ascent_propellant"]
    aft = np.where(np.arange(8) == 1, CENTRE - 0.4, CENTRE)  # lane 1: the centre creeps forward
    changes = around_centre(motor, mass=1.5) | {
        "ascent_propellant_x": aft, "start_rate_x": 0.0, "start_rate_y": 0.0,
        "gravity": STANDARD_GRAVITY, "start_velocity_up": -20.0,
    }  # fmt: skip
    flown = fly_eight(changes=changes, longest=3.0, curves={"ascent_curve": curve})
    for lane in (0, 1):
        grain_at = ("at the centre", "aft")[lane]
        outside_check(
            what=f"velocity after 2 s of burning, grain {grain_at}", source=source,
            expected=[-5.827460], got=flown.at(2.0, lane, "velocity_up"), tolerance=2e-6,
            unit="m/s",
        )  # fmt: skip
        # the hull's own way, whatever the centre of gravity does inside it
        outside_check(
            what=f"way of the hull in 2 s of burning, grain {grain_at}", source=source,
            expected=[-25.979655], got=flown.at(2.0, lane, "true_unit_up"), tolerance=2e-6,
            unit="m",
        )  # fmt: skip
    assert flown.at(2.0, 0, "up") - 1000.0 == pytest.approx([-25.979655], abs=2e-6)
    creep = 0.02 * 2.0 * 0.4 * (1.5 - grain) / (1.5 * (1.5 - 0.04))
    hull_and_creep = flown.at(2.0, 1, "true_unit_up") + creep
    assert flown.at(2.0, 1, "up") - 1000.0 == pytest.approx(hull_and_creep, abs=1e-7)
    rising = int(np.flatnonzero(flown["velocity_up"][:, 0] > 0.0)[0])
    speed = flown["velocity_up"][rising - 1 : rising + 1, 0]
    stop = flown.time[rising - 1] - speed[0] * 0.005 / (speed[1] - speed[0])
    outside_check(
        what="time until the burn has stopped the sinking", source=source, expected=2.786480,
        got=stop, tolerance=1e-5, unit="s",
    )  # fmt: skip
    after = 0.005 - 0.0025  # a row shows the mass in the middle of its last step
    mass = flown["mass"][rising, 0] + 0.02 * (flown.time[rising] - after - stop)
    outside_check(
        what="mass left then", source=source, expected=1.444270, got=mass, tolerance=1e-6,
        unit="kg",
    )  # fmt: skip


@pytest.fixture(scope="module")
def heron_in_space():
    """The heron let go turning in empty space; it burns, and drops its stage by the clock."""
    return load_scenario(
        HERON,
        sets=[
            "flight_computer.kind=none", "site.gravity=none", "aerodynamics.law=none",
            "start.mode=free", "start.height=500 m", "start.rate_y=20 deg/s",
            "start.rate_z=-10 deg/s", "start.rate_x=30 deg/s", "start.velocity_east=3 m/s",
            "stage.impulse=0.12 N s", "stage.side_rate=0 deg/s",
        ],
    )  # fmt: skip


def number(scenario, name):
    return scenario.numbers[name].value


def test_burn_out__mass_is_what_is_left(heron_in_space):
    flown = fly_eight(heron_in_space, longest=3.5)
    dry = number(heron_in_space, "vehicle.dry_mass")
    landing = number(heron_in_space, "landing_motor.propellant_mass")
    stage = number(heron_in_space, "stage.mass")
    assert flown.at(2.4, 0, "mass") == pytest.approx([dry + landing + stage], rel=1e-12)
    assert flown.at(3.5, 0, "mass") == pytest.approx([dry + landing], rel=1e-14)


def test_parting__keeps_momentum_and_the_common_centre(heron_in_space):
    # Newton's third law: what the push gives one it takes from the other
    side = np.array([0.0, 0.0, 0.12, 0.12, 0.3, 0.3, 0.0, 0.5])
    delay = np.array([0.0600, 0.0613, 0.0625, 0.0637, 0.0649, 0.0611, 0.0624, 0.0600])
    flown = fly_eight(
        heron_in_space,
        changes={"separation_impulse": side, "separation_delay": delay}, longest=3.5,
    )  # fmt: skip
    stage = number(heron_in_space, "stage.mass")
    core = flown.at(3.4, 0, "mass")[0]
    for lane in range(8):
        parted = flown.outcomes["separation_time"][lane]
        before, after = parted - 0.1, 3.4
        before = flown.time[np.searchsorted(flown.time, before)]
        whole = [flown.at(t, lane, "east", "north", "up") for t in (before, before + 0.02)]
        drift = (whole[1] - whole[0]) / 0.02
        # nothing acts from outside: the common centre of gravity goes straight on
        expected = whole[0] + drift * (after - before)
        centre = core * flown.at(after, lane, "east", "north", "up")
        centre = centre + stage * flown.at(after, lane, "stage_east", "stage_north", "stage_up")
        assert centre / (core + stage) == pytest.approx(expected, abs=1e-6)
        ways = [
            flown.at(t, lane, "stage_east", "stage_north", "stage_up") for t in (after, after + 0.1)
        ]
        speed = (ways[1] - ways[0]) / 0.1
        mine = flown.at(after, lane, "velocity_east", "velocity_north", "velocity_up")
        total = (core * mine + stage * speed) / (core + stage)
        assert total == pytest.approx(drift, abs=1e-9)


def test_parting__pushes_the_two_apart(heron_in_space):
    # impulse over mass, each along the axis of that moment
    pushed = fly_eight(
        heron_in_space, changes={"separation_impulse": np.linspace(0.0, 0.7, 8)}, longest=3.0
    )
    core = pushed.at(3.0, 0, "mass")[0]
    names = "velocity_east", "velocity_north", "velocity_up"
    still = pushed.at(3.0, 0, *names)
    row = pushed.row(2.53)
    assert pushed.outcomes["separation_time"] == pytest.approx(np.full(8, 2.53), abs=0.01)
    q = [pushed[f"quaternion_{i}"][row, 0] for i in range(4)]
    for lane in range(1, 8):
        gained = pushed.at(3.0, lane, *names) - still
        assert gained @ rotation(q)[:, 0] * core == pytest.approx(0.1 * lane, rel=2e-4)


def test_motor__turns_the_vehicle_where_its_line_points():
    # a line of thrust that leans by (cos, sin) of the clocking gives the force that side and turns
    # the nose the other way; an offset line turns about the centre of gravity: moment = arm x force
    curve, motor = burning(thrust=30.0, flow=1e-9)
    lean = 0.01
    lanes = np.arange(8)
    changes = around_centre(motor, mass=2.0) | {
        "stack_jxx": 0.004, "stack_jyy": 0.12, "stack_jzz": 0.12,
        "ascent_angle_y": np.where(lanes == 1, -lean, 0.0),  # leans towards body z
        "ascent_angle_z": np.where(lanes == 0, lean, 0.0),  # leans towards body y
        "ascent_offset_y": np.where(lanes == 2, 0.003, 0.0),
        "ascent_offset_z": np.where(lanes == 3, 0.003, 0.0),
    }  # fmt: skip
    flown = fly_eight(
        changes=changes | {"start_rate_x": 0.0, "start_rate_y": 0.0}, longest=0.005,
        curves={"ascent_curve": curve},
    )  # fmt: skip
    rates = np.array([flown.rates(0.005, lane) for lane in range(4)]) / 0.005
    force = 30.0
    arm = np.array([-0.5, 0.0, 0.0])
    leans = ([0.0, lean, 0.0], [0.0, 0.0, lean])
    for lane, side in enumerate(leans):
        moment = np.cross(arm, force * np.array([1.0, 0.0, 0.0]) + force * np.array(side))
        assert rates[lane] * 0.12 == pytest.approx(moment, abs=1e-6)
    for lane, offset in ((2, [0.0, 0.003, 0.0]), (3, [0.0, 0.0, 0.003])):
        moment = np.cross(arm + offset, [force, 0.0, 0.0])
        assert rates[lane] * 0.12 == pytest.approx(moment, abs=1e-6)


def test_scenario__misalignment_clocking_is_from_y_towards_z():
    scenario = load_scenario(HERON)
    inputs = flight_inputs(
        {
            "ascent_motor.misalignment": 0.01,
            "ascent_motor.misalignment_clocking": np.array([0.0, np.pi / 2.0]),
        },
        scenario,
        2,
    )
    angle_y, angle_z = (inputs[INPUTS.index(f"ascent_angle_{axis}")] for axis in "yz")
    # thrust along (1, angle_z, -angle_y)
    assert angle_z == pytest.approx([0.01, 0.0], abs=1e-12)
    assert -angle_y == pytest.approx([0.0, 0.01], abs=1e-12)


def test_computer__loads_once_for_a_scenario():
    scenario = load_scenario(HERON)
    assert load_computer(scenario) is load_computer(scenario)
