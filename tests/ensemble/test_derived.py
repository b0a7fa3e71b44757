"""Derived figures against textbook problems that a scenario can be reduced to."""

import math
from pathlib import Path

import numpy as np
import pytest

from sim.avionics.landing_plan import Vehicle, boost_reserve, plan_landing
from sim.ensemble.derived import derive, impulse_class
from sim.ensemble.plumb_flight import body_of
from sim.scenario import load_scenario
from tests.outside import outside_check

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"


@pytest.fixture(scope="module")
def heron():
    return load_scenario(HERON)


def figures(scenario):
    derived = derive(scenario)
    return {f.name: f for group in derived.groups.values() for f in group}, derived.cautions


@pytest.mark.parametrize(
    ("impulse", "letter"),
    [(0.5, "1/4A"), (1.25, "1/2A"), (2.5, "A"), (2.51, "B"), (40.0, "E"), (40.01, "F"),
     (80.0, "F"), (160.0, "G"), (40960.0, "O"), (50000.0, "beyond O")],
)  # fmt: skip
def test_impulse_class__upper_limit_belongs_to_it(impulse, letter):
    """Reference R7.1: NFPA 1125, classes of total impulse."""
    assert impulse_class(impulse) == letter


def test_motor__triangle_of_thrust():
    """Reference R7.2: a triangle of base T burns for 0.95 T and gives F T / 2 (NFPA 1125)."""
    curve = "landing_motor.curve=[[0.0, 0.0], [1.0, 40.0], [2.5, 20.0], [4.0, 0.0]]"
    fixed = 'landing_motor.temperature_sensitivity="0 1/K"'  # a cold grain burns longer
    found, _ = figures(load_scenario(HERON, [curve, fixed]))
    source = "NFPA 1125, by a maker's note; R7.2"
    outside_check(
        what="impulse of a triangle of thrust, 40 N, 4 s", source=source, expected=80.0,
        got=found["landing_total_impulse"].value, relative=1e-9, unit="N s",
    )  # fmt: skip
    outside_check(
        what="burn time of a triangle of thrust, base 4 s", source=source, expected=3.8,
        got=found["landing_burn_time"].value, relative=1e-9, unit="s",
    )  # fmt: skip
    assert "class F" in found["landing_total_impulse"].note


def test_velocity__against_the_rocket_equation(heron):
    """Tsiolkovsky: exhaust speed times the logarithm of the mass ratio; R11.7."""
    found, _ = figures(heron)
    numbers = heron.numbers
    dry = numbers["vehicle.dry_mass"].value
    burnt = numbers["landing_motor.propellant_mass"].value
    exhaust = found["landing_total_impulse"].value / burnt
    outside_check(
        what="velocity that the landing motor can remove, in vacuum",
        source="rocket equation; R11.7, derived",
        expected=exhaust * math.log((dry + burnt) / dry), got=found["velocity_removable"].value,
        relative=1e-9, unit="m/s",
    )  # fmt: skip


@pytest.mark.parametrize("sink", [16.0, 24.0])
def test_boost_reserve__in_a_vacuum_is_impulse_less_gravity(sink):
    """By hand: v - integral of (push - g) is left at the end of the boost; the rest is reserve."""
    push = np.where(np.arange(301) < 100, 30.0, 11.0)  # 1 s of boost, 2 s of weak part
    vehicle = Vehicle(push, 0.01, 1.0, 0.0, 9.81, 0.1, 1.0)
    plan = plan_landing(vehicle)
    handed_over = 1.0 + plan.sustain_slowing * plan.sustain_plan
    left = sink - (30.0 - 9.81) * plan.boost_end
    assert boost_reserve(vehicle, sink) == pytest.approx(handed_over - left, abs=0.2)
    more = boost_reserve(vehicle, sink + 3.0)
    assert boost_reserve(vehicle, sink) - more == pytest.approx(3.0, abs=1e-9)


def test_boost_reserve__a_level_motor_has_none():
    level = Vehicle(np.full(301, 20.0), 0.01, 1.0, 0.0, 9.81, 0.1, 1.0)
    assert math.isnan(boost_reserve(level, 9.0))


def test_authority__thrust_times_arm_over_inertia(heron):
    found, _ = figures(heron)
    wide = heron.with_values({"landing_gimbal.travel": math.radians(3.0)})
    narrow, _ = figures(wide)
    ratio = math.sin(math.radians(3.0)) / math.sin(heron.numbers["landing_gimbal.travel"].value)
    assert narrow["landing_gimbal_authority"].value == pytest.approx(
        found["landing_gimbal_authority"].value * ratio, rel=1e-9
    )


def test_stability__falls_tail_first_only_with_petals(heron):
    found, cautions = figures(heron)
    assert found["stability_tail_first"].value > 0.0
    assert not any("Tail first" in text for text in cautions)
    bare, cautions = figures(heron.with_values({"petals.drag_area": "0 m2"}))
    assert bare["stability_tail_first"].value < 0.0
    assert any("Tail first" in text and "doubles in" in text for text in cautions)


def test_margins__a_slow_loop_warns_of_nothing_and_a_quick_one_does(heron):
    _, cautions = figures(heron.with_values({"flight_computer.bandwidth": 4.0}))
    assert not any("loop" in text for text in cautions)
    _, cautions = figures(heron.with_values({"flight_computer.bandwidth": 25.0}))
    assert any("loop" in text for text in cautions)


def test_plumb_flight__in_a_vacuum_is_ballistic(heron):
    """Free start at rest, no air: falls sqrt(2 g h) to the light."""
    airless = load_scenario(
        HERON,
        ['start.mode="free"', 'start.height="60 m"', 'aerodynamics.law="none"',
         'flight_computer.ignition="height"', 'flight_computer.ignition_height="20 m"',
         'landing_motor.ignition_delay="0 s"', 'site.gravity="standard"'],
    )  # fmt: skip
    found, _ = figures(airless)
    height = found["plumb_ignition_height"].value
    assert height == pytest.approx(20.0, abs=0.05)
    # from the height of the centre of gravity at the start to that at the light
    numbers = airless.numbers
    f = {"core_mass": numbers["vehicle.dry_mass"].value, "core_x": -numbers["vehicle.cg"].value,
         "core_jyy": 0.1, "legs_shift": 0.0,
         "landing_propellant": numbers["landing_motor.propellant_mass"].value,
         "landing_propellant_x": -numbers["landing_motor.propellant_cg"].value,
         "landing_gyration_transverse": 0.0}  # fmt: skip
    body = body_of(f, staged=False, propellant={"landing": 1.0})
    fallen = 60.0 - (height + numbers["legs.foot_station"].value - body.station)
    assert found["plumb_ignition_sink_rate"].value == pytest.approx(
        math.sqrt(2 * 9.80665 * fallen), rel=1e-3
    )


def test_check__a_motor_too_weak_to_lift_is_named(heron):
    _, cautions = figures(heron.with_values({"ascent_motor.impulse_factor": 0.2}))
    assert any("without lifting off" in text for text in cautions)


def test_reversed_gimbal__is_warned_of():
    def cautions(*sets):
        return " ".join(figures(load_scenario(HERON, sets))[1])

    assert "landing gimbal is reversed" in cautions("faults.gimbal_reversed.forced=true")
    assert "ascent gimbal is reversed" in cautions(
        "faults.gimbal_reversed.forced=true", "faults.gimbal_reversed.mount=ascent"
    )
    assert "reversed" not in cautions("faults.gimbal_reversed.happens=0.1")
