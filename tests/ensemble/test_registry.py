"""The registry, and a fresh file held against it."""

import netCDF4
import numpy as np
import pytest

from sim.ensemble.registry import (
    CONTACT_POINTS,
    OUTCOME_MEANINGS,
    OUTCOMES,
    TRACES,
    attributes,
    axis_name,
    input_name,
    input_units,
    markdown_table,
)
from sim.ensemble.run import disperse
from tests.ensemble.stand_in import Scenario, fly, fly_trace

BASE_UNITS = {"m", "s", "kg", "rad", "N", "Pa", "1"}


def test_outcomes__flags_are_as_agreed():
    # the numbers are stored in files: meanings may be added at the end, never moved
    assert OUTCOME_MEANINGS[:8] == (
        "feet_first", "off_landing_pad", "airframe_first", "tumbled", "landing_motor_unlit",
        "never_came_down", "never_left_launch_pad", "numerical_failure",
    )  # fmt: skip
    assert CONTACT_POINTS == ("none", "foot", "nozzle", "tail_ring", "nose")


@pytest.mark.parametrize("variable", [*OUTCOMES.values(), *TRACES.values()], ids=lambda v: v.name)
def test_variables__are_described(variable):
    assert variable.name.isidentifier()
    assert variable.long_name
    assert "\n" not in variable.long_name
    for factor in variable.units.split():
        assert factor.rstrip("-0123456789") in BASE_UNITS or factor == "1"
    if variable.flags:
        assert variable.units == "1"
        assert attributes(variable)["flag_values"].dtype == variable.dtype
        assert all(flag.isidentifier() for flag in variable.flags)


def test_fresh_file__is_what_the_registry_says(tmp_path):
    path = tmp_path / "a.nc"
    disperse(Scenario(), flights=20, out=path, fly=fly, trace_runs=[1], fly_trace=fly_trace).close()
    with netCDF4.Dataset(path) as file:
        inputs = {name for name, v in file.variables.items() if "law" in v.ncattrs()}
        assert set(file.variables) - inputs - {"run"} == set(OUTCOMES)
        for group, table in ((file, OUTCOMES), (file["traces"], TRACES)):
            for name, variable in group.variables.items():
                if name not in table:
                    continue
                row = table[name]
                assert variable.dtype == np.dtype(row.dtype)
                assert variable.dimensions == row.dims
                for key, value in attributes(row).items():
                    assert np.all(variable.getncattr(key) == value)
                assert ("_FillValue" in variable.ncattrs()) == (row.dtype in ("f8", "f4"))


def test_names__in_the_file():
    assert input_name("inertial.gyro.bias.x") == "inertial__gyro__bias__x"
    assert axis_name("launch_pad.tilt") == "launch_pad_tilt"


def test_input_units__what_udunits_cannot_say():
    assert input_units("m/s") == "m/s"
    assert input_units("") == "1"
    assert input_units("rad/s/sqrt(Hz)") is None


def test_markdown_table__a_row_each():
    table = markdown_table(OUTCOMES.values())
    assert table.count("\n") == len(OUTCOMES) + 1
    assert "| `tilt` | rad |" in table
    assert "7 numerical_failure" in table
