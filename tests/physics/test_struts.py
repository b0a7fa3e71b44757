"""Struts by themselves: orifice flow, blow-down, closed cylinder, crush core, friction."""

from __future__ import annotations

import numpy as np
import pytest

from sim.flight_records import input_record
from sim.lanes import kernel, load, spread, store
from sim.physics import struts
from tests.outside import outside_check
from tests.physics.room_kernels import WIDTH, inputs_of, lanes

AIR_PRESSURE, TEMPERATURE, GAS = 101325.0, 293.15, 287.05287


@kernel
def run_flow(lanes, ratios, out):
    for k in range(len(ratios)):
        store(out, k, struts.flow_factor(load(lanes, ratios, k)))


@kernel
def run_gas(lanes, h, strokes, inputs, start, out):
    """Pressure and mass along a series of strokes; start: pressure, mass."""
    p = input_record(lanes, inputs)
    pressure, mass = load(lanes, start, 0), load(lanes, start, 1)
    for k in range(len(strokes) - 1):
        before, after = load(lanes, strokes, k), load(lanes, strokes, k + 1)
        pressure, mass = struts.gas_step(spread(lanes, h), before, after, pressure, mass, p)
        store(out, 2 * k, pressure)
        store(out, 2 * k + 1, mass)


@kernel
def run_crush(lanes, strokes, inputs, out):
    p = input_record(lanes, inputs)
    kept = spread(lanes, 0.0)
    for k in range(len(strokes)):
        force, kept, _ = struts.crush_step(load(lanes, strokes, k), kept, p)
        store(out, 2 * k, force)
        store(out, 2 * k + 1, kept)


def wide(values):
    return np.repeat(np.asarray(values, dtype=np.float64)[:, None], WIDTH, axis=1).copy()


# any text on gas dynamics; R8.1 to R8.3
def test_orifice__flow_factor():
    ratios = [0.1, 0.528282, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.0]
    out = np.zeros((len(ratios), WIDTH))
    run_flow(lanes(), wide(ratios), out)
    wanted = [0.684731, 0.684731, 0.676915, 0.638317, 0.560661, 0.422581, 0.307641, 0.140662, 0.0]
    outside_check(
        what="flow factor of an orifice, pressure ratios 0.1 to 1",
        source="gas dynamics, any text; R8.1 to R8.3, recomputed", expected=wanted, got=out[:, 0],
        tolerance=1.5e-6, unit="1",
    )  # fmt: skip


def test_orifice__flow_factor_is_its_closed_form():
    k = 1.4
    ratios = np.concatenate([np.linspace(0.2, 1.0, 400), 1.0 - np.geomspace(1e-12, 1e-2, 40)])
    out = np.zeros((len(ratios), WIDTH))
    run_flow(lanes(), wide(ratios), out)
    r = np.maximum(ratios, (2.0 / (k + 1.0)) ** (k / (k - 1.0)))
    fall = -np.expm1((k - 1.0) / k * np.log1p(r - 1.0))
    wanted = np.sqrt(2.0 * k / (k - 1.0) * fall) * r ** (1.0 / k)
    assert np.all(np.abs(out[:, 0] - wanted) <= 4e-10 * wanted)


def gas(volume=1e-5, **more):
    area = 2e-4
    hole = 0.7 * np.pi * 0.25e-6  # 1 mm, discharge coefficient 0.7
    numbers = {
        "gas_area": area, "gas_length": volume / area, "gas_vent": 1.0, "gas_orifice": hole,
        "gas_exponent": 1.0, "gas_pressure": AIR_PRESSURE, "gas_temperature": TEMPERATURE,
    }  # fmt: skip
    return inputs_of(**(numbers | more))


# R8.7: mass flow of a 1 mm orifice, 0.7, at 293.15 K
def test_orifice__mass_flow():
    pressures = np.array([300e3, 200e3, 150e3, 120e3, 105e3, 300e3, 200e3, 150e3])
    inputs, h = gas(), 1e-7
    mass = pressures * 1e-5 / (GAS * TEMPERATURE)
    out = np.zeros((2, WIDTH))
    run_gas(lanes(), h, wide([0.0, 0.0]), inputs, np.array([pressures, mass]), out)
    flow = (mass - out[1]) / h * 1e3
    outside_check(
        what="air through a 1 mm orifice from 300, 200, 150, 120, 105 kPa",
        source="gas dynamics, any text; R8.7, recomputed",
        expected=[0.389319, 0.259546, 0.185067, 0.115826, 0.051654], got=flow[:5], relative=1e-4,
        unit="g/s",
    )  # fmt: skip


