"""Struts through the whole flight loop: orifice flow, closed cylinder, crush core; toppling energy.

The stool stands on upright telescoping legs, so that a strut bears a quarter of its weight.
"""

from __future__ import annotations

import numpy as np
import pytest

from sim.flight_records import AT_REST, OUT_OF_TIME, TIPPED
from tests.flight.eight import STANDARD_GRAVITY
from tests.flight.stool import EDGE, HEIGHT, INERTIA, JUST, LANES, MASS, drop, stool_on
from tests.outside import outside_check

UPRIGHT = ("legs.hinge_radius=0.3 m",)
AIR, TEMPERATURE, GAS = 101325.0, 293.15, 287.05287
QUARTER = MASS * STANDARD_GRAVITY / 4.0
QUIET = {
    "ground_dashpot": 60.0, "ground_stiffness": 2e5, "joint_damping": 0.0, "seal_friction": 0.0,
    "start_up": HEIGHT + JUST, "strut_preload": 0.0, "leg_inertia": 0.01, "beside_rate": 0.0,
}  # fmt: skip


# R8.7: mass flow of a 1 mm orifice with 0.7 at 293.15 K, out of 300 to 105 kPa. The air in a strut
# follows from the load on its foot and from its stroke, by the gas law: what has gone is the flow.
def test_orifice__flow_under_a_vehicle_that_comes_down():
    stool = stool_on("gas", "telescoping", *UPRIGHT, "vehicle.dry_mass=15 kg")
    area, length = 2e-4, 0.12
    light = {"leg_inertia": 1e-3, "ground_dashpot": 25.0}  # the load is that of the strut
    flown = drop(
        stool, settle=0.1, tick=1e-4, steps=2, **(QUIET | light), gas_area=area,
        gas_length=length, gas_vent=0.2, strut_stroke=0.1, gas_exponent=1.0, gas_pressure=AIR,
        gas_orifice=0.7 * np.pi * 0.25e-6, gas_temperature=TEMPERATURE,
        start_velocity_up=-np.linspace(0.9, 1.2, 8),
    )  # fmt: skip
    pressures = np.array([300e3, 200e3, 150e3, 120e3, 105e3])
    for lane in LANES:
        pressure = AIR + flown["foot_force_0"][:, lane] / area
        mass = pressure * area * (length - flown["stroke_0"][:, lane]) / (GAS * TEMPERATURE)
        touched = flown.row(round(flown.outcomes["contact_time"][lane], 4))
        # the foot has come to rest on the ground after 2 ms
        rising = slice(touched + 20, touched + 20 + np.argmax(pressure[touched + 20 :] > 310e3))
        flow = -1e3 * np.gradient(mass, flown.time)[rising]
        found = np.interp(pressures, pressure[rising], flow)
        wanted = [0.389319, 0.259546, 0.185067, 0.115826, 0.051654]
        outside_check(
            what=f"air through the orifice of a strut under load, flight {lane}",
            source="gas dynamics, any text; R8.7, recomputed", expected=wanted, got=found,
            relative=0.02, unit="g/s",
        )  # fmt: skip


# R8.9: bore 16 mm, column 50 mm, n = 1: 5.0932, 13.5817, 30.5589, 81.4904 N at 10 to 40 mm, and
# n = 1.4: 7.4707, 21.2793, 53.1063, 173.5393 N; the weight is chosen to be four times the force
@pytest.mark.parametrize(
    ("exponent", "forces"),
    [(1.0, (5.0932, 13.5817, 30.5589, 81.4904)), (1.4, (7.4707, 21.2793, 53.1063, 173.5393))],
)
def test_closed_cylinder__bears_the_vehicle(exponent, forces):
    stool = stool_on("gas", "telescoping", *UPRIGHT)
    force = np.array(forces * 2)
    damped = QUIET | {"joint_damping": 2.0 * force + 10.0}
    flown = drop(
        stool, settle=3.0, **damped, gravity=STANDARD_GRAVITY * force / QUARTER,
        gas_area=np.pi * 8e-3**2, gas_length=0.05, gas_vent=0.0, strut_stroke=0.049,
        gas_exponent=exponent, gas_pressure=AIR, steps=40, still_time=0.5,
    )  # fmt: skip
    assert np.all(flown.outcomes["ending"] == AT_REST)
    last = [flown["stroke_0"][np.flatnonzero(flown["mass"][:, lane])[-1], lane] for lane in LANES]
    outside_check(
        what=f"stroke of a closed air strut under its load, exponent {exponent}",
        source="gas law; R8.9, recomputed", expected=[0.01, 0.02, 0.03, 0.04] * 2, got=last,
        relative=2e-3, unit="m",
    )  # fmt: skip


