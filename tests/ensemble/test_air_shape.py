"""Coefficients from an outline against hand methods and published values."""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.air_shape import (
    FinSet,
    Outline,
    across_drag,
    base_drag,
    fin_slope,
    fin_station,
    forebody_drag,
    shape_of,
    skin_friction,
)
from tests.outside import outside_check

# Barrowman (1967), from memory; R6.3 and R6.4
FIN_SOURCE = "Barrowman (1967); R6.3 and R6.4, from memory"
DIAMETER = 0.075
AREA = np.pi * DIAMETER**2 / 4.0
BODY = Outline(length=1.0, diameter=DIAMETER, nose_length=0.15)
FINS = FinSet(count=4, span=0.07, root_chord=0.12, tip_chord=0.06, sweep=0.06, station=0.88)


def test_nose__slope_of_two_at_its_place():
    # any nose: 2 a radian on its base; an ogive's at 0.466 of its length; R6.1
    shape = shape_of(BODY)
    source = "Barrowman (1967), by a text that restates it; R6.1"
    outside_check(
        what="slope of the normal force of a nose", source=source, expected=2.0,
        got=shape.slope_nose / AREA, relative=1e-6, unit="1/rad",
    )  # fmt: skip
    outside_check(
        what="centre of pressure of an ogive, share of its length", source=source, expected=0.466,
        got=shape.slope_nose_station / 0.15, relative=1e-6, unit="1",
    )  # fmt: skip


def test_fins__slope_and_place():
    outside_check(
        what="slope of the normal force of four fins", source=FIN_SOURCE, expected=8.138507,
        got=fin_slope(FINS, DIAMETER), tolerance=6e-7, unit="1/rad",
    )  # fmt: skip
    outside_check(
        what="station of their centre of pressure", source=FIN_SOURCE, expected=0.930000,
        got=fin_station(FINS), tolerance=6e-7, unit="m",
    )  # fmt: skip


def test_whole_vehicle__slope_and_centre_of_pressure():
    shape = shape_of(BODY, fins=FINS)
    outside_check(
        what="slope of the normal force of nose and fins", source=FIN_SOURCE, expected=10.138507,
        got=shape.slope_nose / AREA, tolerance=6e-7, unit="1/rad",
    )  # fmt: skip
    outside_check(
        what="centre of pressure of nose and fins", source=FIN_SOURCE, expected=0.760330,
        got=shape.slope_nose_station, tolerance=6e-7, unit="m",
    )  # fmt: skip


def test_tail_first__centre_of_pressure_is_not_the_mirror_image():
    # the blunt end that leads takes the slender body's force; the nose's is gone; R6.6
    shape = shape_of(BODY)
    assert shape.slope_tail_station == pytest.approx(1.0)
    assert shape.slope_tail == pytest.approx(shape.slope_nose)
    finned = shape_of(BODY, fins=FINS)
    both = (2.0 * 1.0 + 8.138507 * 0.93) / 10.138507
    assert finned.slope_tail_station == pytest.approx(both, abs=1e-6)


# Matthews, Aeronautical Engineer's Data Book (2002), p. 95; R6.7
@pytest.mark.parametrize(
    ("slenderness", "drag"), [(1, 0.63), (2, 0.68), (5, 0.74), (10, 0.82), (40, 0.98)]
)
def test_cylinder_across__published(slenderness, drag):
    outside_check(
        what=f"drag of a cylinder of {slenderness} diameters, across the flow",
        source="Matthews, Aeronautical Engineer's Data Book (2002) p. 95; R6.7", expected=drag,
        got=across_drag(slenderness), relative=1e-6, unit="1",
    )  # fmt: skip
    assert across_drag(slenderness) / 1.2 == pytest.approx(
        {1: 0.525, 2: 0.567, 5: 0.617, 10: 0.683, 40: 0.817}[slenderness], abs=6e-4
    )


def test_cylinder_across__twenty_diameters():
    # R6.7, from memory: 0.75 to 0.76 of the endless one
    outside_check(
        what="drag across a cylinder of 20 diameters over that of an endless one, 0.74 to 0.77",
        source="Hoerner; R6.7, from memory", expected=0.755, got=across_drag(20.0) / 1.2,
        tolerance=0.015, unit="1",
    )  # fmt: skip


