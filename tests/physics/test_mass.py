"""Mass, centre of gravity and inertia against a heap of point masses."""

from __future__ import annotations

import numpy as np
import pytest

from tests.physics.room_kernels import carry_of, inputs_of, lanes, run_mass, run_upright


def tensor(points, masses):
    """Mass, centre and inertia tensor of point masses (definition)."""
    total = masses.sum()
    centre = masses @ points / total
    d = points - centre
    return total, centre, np.einsum("i,ijk->jk", masses, [
        (x @ x) * np.eye(3) - np.outer(x, x) for x in d
    ])  # fmt: skip


def cloud(seed, at, mass):
    """Forty points whose common centre is at a place."""
    draw = np.random.default_rng(seed)
    points, masses = draw.normal(size=(40, 3)) * [0.2, 0.03, 0.05], draw.uniform(0.5, 1.5, 40)
    masses *= mass / masses.sum()
    return points - masses @ points / mass + at, masses


def stick(x, mass, length, radius):
    """A cylinder on the axis as eight points with its two radii of gyration."""
    axial, across = radius**2 / 2.0, radius**2 / 4.0 + length**2 / 12.0
    b = np.sqrt(axial / 2.0)
    a = np.sqrt(across - b**2)
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
    return signs * [a, b, b] + [x, 0.0, 0.0], np.full(8, mass / 8.0), axial, across


@pytest.mark.parametrize("stage", [0.0, 1.0])
def test_mass_properties__of_a_heap_of_points(stage):
    body, masses = cloud(3, [-0.5, 0.004, -0.003], 1.3)
    dry = tensor(body, masses)
    left = 0.03, 0.05
    grains = [stick(-1.1, left[0], 0.08, 0.02), stick(-0.9, left[1], 0.06, 0.015)]
    name = "stack" if stage else "core"
    inputs = {
        f"{name}_mass": dry[0], f"{name}_x": dry[1][0], f"{name}_y": dry[1][1],
        f"{name}_z": dry[1][2], f"{name}_jxx": dry[2][0, 0], f"{name}_jyy": dry[2][1, 1],
        f"{name}_jzz": dry[2][2, 2], f"{name}_jxy": dry[2][0, 1], f"{name}_jxz": dry[2][0, 2],
        f"{name}_jyz": dry[2][1, 2],
        "ascent_propellant_x": -1.1, "landing_propellant_x": -0.9,
        "ascent_gyration_axial": grains[0][2], "ascent_gyration_transverse": grains[0][3],
        "landing_gyration_axial": grains[1][2], "landing_gyration_transverse": grains[1][3],
    }  # fmt: skip
    out = np.zeros((10, 8))
    run_mass(
        lanes(), np.repeat(np.array([left]).T, 8, axis=1), inputs_of(**inputs),
        carry_of(stage_attached=stage), out,
    )  # fmt: skip
    total, centre, j = tensor(
        np.concatenate([body, grains[0][0], grains[1][0]]),
        np.concatenate([masses, grains[0][1], grains[1][1]]),
    )
    expected = [total, *centre, j[0, 0], j[1, 1], j[2, 2], j[0, 1], j[0, 2], j[1, 2]]
    assert out[:, 0] == pytest.approx(expected, rel=1e-12, abs=1e-16)


def test_legs__carry_the_cores_share_of_the_shift():
    # 12 mm of the core's 1.3 kg move the cg of 1.6 kg by 12 mm x 1.3 / 1.6
    inputs = inputs_of(stack_mass=1.6, core_mass=1.3, stack_x=-0.6, core_x=-0.5, legs_shift=0.012)
    for stage, expected in ((0.0, -0.512), (1.0, -0.6 - 0.012 * 1.3 / 1.6)):
        out = np.zeros((10, 8))
        run_mass(
            lanes(), np.zeros((2, 8)), inputs, carry_of(stage_attached=stage, legs_open=1.0), out
        )
        assert out[1, 0] == pytest.approx(expected, rel=1e-14)


def test_upright__axes():
    # body x up, y east, z north; the heading turns z eastwards; the nose leans to its direction
    tilt = np.array([0.0, 0.0, 0.1, 0.1, np.pi, 0.3, 0.3, 0.0])
    toward = np.array([0.0, 0.0, 0.0, np.pi / 2.0, 0.0, 2.0, 2.0, 1.0])
    heading = np.array([0.0, np.pi / 2.0, 0.0, 0.0, 0.0, 0.0, 1.3, 0.4])
    out = np.zeros((9, 8))
    run_upright(lanes(), np.array([tilt, toward, heading]), out)
    matrices = out.T.reshape(8, 3, 3)
    assert matrices[0] == pytest.approx(np.array([[0, 1, 0], [0, 0, 1], [1, 0, 0]]), abs=1e-15)
    assert matrices[1][:, 2] == pytest.approx([1.0, 0.0, 0.0], abs=1e-15)
    nose = np.array([np.sin(tilt) * np.sin(toward), np.sin(tilt) * np.cos(toward), np.cos(tilt)]).T
    assert matrices[:, :, 0] == pytest.approx(nose, abs=1e-15)
    for matrix in matrices:
        assert matrix @ matrix.T == pytest.approx(np.eye(3), abs=1e-15)
        assert np.linalg.det(matrix) == pytest.approx(1.0, abs=1e-15)
    # leaning does not twist: the part of z that lies level keeps its heading to first order
    assert matrices[6][:2, 2] != pytest.approx(matrices[5][:2, 2], abs=0.1)