# R8.8: blow-down of 10 cm3 from 300 kPa, isothermal and adiabatic, in closed form while choked
@pytest.mark.parametrize(
    ("exponent", "wanted"),
    [(1.0, (284059.0, 268965.0, 241140.0)), (1.4, (278037.0, 257893.0, 222406.0))],
)
def test_blow_down(exponent, wanted):
    h, steps = 0.25e-3, 80
    mass = 300e3 * 1e-5 / (GAS * TEMPERATURE)
    out = np.zeros((2 * steps, WIDTH))
    start = wide([300e3, mass])
    run_gas(lanes(), h, wide([0.0] * (steps + 1)), gas(gas_exponent=exponent), start, out)
    found = [out[2 * (round(time / h) - 1), 0] for time in (5e-3, 10e-3, 20e-3)]
    outside_check(
        what=f"blow-down of 10 cm3 from 300 kPa, exponent {exponent}, after 5, 10, 20 ms",
        source="closed form while choked; R8.8, recomputed", expected=wanted, got=found,
        relative=1e-4, unit="Pa",
    )  # fmt: skip


def test_blow_down__ends_at_the_pressure_outside():
    steps = 400
    mass = 300e3 * 1e-5 / (GAS * TEMPERATURE)
    out = np.zeros((2 * steps, WIDTH))
    run_gas(lanes(), 0.5e-3, wide([0.0] * (steps + 1)), gas(), wide([300e3, mass]), out)
    assert out[-2, 0] == pytest.approx(AIR_PRESSURE, rel=1e-6)


# R8.9: closed cylinder, bore 16 mm, column 50 mm
@pytest.mark.parametrize(
    ("exponent", "forces", "work"),
    [
        (1.0, (5.0932, 13.5817, 30.5589, 81.4904), 0.322183),
        (1.4, (7.4707, 21.2793, 53.1063, 173.5393), 0.516191),
    ],
)
def test_closed_cylinder(exponent, forces, work):
    area = np.pi * 8e-3**2
    strokes = np.linspace(0.0, 0.04, 401)
    inputs = gas(
        gas_area=area,
        gas_length=0.05,
        gas_vent=0.0,
        gas_exponent=exponent,
        gas_pressure=AIR_PRESSURE,
    )
    mass = AIR_PRESSURE * area * 0.05 / (GAS * TEMPERATURE)
    out = np.zeros((2 * 400, WIDTH))
    run_gas(lanes(), 1e-3, wide(strokes), inputs, wide([AIR_PRESSURE, mass]), out)
    force = np.concatenate(([0.0], (out[0::2, 0] - AIR_PRESSURE) * area))
    found = [force[round(x * 1e4)] for x in (0.01, 0.02, 0.03, 0.04)]
    outside_check(
        what=f"force of a closed air spring, exponent {exponent}, at 10, 20, 30, 40 mm",
        source="gas law; R8.9, recomputed", expected=forces, got=found, relative=2e-4, unit="N",
    )  # fmt: skip
    outside_check(
        what=f"work of a closed air spring over 30 mm, exponent {exponent}",
        source="gas law; R8.9, recomputed", expected=work,
        got=np.trapezoid(force[:301], strokes[:301]), relative=1e-3, unit="J",
    )  # fmt: skip


def test_crush_core__keeps_its_plateau_and_takes_no_force_back():
    inputs = inputs_of(
        crush_force=40.0, crush_stiffness=6e4, crush_dense=0.02, crush_rise=3.0, strut_stroke=0.03
    )
    strokes = np.concatenate([np.linspace(0.0, 0.015, 50), np.linspace(0.015, 0.0, 50)])
    out = np.zeros((200, WIDTH))
    run_crush(lanes(), wide(strokes), inputs, out)
    force = out[0::2, 0]
    assert force[10:50] == pytest.approx(np.full(40, 40.0))
    assert np.all(force[60:] == 0.0)
