"""Dead reckoning in the whole closed loop: one error of the inertial unit, everything else ideal.

Wind, motors, parting and steering keep their draws; what a single error does to the believed place
must hold on whatever way the vehicle then flies. Sources, from memory: Titterton and Weston,
Strapdown Inertial Navigation Technology (2004), ch. 12; Groves, Principles of GNSS, Inertial, and
Multisensor Integrated Navigation Systems (2013), ch. 5; Woodman, An introduction to inertial
navigation, UCAM-CL-TR-696 (2007).

The closed forms are of first order in the error, so they are off by about half of an attitude
error in radians: 1 % stands for errors up to a degree. The time T runs from the back-dated
lift-off to the last tick before contact, where the flight computer last said where it was.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2

from sim.ensemble.fly_runs import fly_runs
from sim.scenario import load_scenario
from tests.flight.eight import HERON, STANDARD_GRAVITY
from tests.flight.reckoned import (
    DEGREE,
    STRAIGHT,
    TICK,
    UP,
    ideal,
    on_the_launch_pad,
    rotation_vector,
    summed,
    ways,
)
from tests.outside import outside_check

DECLARED = 0.1  # s, by when the flight computer has noticed that it has left
FLOOR = 5e-4  # m, what a unit without errors is off: steps and events inside a tick
AHEAD = np.array([1.0, 0.0, 0.0])
UPRIGHT = on_the_launch_pad(0.0)
FALSE_ALARM = 1e-4  # of each scatter check, both sides together, were it run with a new seed
AXES = ("east", "north", "up")


def share(found, expected, floor=0.0):
    """How far off, beyond a floor, as a share of the size of what is expected."""
    return (np.linalg.norm(found - expected) - floor) / np.linalg.norm(expected)


def three_axes(sensor, values):
    return {f"inertial__{sensor}__{axis}": v for axis, v in zip("xyz", values, strict=True)}


def outcome(way, name):
    return np.array([way.outcomes[f"{name}_{axis}"] for axis in AXES])


def test_ideal_unit__knows_where_it_is():
    for way in ways(ideal('launch_pad.tilt={ half_normal = "0.3 deg" }',
                          "alignment.attitude=measured"), 16):  # fmt: skip
        assert np.abs(way.error[way.time > DECLARED]).max() < FLOOR
        assert np.abs(outcome(way, "attitude_error")).max() < 1e-8
        # what is recorded of it is what the trace shows
        assert way.navigation_error == pytest.approx(way.error[-1], abs=1e-12)
        assert way.ignition_error == pytest.approx(way.error[way.ignition_row], abs=1e-12)


# ---- a constant attitude error -------------------------------------------------------------------


def attitude_error(way):
    """Turn from the true attitude to the one that a plumb vehicle with its compass believes."""
    v = way.values
    heading = v.get("launch_pad.heading", 0.0)
    true = on_the_launch_pad(heading, v["launch_pad.tilt"], v["launch_pad.tilt_direction"])
    return on_the_launch_pad(heading + v["alignment.heading_error"]) @ true.T


def test_attitude_error__turns_the_way_fallen():
    # R4.16 and its form in three axes: th x (r(T) - r(0) + g T^2 / 2 up)
    flights = 24
    flown = ways(
        ideal('launch_pad.tilt={ half_normal = "0.2 deg" }'), flights,
        launch_pad__heading=np.linspace(0.0, 345.0, flights) * DEGREE,
        alignment__heading_error=np.tile([-0.5, 0.5, 0.2, -0.3], flights // 4) * DEGREE,
    )  # fmt: skip
    for way in flown:
        expected = np.cross(rotation_vector(attitude_error(way)), way.fallen)
        assert share(way.navigation_error, expected[-1], FLOOR) < 0.01
        assert share(way.ignition_error, expected[way.ignition_row], FLOOR) < 0.01


def test_attitude_error__of_any_size_all_the_way():
    # the same without leaving out products of angles, so that a tenth of a per cent is enough
    flown = ways(
        ideal('launch_pad.tilt={ half_normal = "0.5 deg" }',
              "alignment.heading_error=0 deg +/- 3 deg"), 16,
    )  # fmt: skip
    for way in flown:
        turn = attitude_error(way)
        expected = way.fallen @ (turn - np.eye(3)).T
        size = np.linalg.norm(expected[-1])
        off = np.abs(way.error - expected)[way.time > DECLARED]
        # where reckoning began is known to a tick
        assert off.max() < 2.0 * TICK / way.time[-1] * size + FLOOR
        assert outcome(way, "attitude_error") == pytest.approx(rotation_vector(turn), rel=1e-3)


def test_attitude_error__two_tenths_of_a_degree_cost_1_71_metres():
    # R4.9: 0.2 deg for 10 s, landing at launch height, 1.7116 m; R4.16: whatever the profile
    scenario = ideal(
        "launch_pad.tilt=0.2 deg", "launch_pad.height=20 mm", "legs.foot_station=1.24 m"
    )
    for way in ways(scenario, 16):
        time = way.time[-1]
        assert way.place[-1, 2] == pytest.approx(0.0, abs=0.05)
        sideways = np.hypot(*way.navigation_error[:2])
        outside_check(
            what="believed place, 0.2 deg unknown, back at launch height, scaled to 10 s",
            source="R4.9 and R4.16, derived; Titterton and Weston (2004), from memory",
            expected=1.7116, got=sideways / (time / 10.0) ** 2, relative=0.01, unit="m",
        )  # fmt: skip


# ---- gyros ---------------------------------------------------------------------------------------


def bias_coefficients(height, time):
    """Of place and velocity for a gyro bias on a way straight up and down; R4.17."""
    g, end = STANDARD_GRAVITY, time[-1]
    speed = (height[-1] - height[-2]) / TICK
    place = g * end**3 / 6.0 + end * height[-1] + end * height[0] - 2.0 * summed(height)[-1]
    return place, g * end**2 / 2.0 + end * speed - height[-1] + height[0]


def test_own_laws__on_the_profile_of_the_tables():
    # z = 60 sin^2(pi t / T), T = 10 s: the numeric checks of R4.17 and R4.18, and R4.12 for hover
    time = np.arange(0.0, 10.0 + 0.5 * TICK, TICK)
    height = 60.0 * np.sin(np.pi * time / 10.0) ** 2
    felt = STANDARD_GRAVITY + 60.0 * 2.0 * (np.pi / 10.0) ** 2 * np.cos(2.0 * np.pi * time / 10.0)
    assert bias_coefficients(height, time)[0] == pytest.approx(1034.4417, abs=1e-3)
    assert walk_coefficients(felt, time) == pytest.approx((481.841, 167.181), abs=2e-3)
    hover = np.full_like(time, STANDARD_GRAVITY)
    assert walk_coefficients(hover, time) == pytest.approx((693.435, 179.044), abs=2e-3)
    assert walk_coefficients(hover, time)[0] * 0.005 * DEGREE == pytest.approx(0.06051, abs=1e-5)


def test_gyro_bias__straight_up_and_down():
    # R4.10 is the hover law b g T^3 / 6; R4.17 the one of a real profile, some 30 % less
    bias = np.random.default_rng(1).normal(0.0, 0.03 * DEGREE, (3, 8))
    bias[0] = 0.0
    flown = ways(
        ideal(*STRAIGHT, "alignment.wait=0 s"), 8, nominal=True, **three_axes("gyro__bias", bias)
    )
    for way, b in zip(flown, bias.T, strict=True):
        place, speed = bias_coefficients(way.place[:, 2], way.time)
        towards = np.cross(UPRIGHT @ b, UP)
        assert place < 0.8 * STANDARD_GRAVITY * way.time[-1] ** 3 / 6.0
        assert share(way.navigation_error, place * towards) < 0.01
        assert share(outcome(way, "navigation_velocity_error"), speed * towards) < 0.01


def test_gyro_bias__on_any_way():
    # the attitude error grows as the integral of C b, and turns what is felt
    bias = np.random.default_rng(2).normal(0.0, 0.03 * DEGREE, (3, 16))
    flown = ways(ideal("alignment.wait=0 s"), 16, **three_axes("gyro__bias", bias))
    for way, b in zip(flown, bias.T, strict=True):
        turned = way.turned(b)
        speed = summed(np.cross(turned, way.felt))
        assert share(outcome(way, "attitude_error"), turned[-1]) < 1e-3
        assert share(outcome(way, "navigation_velocity_error"), speed[-1]) < 0.01
        assert share(way.navigation_error, summed(speed)[-1]) < 0.01


def test_gyro_bias__is_averaged_away_on_the_launch_pad():
    bias = np.random.default_rng(3).normal(0.0, 0.8 * DEGREE, (3, 8))
    for way in ways(ideal("alignment.wait=10 s"), 8, **three_axes("gyro__bias", bias)):
        assert np.abs(way.navigation_error).max() < FLOOR


# ---- accelerometers ------------------------------------------------------------------------------


def test_accelerometer_bias__straight_up_and_down():
    # R4.8: b t^2 / 2, 4.9033 m for 10 mg and 10 s; the nose is a degree off the vertical at times
    bias = np.random.default_rng(4).normal(0.0, 6e-3 * STANDARD_GRAVITY, (3, 8))
    bias[:, 0] = 0.0, 0.01 * STANDARD_GRAVITY, 0.0
    flown = ways(ideal(*STRAIGHT), 8, nominal=True, **three_axes("accelerometer__bias", bias))
    for way, b in zip(flown, bias.T, strict=True):
        expected = UPRIGHT @ b * 0.5 * way.time[-1] ** 2
        assert share(way.navigation_error, expected) < 0.01
    outside_check(
        what="believed place, accelerometer bias of 10 mg, scaled to 10 s",
        source="R4.8, recomputed; Titterton and Weston (2004), from memory", expected=4.9033,
        got=flown[0].navigation_error[0] / (flown[0].time[-1] / 10.0) ** 2, relative=0.01, unit="m",
    )  # fmt: skip


def test_accelerometer_bias__on_any_way():
    bias = np.random.default_rng(5).normal(0.0, 6e-3 * STANDARD_GRAVITY, (3, 16))
    flown = ways(ideal(), 16, **three_axes("accelerometer__bias", bias))
    for way, b in zip(flown, bias.T, strict=True):
        expected = way.reckoned(np.broadcast_to(b, way.place.shape))[-1]
        assert share(way.navigation_error, expected) < 1e-3


def test_accelerometer_scale__stretches_the_height_fallen():
    # R4.13: k g t^2 / 2, 2.4517 m for 0.5 % and 10 s; R4.16: plus k times the height gained
    scale = np.array([-0.008, -0.005, -0.003, -0.001, 0.001, 0.003, 0.005, 0.008])
    flown = ways(ideal(*STRAIGHT), 8, nominal=True, inertial__accelerometer__scale_factor__x=scale)
    for way, k in zip(flown, scale, strict=True):
        hover = k / 0.005 * 2.4517 * (way.time[-1] / 10.0) ** 2
        expected = (hover + k * way.place[-1, 2]) * UP
        assert share(way.navigation_error, expected) < 0.01


# ---- noise ---------------------------------------------------------------------------------------


def walk_coefficients(felt, time):
    """Scatter of place and velocity for each unit of angle random walk; R4.18.

    The square root of the integral over s of [integral from s to T of (T - t) f dt]^2, and the
    same without (T - t).
    """
    later = summed((time[-1] - time) * felt)
    gained = summed(felt)
    place = np.sqrt(summed((later[-1] - later) ** 2)[-1])
    return place, np.sqrt(summed((gained[-1] - gained) ** 2)[-1])


def noisy(*sets, flights=800):
    """The nominal flight straight up and down, and its repetitions that differ in noise alone."""
    still = (*STRAIGHT, "throttle.wander=0")
    nominal = ways(ideal(*still), 8, nominal=True)[0]
    outcomes = fly_runs(ideal(*still, *sets), 7, np.arange(flights), {})
    return nominal, {
        name: np.array([outcomes[f"{name}_{axis}"] for axis in AXES])
        for name in ("navigation_error", "navigation_velocity_error", "attitude_error")
    } | {"longer": outcomes["contact_time"] - nominal.outcomes["contact_time"]}


def assert_scatter(found, expected):
    """Independent normal numbers of mean 0 and these deviations: their squares add to chi^2."""
    scaled = np.ravel(found / expected)
    low, high = chi2.ppf([0.5 * FALSE_ALARM, 1.0 - 0.5 * FALSE_ALARM], scaled.size)
    assert low < np.sum(scaled**2) < high


def test_velocity_random_walk__scatter():
    # R4.11: N sqrt(t), N sqrt(t^3 / 3), 0.01790 m for 100 ug/sqrt(Hz) and 10 s, on any way;
    # a noisy height moves the contact by some hundredths of a second
    nominal, found = noisy("inertial.accelerometer.noise=100 ug/sqrt(Hz)")
    time = nominal.time[-1] + found["longer"]
    walk = 1e-4 * STANDARD_GRAVITY
    assert_scatter(found["navigation_error"], 0.01790 * (time / 10.0) ** 1.5)
    assert_scatter(found["navigation_velocity_error"], walk * np.sqrt(time))


def test_angle_random_walk__scatter():
    # R4.12 is the hover law, R4.18 that of a real profile: 30 % less here; height is untouched
    nominal, found = noisy("inertial.gyro.noise=0.005 deg/s/sqrt(Hz)", "alignment.wait=0 s")
    walk = 0.005 * DEGREE
    place, speed = walk_coefficients(nominal.felt[:, 2], nominal.time)
    assert place < 0.8 * STANDARD_GRAVITY * np.sqrt(nominal.time[-1] ** 5 / 20.0)
    assert np.abs(found["longer"]).max() < TICK
    assert_scatter(found["attitude_error"], walk * np.sqrt(nominal.time[-1]))
    assert_scatter(found["navigation_error"][:2], walk * place)
    assert_scatter(found["navigation_velocity_error"][:2], walk * speed)
    assert np.abs(found["navigation_error"][2]).max() < 0.05 * walk * place


# ---- what the landing makes of it ----------------------------------------------------------------


def test_miss__is_guidance_error_less_navigation_error():
    # with every error of the demo vehicle; the landing points are put together anew from the
    # believed and the true way of the unit and from where the unit and the feet sit
    scenario = load_scenario(HERON)
    n = {name: number.value for name, number in scenario.numbers.items()}
    unit = np.array([-n["inertial.station"], n["inertial.offset_y"], n["inertial.offset_z"]])
    above_aft = unit + n["stage.end"] * AHEAD
    feet = -unit - n["legs.foot_station"] * AHEAD
    mark = np.array([n["landing_pad.east"], n["landing_pad.north"]])
    for way in ways(scenario, 16):
        standing = on_the_launch_pad(
            0.0, way.values["launch_pad.tilt"], way.values["launch_pad.tilt_direction"]
        )
        true = (standing @ above_aft + way.place[-1] + way.attitude[-1] @ feet)[:2]
        start, end = way.believed_attitude[[0, -1]]
        believed = (start @ above_aft + way.believed[-1] + end @ feet)[:2]
        navigation = outcome_sideways(way, "believed_landing_error")
        guidance = outcome_sideways(way, "guidance_error")
        miss = outcome_sideways(way, "miss")
        assert navigation == pytest.approx(believed - true, abs=1e-9)
        # from the last tick to the contact it moves on by less than this
        moved = way.outcomes["lateral_speed"] * TICK * 1.1 + 1e-4
        assert np.linalg.norm(miss - (true - mark)) < moved
        assert np.linalg.norm(guidance - (believed - mark)) < moved
        assert miss == pytest.approx(guidance - navigation, abs=1e-12)


def outcome_sideways(way, name):
    return np.array([way.outcomes[f"{name}_{axis}"] for axis in AXES[:2]])