# Prandtl-Schlichting (Schlichting, Boundary-Layer Theory, from memory); R6.12
@pytest.mark.parametrize(
    ("reynolds", "friction"), [(1e6, 0.004471), (2e6, 0.003940), (5e6, 0.003364), (1e7, 0.003004)]
)
def test_friction__turbulent_plate(reynolds, friction):
    outside_check(
        what=f"friction of a turbulent plate at a Reynolds number of {reynolds:.0e}",
        source="Schlichting, Boundary-Layer Theory; R6.12, from memory", expected=friction,
        got=skin_friction(1.0, reynolds * 1.46e-5), tolerance=6e-7, unit="1",
    )  # fmt: skip


def test_axial_drag__worked_example():
    # R6.13 to R6.15, from memory: l 1 m, d 75 mm, 20 m/s; wetted over frontal area there 50.6933,
    # by the two-thirds rule of the ogive here 50.6667 (0.05 %); viscosity there 1.461e-5 m2/s
    body = float(forebody_drag(BODY))
    outside_check(
        what="fore-body drag of 1 m by 75 mm at 20 m/s",
        source="Hoerner's form factor; R6.13 and R6.15, from memory", expected=0.221083, got=body,
        relative=1.2e-3, unit="1",
    )  # fmt: skip
    outside_check(
        what="base drag behind it", source="Hoerner, ch. III; R6.14, from memory",
        expected=0.061677, got=base_drag(0.22108), tolerance=6e-7, unit="1",
    )  # fmt: skip
    assert body + float(base_drag(body)) == pytest.approx(0.282759, rel=1.2e-3)
    shape = shape_of(BODY)
    assert shape.axial_nose / AREA == pytest.approx(0.282759, rel=1.2e-3)


def test_tail_first__drag_of_a_blunt_cylinder():
    # Matthews; Hoerner: 0.82 to 0.99 for a cylinder along the flow; R6.8
    outside_check(
        what="drag of a blunt cylinder along the flow, published 0.82 to 0.99",
        source="Matthews (2002); Hoerner, by a text that restates it; R6.8", expected=0.905,
        got=shape_of(BODY).axial_tail / AREA, tolerance=0.085, unit="1",
    )  # fmt: skip


def test_plume__takes_its_share_of_the_base_drag():
    shape = shape_of(BODY, base_coefficient=0.06, base_left_burning=0.25)
    assert shape.base / AREA == pytest.approx(0.06 * 0.75)


def test_side__is_the_outline_seen_across():
    # ogive: two thirds of length times diameter with its middle at 5/8; quadrature of a parabola
    x = np.linspace(0.0, 1.0, 200_001)
    width = DIAMETER * np.where(x < 0.15, 1.0 - (1.0 - x / 0.15) ** 2, 1.0)
    view = np.trapezoid(width, x)
    shape = shape_of(BODY)
    assert shape.side / across_drag(1.0 / DIAMETER) == pytest.approx(view, rel=1e-6)
    assert shape.side_station == pytest.approx(np.trapezoid(width * x, x) / view, rel=1e-6)


def test_damping__of_a_plain_cylinder_by_strips():
    # R6.11: M = Cd rho/2 d w |w| integral |x|^3, 1/32 for a length of 1
    plain = shape_of(Outline(length=1.0, diameter=0.1, nose_length=0.0))
    drag = across_drag(10.0)
    assert plain.side_third == pytest.approx(drag * 0.1 / 32.0)
    assert plain.side_second == pytest.approx(drag * 0.1 / 12.0)
    assert plain.side_station == pytest.approx(0.5)


def test_factors__scale_their_part_only():
    usual = shape_of(BODY, fins=FINS)
    changed = shape_of(
        BODY, fins=FINS, axial_factor=1.1, normal_factor=0.9, shift=0.02, damping_factor=3.0
    )
    assert changed.axial_nose == pytest.approx(1.1 * usual.axial_nose)
    assert changed.slope_nose == pytest.approx(0.9 * usual.slope_nose)
    assert changed.side == pytest.approx(0.9 * usual.side)
    for name in ("slope_nose_station", "slope_tail_station", "side_station"):
        assert getattr(changed, name) == pytest.approx(getattr(usual, name) + 0.02)
    assert changed.side_second == pytest.approx(3.0 * 0.9 * usual.side_second)


def test_shape__of_many_flights_at_once():
    many = shape_of(BODY, fins=FINS, normal_factor=np.array([0.9, 1.0, 1.1]))
    for i, factor in enumerate((0.9, 1.0, 1.1)):
        one = shape_of(BODY, fins=FINS, normal_factor=factor)
        assert many.side[i] == pytest.approx(one.side, rel=1e-15)
        assert many.slope_nose[i] == pytest.approx(one.slope_nose, rel=1e-15)
