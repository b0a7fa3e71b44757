"""Density of the air against the US Standard Atmosphere 1976, gravity with height."""

from __future__ import annotations

import ambiance
import numpy as np
import pytest

from sim.ensemble.gravity import gravity_line
from tests.outside import outside_check
from tests.physics.room_kernels import in_lanes, inputs_of, lanes, run_air

GAS_CONSTANT = 287.05287


def air_at(heights, **numbers):
    """Density and gravity at heights above the launch point."""
    rows, count = in_lanes(heights)
    out = np.zeros((2 * len(rows), 8))
    run_air(lanes(), rows, inputs_of(**numbers), out)
    return out[0::2].ravel()[:count], out[1::2].ravel()[:count]


# US Standard Atmosphere, 1976 (NOAA-S/T 76-1562; from memory, two libraries agree); R2.2
TABLE = {
    0: 1.225000, 50: 1.219131, 100: 1.213283, 200: 1.201652, 500: 1.167273, 1000: 1.111660,
    1500: 1.058104, 2000: 1.006554, 3000: 0.909254,
}  # fmt: skip
SEA_LEVEL = {"air_density": 101325.0 / (GAS_CONSTANT * 288.15), "air_temperature": 288.15}


def test_density__standard_table():
    density, _ = air_at(list(TABLE), **SEA_LEVEL)
    outside_check(
        what="density of the standard day, 0 to 3000 m",
        source="US Standard Atmosphere 1976; R2.2, formulas from memory, two libraries agree",
        expected=list(TABLE.values()), got=density, tolerance=6e-7, unit="kg/m3",
    )  # fmt: skip


def test_density__ambiance():
    # the package's own implementation of the standard (ICAO), heights geometric
    heights = np.linspace(0.0, 10000.0, 41)
    density, _ = air_at(heights, **SEA_LEVEL)
    outside_check(
        what="density of the standard day, 0 to 10 km, 41 heights",
        source="package ambiance (ICAO)", expected=ambiance.Atmosphere(heights).density,
        got=density, relative=2e-6, unit="kg/m3",
    )  # fmt: skip


@pytest.mark.parametrize("elevation", [120.0, 1500.0, 3000.0])
def test_density__from_a_field_above_the_sea(elevation):
    # with the standard's own reading at the field, the standard's air above it
    field = ambiance.Atmosphere(elevation)
    heights = np.array([0.0, 30.0, 200.0, 1000.0, 3000.0])
    density, _ = air_at(
        heights,
        elevation=elevation,
        air_temperature=field.temperature[0],
        air_density=field.pressure[0] / (GAS_CONSTANT * field.temperature[0]),
    )
    expected = ambiance.Atmosphere(elevation + heights).density
    outside_check(
        what=f"density over a field at {elevation:.0f} m, from its own readings",
        source="package ambiance (ICAO)", expected=expected, got=density, relative=2e-6,
        unit="kg/m3",
    )  # fmt: skip


def test_density__warm_day_is_thinner():
    # rho = p / (R T); R2.4: +15 K at the same pressure, 4.95 % less
    warm, _ = air_at([0.0], air_density=101325.0 / (GAS_CONSTANT * 303.15), air_temperature=303.15)
    outside_check(
        what="density 15 K above the standard day, change", source="gas law; R2.4, recomputed",
        expected=-0.0495, got=warm[0] / 1.225 - 1.0, tolerance=5e-5, unit="1",
    )  # fmt: skip


# World Geodetic System 1984 (NIMA TR8350.2); R2.6 and R2.7, constants from memory
@pytest.mark.parametrize(
    ("latitude", "at_200", "at_1000"), [(45.0, 9.805581, 9.803113), (60.0, 9.818560, 9.816093)]
)
def test_gravity__line_that_the_kernel_follows(latitude, at_200, at_1000):
    here, slope, curvature = gravity_line("normal", np.deg2rad(latitude), 0.0)
    _, gravity = air_at(
        [200.0, 1000.0], gravity=here, gravity_slope=slope, gravity_curvature=curvature,
        air_temperature=288.15,
    )  # fmt: skip
    outside_check(
        what=f"gravity in flight at {latitude:.0f} deg, 200 and 1000 m",
        source="WGS 84 (NIMA TR8350.2); R2.6 and R2.7, constants from memory",
        expected=[at_200, at_1000], got=gravity, tolerance=6e-7, unit="m/s2",
    )  # fmt: skip
