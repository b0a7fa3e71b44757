"""From scenario numbers to the kernel's inputs, against hand arithmetic and heaps of points."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sim.ensemble.prepare import flight_inputs
from sim.ensemble.thrust_curves import reduced_curve
from sim.errors import UserMistake
from sim.flight_records import INPUTS
from sim.scenario import load_scenario
from tests.outside import outside_check

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"


@pytest.fixture(scope="module")
def heron():
    return load_scenario(HERON)


def fields(scenario, **values):
    """Inputs of one flight by name; a double underscore stands for a dot."""
    drawn = {name.replace("__", "."): value for name, value in values.items()}
    return dict(zip(INPUTS, flight_inputs(drawn, scenario, 1)[:, 0], strict=True))


def test_inputs__are_all_finite_and_of_every_flight(heron):
    drawn = {"vehicle.dry_mass": np.array([1.2, 1.3, 1.4])}
    table = flight_inputs(drawn, heron, 3)
    assert table.shape == (len(INPUTS), 3)
    assert np.all(np.isfinite(table))
    assert table[INPUTS.index("core_mass")] == pytest.approx([1.2, 1.3, 1.4])
    for i in range(3):
        alone = flight_inputs({"vehicle.dry_mass": drawn["vehicle.dry_mass"][i : i + 1]}, heron, 1)
        assert np.all(alone[:, 0] == table[:, i])


def point_tensor(bodies):
    """Mass, centre and tensor of bodies (mass, place, own tensor), by the parallel-axis theorem."""
    total = sum(m for m, _, _ in bodies)
    centre = sum(m * np.asarray(at) for m, at, _ in bodies) / total
    inertia = np.zeros((3, 3))
    for m, at, own in bodies:
        d = np.asarray(at) - centre
        inertia += own + m * ((d @ d) * np.eye(3) - np.outer(d, d))
    return total, centre, inertia


def test_bodies__stack_is_core_and_stage(heron):
    values = {
        "vehicle__dry_mass": 1.3, "vehicle__cg": 0.55, "vehicle__cg_offset": 0.004,
        "vehicle__cg_offset_clocking": 0.8, "vehicle__axial_inertia": 0.0015,
        "vehicle__transverse_inertia": 0.1, "vehicle__transverse_asymmetry": 0.05,
        "vehicle__product_inertia": 3e-4, "stage__mass": 0.25, "stage__cg": 1.09,
        "stage__axial_inertia": 2e-4, "stage__transverse_inertia": 9e-4,
    }  # fmt: skip
    p = fields(heron, **values)
    # a product of inertia is the integral of x z over the mass, the tensor's element minus that
    own = np.array([[0.0015, 0.0, -3e-4], [0.0, 0.105, 0.0], [-3e-4, 0.0, 0.095]])
    place = [-0.55, 0.004 * np.cos(0.8), 0.004 * np.sin(0.8)]
    core = (1.3, place, own)
    stage = (0.25, [-1.09, 0.0, 0.0], np.diag([2e-4, 9e-4, 9e-4]))
    for name, bodies in (("core", [core]), ("stack", [core, stage])):
        mass, centre, j = point_tensor(bodies)
        found = [p[f"{name}_{key}"] for key in ("mass", "x", "y", "z")]
        assert found == pytest.approx([mass, *centre], rel=1e-14)
        found = [p[f"{name}_j{key}"] for key in ("xx", "yy", "zz", "xy", "xz", "yz")]
        expected = [j[0, 0], j[1, 1], j[2, 2], j[0, 1], j[0, 2], j[1, 2]]
        assert found == pytest.approx(expected, rel=1e-12, abs=1e-18)


def test_motor__scales_keep_the_impulse(heron):
    p = fields(
        heron, landing_motor__impulse_factor=1.03, landing_motor__burn_time_factor=0.9,
        landing_motor__label_bias=-0.01, landing_motor__grain_temperature=310.0,
        landing_motor__reference_temperature=290.0, landing_motor__temperature_sensitivity=0.002,
    )  # fmt: skip
    curve = reduced_curve(heron, "landing_motor")
    # Sutton and Biblarz, ch. 12 (from memory); R7.9: 0.2 %/K over 20 K is 4.08 % of thrust
    assert np.exp(0.002 * 20.0) - 1.0 == pytest.approx(0.0408, abs=5e-5)
    assert p["landing_time_scale"] == pytest.approx(0.9 / np.exp(0.04), rel=1e-14)
    impulse = p["landing_thrust_scale"] * p["landing_time_scale"]
    assert impulse == pytest.approx(1.03 * 0.99, rel=1e-14)
    assert p["landing_total"] == pytest.approx(1.03 * 0.99 * curve.total_impulse, rel=1e-14)
    area = np.trapezoid(curve.knots[:, 1], curve.knots[:, 0])
    assert p["landing_total"] == pytest.approx(impulse * area, rel=1e-12)


def test_motor__grain_is_a_solid_cylinder(heron):
    p = fields(heron, ascent_motor__grain_length=0.08, ascent_motor__grain_diameter=0.03)
    # moments by the sum over thin discs
    x = (np.arange(2000) + 0.5) / 2000 * 0.08 - 0.04
    assert p["ascent_gyration_axial"] == pytest.approx(0.015**2 / 2.0)
    disc = 0.015**2 / 4.0
    assert p["ascent_gyration_transverse"] == pytest.approx(disc + np.mean(x**2), rel=1e-6)


def test_air__density_from_the_field_readings(heron):
    p = fields(heron, site__temperature=300.0, site__pressure=98000.0)
    outside_check(
        what="density at 300 K and 980 hPa", source="gas law; R2.4",
        expected=98000.0 / (287.05287 * 300.0), got=p["air_density"], relative=1e-14, unit="kg/m3",
    )  # fmt: skip


def test_wind__blows_from_its_direction(heron):
    # 270 degrees is a west wind: it blows to the east
    p = fields(heron, wind__direction=np.deg2rad(270.0), wind__speed=3.0)
    assert p["wind_to_east"] == pytest.approx(1.0)
    assert p["wind_to_north"] == pytest.approx(0.0, abs=1e-15)
    at_20_feet = 3.0 * (6.096 / p["wind_reference_height"]) ** p["wind_exponent"]
    assert p["turbulence_speed"] == pytest.approx(at_20_feet)


def test_wind__log_law_at_twenty_feet():
    scenario = load_scenario(HERON, sets=["wind.law=log", "wind.roughness=0.03 m"])
    p = fields(scenario, wind__speed=4.0)
    expected = 4.0 * np.log(6.096 / 0.03) / np.log(p["wind_reference_height"] / 0.03)  # R3.3
    outside_check(
        what="wind at 20 ft by the log law, 4 m/s at the reference",
        source="Stull; Panofsky and Dutton (1984); R3.3, from memory", expected=expected,
        got=p["turbulence_speed"], relative=1e-6, unit="m/s",
    )  # fmt: skip


def test_servo__delay_weights_interpolate_between_ticks(heron):
    for delay, weights in ((0.0, [1, 0, 0, 0, 0]), (0.005, [0, 1, 0, 0, 0]),
                           (0.0125, [0, 0, 0.5, 0.5, 0]), (0.02, [0, 0, 0, 0, 1])):  # fmt: skip
        p = fields(heron, ascent_gimbal__delay=delay, flight_computer__control_rate=200.0)
        found = [p[f"ascent_delay_{k}"] for k in range(5)]
        assert found == pytest.approx(weights, abs=1e-12)


def test_servo__too_long_a_delay_says_what_would_do(heron):
    with pytest.raises(UserMistake, match=r"landing_gimbal\.delay.*20 ms at most"):
        fields(heron, landing_gimbal__delay=0.03, flight_computer__control_rate=200.0)


def test_reach__no_point_is_farther_from_the_centre_of_gravity(heron):
    p = fields(heron)
    points = np.array([
        [p["nose_x"], 0.0], [p["feet_x"], p["feet_radius"]],
        [p["folded_feet_x"], p["folded_feet_radius"]], [p["stack_tail_x"], p["stack_tail_radius"]],
        [p["ascent_exit_x"], p["nozzle_radius"]],
    ])  # fmt: skip
    for centre in (p["core_x"], p["stack_x"]):
        assert np.all(np.hypot(points[:, 0] - centre, points[:, 1]) < p["reach"])


def test_absent_parts__have_no_effect():
    path = Path(__file__).parents[1] / "flight" / "data" / "brick.toml"
    p = fields(load_scenario(path))
    for name in ("has_stage", "ascent_propellant", "landing_propellant", "petals_area",
                 "legs_area", "air_density", "gravity", "throttle_authority", "wheel_torque_x",
                 "turbulence", "wind_speed", "gust_speed"):  # fmt: skip
        assert p[name] == 0.0
    assert p["ascent_delay"] == p["landing_delay"] == 1e30
    assert p["start_free"] == 1.0
    assert p["core_mass"] == p["stack_mass"] == 2.0
