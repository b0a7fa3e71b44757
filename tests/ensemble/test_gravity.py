"""Normal gravity against WGS 84 (NIMA TR8350.2, constants from memory)."""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.gravity import gravity_line, normal_gravity
from tests.outside import outside_check

LATITUDES = (0.0, 15.0, 30.0, 35.0, 45.0, 52.0, 60.0, 90.0)
# R2.6, computed there from the defining constants
TABLE = {
    0.0: (9.78032534, 9.78378496, 9.79324727, 9.79733601, 9.80619777, 9.81247408, 9.81917695,
          9.83218494),
    200.0: (9.779708, 9.783168, 9.792630, 9.796719, 9.805581, 9.811857, 9.818560, 9.831568),
    1000.0: (9.777238, 9.780698, 9.790161, 9.794250, 9.803113, 9.809390, 9.816093, 9.829102),
}  # fmt: skip


@pytest.mark.parametrize("height", TABLE)
def test_normal_gravity__table(height):
    digits = 6e-9 if height == 0.0 else 6e-7
    outside_check(
        what=f"gravity at {height:.0f} m, eight latitudes",
        source="WGS 84 (NIMA TR8350.2); R2.6, constants from memory", expected=TABLE[height],
        got=normal_gravity(np.deg2rad(LATITUDES), height), tolerance=digits, unit="m/s2",
    )  # fmt: skip


def test_normal_gravity__is_the_same_on_both_sides_of_the_equator():
    assert normal_gravity(np.deg2rad(-47.0), 120.0) == normal_gravity(np.deg2rad(47.0), 120.0)


def test_gravity_line__free_air_gradient():
    # Heiskanen and Moritz, Physical Geodesy (from memory); R2.7
    _, slope, _ = gravity_line("normal", np.deg2rad(45.0), 0.0)
    outside_check(
        what="free-air gradient of gravity at 45 deg",
        source="Heiskanen and Moritz, Physical Geodesy (1967); R2.7, from memory",
        expected=-3.0855e-6, got=slope, tolerance=5e-11, unit="1/s2",
    )  # fmt: skip


@pytest.mark.parametrize("elevation", [0.0, 120.0, 2500.0])
def test_gravity_line__follows_the_series_from_any_field(elevation):
    here, slope, curvature = gravity_line("normal", 0.8, elevation)
    for z in (0.0, 55.0, 1200.0):
        along = here + slope * z + curvature * z**2
        assert along == pytest.approx(normal_gravity(0.8, elevation + z), rel=1e-14)


def test_gravity_line__other_laws():
    assert gravity_line("standard", 0.1, 900.0) == (9.80665, 0.0, 0.0)
    assert gravity_line("none", 0.1, 900.0) == (0.0, 0.0, 0.0)
