"""Forces of the air at all angles of attack."""

from __future__ import annotations

import os
from types import SimpleNamespace

import numpy as np
import pytest

from sim.ensemble.air_shape import FinSet, Outline, shape_of
from sim.ensemble.air_table import air_table
from tests.outside import outside_check
from tests.physics.room_kernels import carry_of, in_lanes, inputs_of, lanes, run_loads

SEED = int(os.environ.get("SETDOWN_TEST_SEED", "20240607"))
HALF_DENSITY = 0.5 * 1.225
DIAMETER = 0.1
AREA = np.pi * DIAMETER**2 / 4.0
CENTRE = -0.5


def loads(motion, carry=None, **numbers):
    """Force x y z and moment y z (n, 5) for rows of u, v, w, rate y, rate z."""
    motion = np.atleast_2d(np.asarray(motion, dtype=float))
    count = len(motion)
    full = np.empty((count, 8))
    full[:, :5], full[:, 5], full[:, 6] = motion, numbers.pop("cg", CENTRE), HALF_DENSITY
    full[:, 7] = numbers.pop("burning", 0.0)
    table = numbers.pop("table", np.zeros(0))
    columns = [in_lanes(full[:, i])[0] for i in range(8)]
    rows = np.stack(columns, axis=1).reshape(-1, 8)
    out = np.zeros((len(rows) // 8 * 5, 8))
    run_loads(lanes(), rows, inputs_of(**numbers), carry_of(**(carry or {})), table, out)
    return out.reshape(-1, 5, 8).transpose(0, 2, 1).reshape(-1, 5)[:count]


def fields(shape, name="core"):
    return {
        f"{name}_axial_nose": shape.axial_nose, f"{name}_axial_tail": shape.axial_tail,
        f"{name}_base": shape.base, f"{name}_slope_nose": shape.slope_nose,
        f"{name}_slope_nose_x": -shape.slope_nose_station, f"{name}_slope_tail": shape.slope_tail,
        f"{name}_slope_tail_x": -shape.slope_tail_station, f"{name}_side": shape.side,
        f"{name}_side_x": -shape.side_station, f"{name}_side_second": shape.side_second,
        f"{name}_side_third": shape.side_third,
    }  # fmt: skip


FINNED = fields(
    shape_of(
        Outline(1.0, 0.076, 0.2),
        fins=FinSet(4, 0.05, 0.11, 0.06, 0.05, 0.87),
        base_coefficient=0.06,
    )
)
# R6.6: a cylinder of ten diameters, side drag 0.68 x 1.2 on length times diameter
CYLINDER = {
    "core_axial_nose": 0.3 * AREA, "core_axial_tail": 0.85 * AREA,
    "core_slope_nose": 2.0 * AREA, "core_slope_nose_x": 0.0,
    "core_slope_tail": 2.0 * AREA, "core_slope_tail_x": -1.0,
    "core_side": 0.68 * 1.2 * 1.0 * DIAMETER, "core_side_x": -0.5,
}  # fmt: skip

# Jorgensen, NASA TR R-474; Allen and Perkins, NACA Report 1048 (from memory); R6.6
JORGENSEN = {5: 0.252404, 10: 0.654004, 30: 3.433925, 60: 8.542226, 90: 10.389635, 150: 3.433925}
SPEED = 17.0


@pytest.mark.parametrize("around", [0.0, 1.1, 3.9])
def test_normal_force__jorgensen(around):
    angle = np.deg2rad(list(JORGENSEN))
    side = SPEED * np.sin(angle)
    motion = [
        SPEED * np.cos(angle), side * np.cos(around), side * np.sin(around), 0 * angle, 0 * angle,
    ]  # fmt: skip
    found = loads(np.transpose(motion), **CYLINDER)
    pressure = HALF_DENSITY * SPEED**2 * AREA
    along = -(found[:, 1] * np.cos(around) + found[:, 2] * np.sin(around)) / pressure
    across = found[:, 2] * np.cos(around) - found[:, 1] * np.sin(around)
    outside_check(
        what=f"normal force of a cylinder at 5 to 150 deg, blown from {around} rad around",
        source="Jorgensen, NASA TR R-474; Allen and Perkins, NACA 1048; R6.6, from memory",
        expected=list(JORGENSEN.values()), got=along, tolerance=6e-7, unit="1",
    )  # fmt: skip
    assert across == pytest.approx(np.zeros(6), abs=1e-12)


def test_normal_force__formula_at_every_angle():
    angle = np.linspace(0.0, np.pi, 361)
    motion = np.transpose([SPEED * np.cos(angle), SPEED * np.sin(angle), *np.zeros((3, 361))])
    found = loads(motion, **CYLINDER)
    folded = np.minimum(angle, np.pi - angle)
    expected = np.sin(2.0 * folded) * np.cos(folded / 2.0) + 0.816 * DIAMETER / AREA * (
        np.sin(folded) ** 2
    )
    pressure = HALF_DENSITY * SPEED**2 * AREA
    assert -found[:, 1] / pressure == pytest.approx(expected, abs=2e-9)
    axial = np.where(angle < np.pi / 2.0, 0.3, -0.85) * np.cos(angle) ** 2
    assert -found[:, 0] / pressure == pytest.approx(axial, abs=2e-9)


def test_moment__acts_at_the_leading_end_and_in_the_middle():
    # nose first at the nose, tail first at the tail: not a mirror image of the centre of pressure
    for angle, lead in ((0.2, 0.5), (np.pi - 0.2, -0.5)):
        found = loads([SPEED * np.cos(angle), SPEED * np.sin(angle), 0, 0, 0], **CYLINDER)[0]
        slender = -HALF_DENSITY * SPEED**2 * AREA * np.sin(0.4) * np.cos(0.1)
        assert found[4] == pytest.approx(slender * lead, rel=1e-9)
        assert found[3] == 0.0
    stable = loads([SPEED, 0.3, 0, 0, 0], **FINNED)[0]
    # fins behind the centre of gravity turn the nose into the wind, that is towards +y here
    assert stable[4] > 0.0


def test_moments__about_y_and_z_are_the_same_law():
    one = loads([11.0, 2.0, 0.0, 0.0, 0.7], **FINNED)[0]
    # turned by a quarter about x: y becomes z, rate z becomes minus rate y
    other = loads([11.0, 0.0, 2.0, -0.7, 0.0], **FINNED)[0]
    assert other[2] == pytest.approx(one[1], rel=1e-14)
    assert other[3] == pytest.approx(-one[4], rel=1e-14)
    assert other[0] == pytest.approx(one[0], rel=1e-14)


OPEN = {"petals_open": 1.0, "legs_open": 1.0}
PARTS = {"petals_area": 0.04, "petals_x": -0.1, "legs_area": 0.003, "legs_x": -1.05}


@pytest.mark.parametrize("carry", [{}, OPEN], ids=("closed", "open"))
@pytest.mark.parametrize("burning", [0.0, 1.0])
def test_still_air__only_takes_energy(carry, burning):
    # second law: in still air no motion at all may draw power from the air
    draw = np.random.default_rng(SEED)
    size = 10.0 ** draw.uniform(-3.0, 1.5, (2, 4000, 1))
    velocity, rates = draw.normal(size=(2, 4000, 3)) * size
    motion = np.column_stack([velocity, rates[:, 1:]])
    found = loads(motion, carry, burning=burning, cg=-0.61, **FINNED, **PARTS)
    power = np.sum(found * motion, axis=1)
    scale = np.sum(np.abs(found * motion), axis=1)
    assert np.all(power <= 1e-12 * scale)
    assert np.all(power < 0.0)


def test_no_wind__nothing_and_no_division_by_zero():
    assert np.all(loads([0.0, 0.0, 0.0, 0.0, 0.0], OPEN, **FINNED, **PARTS) == 0.0)


def test_no_wind__forces_fade_smoothly():
    speeds = 10.0 ** np.arange(-9.0, 1.0)
    for direction in ([1, 0, 0], [-1, 0, 0], [0, 1, 0], [0.6, 0.0, 0.8], [-0.6, 0.8, 0.0]):
        motion = np.column_stack([np.outer(speeds, direction), np.zeros((10, 2))])
        found = np.linalg.norm(loads(motion, OPEN, **FINNED, **PARTS)[:, :3], axis=1)
        assert np.all(np.diff(found) > 0.0)
        # the square law, but for the millionth of a metre a second that keeps it regular
        assert found[4:] / speeds[4:] ** 2 == pytest.approx(
            np.full(6, found[-1] / speeds[-1] ** 2), rel=1e-2
        )


def test_pure_turning__strip_theory():
    # R6.11: M = -Cd rho/2 d w |w| integral |x|^3, the centre of gravity in the middle
    shape = fields(shape_of(Outline(1.0, 0.1, 0.0)))
    for rate in (0.5, -3.0):
        found = loads([0, 0, 0, rate, 0], **shape)[0]
        expected = -0.82 * HALF_DENSITY * 0.1 * rate * abs(rate) / 32.0
        outside_check(
            what=f"damping of a cylinder that turns at {rate} rad/s",
            source="strip theory; R6.11, derived", expected=expected, got=found[3], relative=1e-9,
            unit="N m",
        )  # fmt: skip
        assert found[4] == 0.0


def test_turning_in_a_cross_wind__strip_theory():
    # a small rate on a large cross-flow: d/dw of Cd rho/2 d integral (V + w x) |V + w x| x dx
    shape = fields(shape_of(Outline(1.0, 0.1, 0.0)))
    found = loads([[0, 8.0, 0, 0, 0.01], [0, 8.0, 0, 0, 0.0]], **shape)
    x = np.linspace(-0.5, 0.5, 20001)
    local = 8.0 + 0.01 * x
    expected = -0.82 * HALF_DENSITY * 0.1 * np.trapezoid(local * np.abs(local) * x, x)
    outside_check(
        what="damping of a cylinder turning slowly in a cross-wind of 8 m/s",
        source="strip theory, by quadrature; R6.11, derived", expected=expected,
        got=found[0, 4] - found[1, 4], relative=1e-3, unit="N m",
    )  # fmt: skip


def test_petals__pull_the_tail_first():
    # bluff parts at the nose: falling tail first is stable, nose first is not
    for u, stable in ((-15.0, True), (15.0, False)):
        found = loads([u, 0.5, 0, 0, 0], {"petals_open": 1.0}, **FINNED, **PARTS)[0]
        # the moment that brings the axis back to the wind turns v / u towards zero
        returns = found[4] * np.sign(u) > 0.0
        assert returns == stable


def test_stage__chooses_the_other_outline():
    stack = fields(shape_of(Outline(1.22, 0.076, 0.2)), "stack")
    one = loads([9.0, 1.0, 0, 0, 0], {"stage_attached": 1.0}, **FINNED, **stack)
    two = loads([9.0, 1.0, 0, 0, 0], **{k.replace("stack", "core"): v for k, v in stack.items()})
    assert np.all(one == two)


def test_table__of_the_geometry_gives_the_geometry():
    # a table every half degree made of Jorgensen's forms, against those forms (closed form)
    angle = np.deg2rad(np.arange(0.0, 180.25, 0.5))
    sine, cosine = np.sin(angle), np.cos(angle)
    folded = np.minimum(angle, np.pi - angle)
    slender = np.sin(2.0 * folded) * np.cos(folded / 2.0)
    across = CYLINDER["core_side"] / AREA * sine**2
    normal = slender + across
    axial = np.where(angle < np.pi / 2.0, 0.3 * cosine**2, -0.85 * cosine**2)
    ahead, behind = (0.0, 0.5), (1.0, 0.5)
    places = np.where(angle < np.pi / 2.0, ahead[0], behind[0])
    station = (slender * places + across * 0.5) / np.maximum(normal, 1e-12)
    station[0], station[-1] = ahead[0], behind[0]
    scenario = SimpleNamespace(
        choices={"aerodynamics.law": "table"},
        curves={"aerodynamics.table": np.stack([angle, axial, normal, station], axis=1)},
        numbers={"vehicle.diameter": SimpleNamespace(value=DIAMETER)},
    )
    table = air_table(scenario)
    at = np.deg2rad(np.arange(0.5, 180.0, 2.3))
    motion = np.zeros((len(at), 5))
    motion[:, 0], motion[:, 1] = SPEED * np.cos(at), SPEED * np.sin(at)
    tabled = loads(motion, table=table, table_axial=1.0, table_normal=1.0, **CYLINDER)
    formed = loads(motion, **CYLINDER)
    largest = np.max(np.abs(formed), axis=0)
    assert np.max(np.abs(tabled - formed) / np.maximum(largest, 1e-9), axis=0) == pytest.approx(
        np.zeros(5), abs=2e-3
    )


def test_table__factors_and_shift():
    scenario = SimpleNamespace(
        choices={"aerodynamics.law": "table"},
        curves={
            "aerodynamics.table": np.array(
                [[0.0, 0.4, 0.0, 0.3], [np.pi / 2, 0.0, 5.0, 0.3], [np.pi, -0.9, 0.0, 0.3]]
            )
        },
        numbers={"vehicle.diameter": SimpleNamespace(value=DIAMETER)},
    )
    table = air_table(scenario)
    broadside = [[0.0, SPEED, 0.0, 0.0, 0.0]]
    plain = loads(broadside, table=table, table_axial=1.0, table_normal=1.0)[0]
    # (broadside is left by 1e-6 m/s over the speed, which keeps no wind at all defined)
    assert plain[1] == pytest.approx(-HALF_DENSITY * SPEED**2 * AREA * 5.0, rel=1e-6)
    assert plain[4] == pytest.approx(plain[1] * (-0.3 - CENTRE), rel=1e-9)
    moved = loads(broadside, table=table, table_axial=1.0, table_normal=1.1, table_shift=0.02)[0]
    assert moved[1] == pytest.approx(1.1 * plain[1], rel=1e-12)
    assert moved[4] == pytest.approx(moved[1] * (-0.32 - CENTRE), rel=1e-9)