# R9.7: v^2 / 2 = (n - 1) g s for a constant force of n times the weight, motor off
def test_crush_core__stroke_of_a_constant_force():
    stool = stool_on("crush", "telescoping", *UPRIGHT)
    speed = np.array([1.0, 2.0, 2.0, 3.0] * 2)
    times = np.array([3.0, 5.0, 10.0, 10.0] * 2)
    upright = QUIET | {"leg_inertia": 1e-3, "start_up": HEIGHT + 0.02}
    flown = drop(
        stool, settle=0.5, **upright, steps=80, crush_force=times * QUARTER, crush_stiffness=2e5,
        start_velocity_up=-np.sqrt(speed**2 - 2.0 * STANDARD_GRAVITY * 0.02),
        strut_stroke=0.13, crush_dense=0.12, crush_rise=0.0,
    )  # fmt: skip
    wanted = [25.49, 50.99, 22.66, 50.99] * 2
    outside_check(
        what="stroke of a crush core of constant force, four speeds and forces",
        source="energy; R9.7, derived", expected=wanted,
        got=1e3 * flown.outcomes["peak_stroke"], relative=0.02, unit="mm",
    )  # fmt: skip
    assert flown.outcomes["peak_strut_force"] == pytest.approx(times * QUARTER, rel=0.02)


# R9.3, R9.4: 0.776226 J, which a turn about the edge of two feet at 1.90565 rad/s has
def test_topple__energy():
    critical = np.sqrt(2.0 * 0.776226 / (INERTIA + MASS * (HEIGHT**2 + EDGE**2)))
    assert critical == pytest.approx(1.90565, abs=1e-5)
    share = np.array([0.5, 0.8, 0.9, 0.95, 1.05, 1.1, 1.2, 1.5])  # of the energy
    rate = critical * np.sqrt(share)
    flown = drop(
        stool_on("rigid"), settle=4.0, steps=20, tick=1e-3, start_up=HEIGHT + 1e-5,
        start_rate_z=rate, start_velocity_east=rate * HEIGHT, start_velocity_up=rate * EDGE,
        friction_static=50.0, friction_kinetic=50.0, ground_damping=3.0, ground_stiffness=1e6,
        bristle_stiffness=1e6, bristle_damping=600.0,
    )  # fmt: skip
    tipped = flown.outcomes["ending"] == TIPPED
    outside_check(
        what="turned with 0.5 to 1.5 of the energy that tips: tips, 1, or not, 0",
        source="energy; R9.3 and R9.4, derived", expected=share > 1.0, got=tipped, tolerance=0,
        unit="1",
    )  # fmt: skip


# a vehicle on springs without damping hops on until its time is out, which is no landing
def test_unsettled__is_an_ending_of_its_own():
    calm = np.where(LANES < 4, 0.0, 60.0)
    bouncy = QUIET | {"start_up": HEIGHT + 0.2, "ground_dashpot": calm}
    flown = drop(
        stool_on("spring", "telescoping", *UPRIGHT), settle=2.0, **bouncy, strut_rate=3e3,
        strut_damping=calm, stop_damping=calm, ground_damping=0.0,
    )  # fmt: skip
    assert list(flown.outcomes["ending"]) == [OUT_OF_TIME] * 4 + [AT_REST] * 4
    assert np.all(np.isnan(flown.outcomes["rest_time"][:4]))
    assert np.all(flown.outcomes["hops"][:4] > 3)
