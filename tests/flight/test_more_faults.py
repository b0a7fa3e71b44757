"""Stiff cables, a recessed light, levelling out, holding, and a parachute's drift, in flight."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim.ensemble.fault_fields import NEVER, cables
from sim.ensemble.fly_runs import fly_runs
from sim.ensemble.prepare import flight_inputs
from sim.flight_records import INPUTS
from sim.scenario import load_scenario
from tests.flight.eight import HERON, fly_eight

DEGREE = np.pi / 180.0
CALM = ["wind.speed=0 m/s", "wind.turbulence=none"]
WAGTAIL = HERON.with_name("wagtail.toml")


def inputs_of(scenario, changes):
    inputs = dict(zip(INPUTS, flight_inputs({}, scenario, 8), strict=True))
    return {name: np.broadcast_to(value, inputs[name].shape) for name, value in changes.items()}


# ---- cables --------------------------------------------------------------------------------------

TORQUE, BAND = 0.25, 2.0 * DEGREE
STIFFNESS = np.array([0.0, 1.0, 3.0, 6.0, 12.0, 25.0, 3.0, 0.0])


@pytest.fixture(scope="module")
def cabled():
    """Mount told, by its zero, to stand at an angle, its servo against cables of eight kinds."""
    scenario = load_scenario(HERON, [
        *CALM, "flight_computer.kind=none", "flight_computer.ignition_time=30 s",
        "ascent_gimbal.backlash=0 deg", "ascent_gimbal.resolution=0 deg",
    ])  # fmt: skip
    found = cables("ascent", STIFFNESS, TORQUE, BAND)
    goal = np.array([4.0, 4.0, 4.0, 4.0, 4.0, 4.0, -4.0, 1.0]) * DEGREE
    changes = {
        **{name: found[name] for name in ("ascent_servo_band", "ascent_servo_cable")},
        "ascent_zero_y": goal, "ascent_zero_z": 0.0,
    }  # fmt: skip
    return fly_eight(scenario, inputs_of(scenario, changes), longest=1.0), goal


def test_cable__equilibrium_is_the_servos_torque_against_the_spring(cabled):
    # by hand: torque K (goal - angle) up to Q, with K = Q / b, against k angle
    flown, goal = cabled
    servo = TORQUE / BAND
    wanted = goal * servo / (servo + STIFFNESS)
    short = np.abs(goal - wanted) > BAND
    reachable = np.sign(goal) * TORQUE / np.maximum(STIFFNESS, 1e-9)
    wanted = np.where(short, reachable, wanted)
    assert list(short) == [False, False, False, False, True, True, False, False]
    at = flown.at(0.9, slice(None), "gimbal_y")[0]
    assert at == pytest.approx(wanted, abs=1e-4 * DEGREE)


def test_cable__lags_as_its_equation_of_motion_says(cabled):
    """SciPy's own solution of the servo's equation, from rest, before anything has moved."""
    flown, goal = cabled
    number = load_scenario(HERON).numbers
    wn = number["ascent_gimbal.natural_frequency"].value
    zeta, rate = (number[f"ascent_gimbal.{k}"].value for k in ("damping", "rate"))
    for lane in (1, 3, 5):
        def motion(_, y, lane=lane):
            speed = np.clip(y[1], -rate, rate)
            pull = np.clip(goal[lane] - y[0], -BAND, BAND) - STIFFNESS[lane] * BAND / TORQUE * y[0]
            return [speed, wn**2 * pull - 2.0 * zeta * wn * speed]

        times = np.arange(1, 8) * 0.005
        solved = solve_ivp(motion, (0.0, times[-1]), [0.0, 0.0], t_eval=times, rtol=1e-9,
                           atol=1e-12, max_step=1e-3)  # fmt: skip
        flown_at = [flown.at(t, lane, "gimbal_y")[0] for t in times]
        assert np.ravel(flown_at) == pytest.approx(solved.y[0], abs=0.02 * DEGREE)


# ---- recessed ------------------------------------------------------------------------------------


def test_swap__with_contact_it_fires_recessed_and_without_it_never_lights():
    scenario = load_scenario(WAGTAIL, [
        *CALM, "faults.stage_hangs_on.forced=true", "faults.stage_hangs_on.frees=0",
        "faults.stage_hangs_on.thrust_lost=0.4", "faults.stage_hangs_on.side_angle=2 deg",
    ])  # fmt: skip
    changes = {"recess_contact": np.array([0.0, 1.0] * 4)}
    flown = fly_eight(scenario, inputs_of(scenario, changes), longest=11.0)
    lit = flown.outcomes["landing_light_time"]
    assert np.isnan(lit[0])
    assert lit[1] > 0.0
    end = flown.outcomes["contact_time"]
    # braked by less than a sound one, but braked, with the casing and its mass aboard
    assert flown.outcomes["touchdown_speed"][1] < flown.outcomes["touchdown_speed"][0]
    assert np.isnan(flown.outcomes["separation_time"][:2]).all()
    assert end[1] > end[0]


def test_swap__one_that_frees_itself_has_its_mount_back():
    """Thrust shared out by hand: 0.6 of it while recessed, all of it once slid into its place."""
    scenario = load_scenario(WAGTAIL, [
        *CALM, "flight_computer.kind=none", "flight_computer.ignition_time=2.5 s",
        "aerodynamics.law=none", "site.gravity=none", "start.mode=free", "start.height=800 m",
        "swap.slide_time=50 ms", "stage.impulse=0 N s", "stage.side_rate=0 deg/s",
        "vehicle.cg_offset=0 mm",
    ])  # fmt: skip
    parted = np.array([0.1, NEVER, 0.7, 0.7, 0.1, 0.1, 0.1, 0.1])
    changes = {"separation_delay": parted, "recess_contact": 1.0, "recess_share": 0.4,
               "ascent_delay": NEVER}  # fmt: skip
    flown = fly_eight(scenario, inputs_of(scenario, changes), longest=4.5)

    def pushed(lane, start, end):
        names = ("velocity_east", "velocity_north", "velocity_up")
        gained = np.array(flown.at(end, lane, *names)) - np.array(flown.at(start, lane, *names))
        mass = 0.5 * (flown.at(start, lane, "mass")[0] + flown.at(end, lane, "mass")[0])
        return float(np.linalg.norm(gained)) * float(mass)

    light = flown.outcomes["landing_light_time"][0]
    late = flown.outcomes["swap_time"][2]
    assert light + 0.1 < late < light + 0.8
    whole, stuck = pushed(0, light + 0.1, light + 0.3), pushed(1, light + 0.1, light + 0.3)
    assert stuck / whole == pytest.approx(0.6, rel=0.02)
    whole, freed = pushed(0, late + 0.05, late + 0.2), pushed(2, late + 0.05, late + 0.2)
    assert freed / whole == pytest.approx(1.0, rel=0.02)


# ---- what the flight computer does ---------------------------------------------------------------


def test_level_out__holds_the_nose_up_under_a_motor_that_lights_yet():
    """A motor that lights after it was given up: held upright, or left alone."""
    found = {}
    for response in ("do_not_light", "level_out"):
        scenario = load_scenario(HERON, [
            "flight_computer.check_light=true", "flight_computer.light_wait=0.2 s",
            f"flight_computer.on_fault={response}", "flight_computer.ignition_margin=8 m",
        ])  # fmt: skip
        found[response] = fly_runs(
            scenario, 1, np.arange(16), {"landing_motor.ignition_delay": np.full(16, 0.4)}, width=8
        )
    tilt = {name: np.median(out["maximum_tilt_burn"]) for name, out in found.items()}
    assert tilt["level_out"] < 25.0 * DEGREE < tilt["do_not_light"]


def test_hold__an_open_landing_igniter_keeps_it_on_the_launch_pad():
    scenario = load_scenario(HERON, [
        *CALM, "flight_computer.hold=true", "faults.landing_no_light.forced=true",
    ])  # fmt: skip
    opened = {"faults.landing_no_light.open_circuit": np.array([1.0, 0.0] * 4)}
    flown = fly_runs(scenario, 1, np.arange(8), opened, width=8)
    assert list(np.isnan(flown["lift_off_time"])) == [True, False] * 4


def test_unloading__gives_the_wheels_momentum_back_exponentially():
    """dh/dt = -k h while the motor pushes: by exp(-k t); without it they stay as they are."""
    rate, found = 3.0, {}
    for k in (0.0, rate):
        scenario = load_scenario(WAGTAIL, [f"flight_computer.wheel_unload={k} 1/s"])
        # held against wind, the wheels are full of momentum
        flown = fly_eight(scenario, inputs_of(scenario, {"wind_speed": 3.5}), longest=11.0)
        lit = flown.outcomes["landing_light_time"]
        start = np.ceil((lit + 0.1) / 0.005) * 0.005
        names = ("wheel_y", "wheel_z")
        held = [[flown.at(round(t + dt, 6), lane, *names) for lane, t in enumerate(start)]
                for dt in (0.0, 0.4)]  # fmt: skip
        found[k] = np.linalg.norm(held, axis=2)
    assert np.all(found[0.0][0] > 1e-3)
    assert found[0.0][1] == pytest.approx(found[0.0][0], rel=1e-6)
    assert found[rate][1] / found[rate][0] == pytest.approx(np.exp(-0.4 * rate), rel=0.02)


# ---- parachute -----------------------------------------------------------------------------------


def test_parachute__sinks_at_terminal_speed_and_drifts_with_the_wind():
    """m g = rho v^2 (S + vehicle) / 2, and a way of wind times time; its pull by the same law."""
    area, wind = 2.0, 3.0
    scenario = load_scenario(HERON, [
        f"parachute.drag_area={area} m2", "wind.turbulence=none", f"wind.speed={wind} m/s",
        "wind.exponent=0", "wind.direction=270 deg", "flight_computer.check_continuity=true",
        "faults.landing_no_light.forced=true", "faults.landing_no_light.open_circuit=1",
        "site.gravity=normal", "petals.drag_area=0 m2",
    ])  # fmt: skip
    flown = fly_eight(scenario, {}, longest=20.0)
    out = {name: value[0] for name, value in flown.outcomes.items()}
    end = out["contact_time"]
    start, late = (round((end - before) / 0.005) * 0.005 for before in (1.0, 0.1))
    assert out["parachute_time"] < start - 1.5
    sink = -flown.at(start, 0, "velocity_up")[0]
    mass = flown.at(start, 0, "mass")[0]
    density = 1.2
    assert sink == pytest.approx(np.sqrt(2.0 * mass * 9.807 / (density * area)), rel=0.04)
    way = flown.at(late, 0, "east")[0] - flown.at(start, 0, "east")[0]
    assert way == pytest.approx(wind * (late - start), rel=0.1)
    # the largest pull, from the trace: the area grows in a straight line from the line's stretch on
    number = scenario.numbers["parachute.filling_time"].value
    air = np.hypot(
        np.hypot(flown["velocity_east"][:, 0] - wind, flown["velocity_north"][:, 0]),
        flown["velocity_up"][:, 0],
    )
    share = np.clip((flown.time - out["parachute_time"]) / number, 0.0, 1.0)
    pull = np.where(flown.time < end, 0.5 * density * air**2 * area * share, 0.0)
    assert out["parachute_load"] == pytest.approx(pull.max(), rel=0.04)
    assert out["parachute_load"] > mass * 9.807
