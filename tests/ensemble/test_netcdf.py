"""The file: the same bytes every time, CF attributes, nothing of the clock."""

import importlib.util
import os
import re
from types import SimpleNamespace

import netCDF4
import numpy as np
import pytest

from sim.ensemble import netcdf
from sim.ensemble.run import disperse, sweep
from tests.ensemble.stand_in import Scenario, fly, fly_trace


def make(path, **options):
    options = {"flights": 300, "fly": fly, "trace_runs": [1, 5], "fly_trace": fly_trace} | options
    disperse(Scenario(), out=path, command="setdown disperse a.toml", **options).close()
    return path.read_bytes()


def test_write_netcdf__same_ensemble_same_bytes(tmp_path):
    first = make(tmp_path / "a.nc")
    os.utime(tmp_path / "a.nc", (0, 0))
    assert make(tmp_path / "b.nc") == first
    assert make(tmp_path / "a.nc", workers=1, chunk=16) == first
    assert make(tmp_path / "c.nc", seed=2) != first


def test_write_netcdf__blocks_do_not_depend_on_chunks(tmp_path, monkeypatch):
    monkeypatch.setattr(netcdf, "_BLOCK", 64)
    first = make(tmp_path / "a.nc", chunk=64)
    for chunk in (7, 100):
        assert make(tmp_path / "b.nc", chunk=chunk) == first
    for path in (tmp_path / "c.nc", tmp_path / "d.nc"):
        sweep(
            Scenario(), "launch_pad.tilt=0, 1 deg", flights=200, fly=fly, out=path,
            chunk=30 if path.name == "c.nc" else 200,
        ).close()  # fmt: skip
    assert (tmp_path / "c.nc").read_bytes() == (tmp_path / "d.nc").read_bytes()


def test_blocks__the_one_that_decides_about_compressing_is_read_once():
    asked = []

    def read(task):
        asked.append(task)
        return np.full((2, 10), float(task[0]))

    manifest = SimpleNamespace(span=lambda chunk: (10 * chunk, 10 * chunk + 10))
    blocks = netcdf._Blocks(manifest, read, [0, 1])
    first = blocks.block(0, 0)
    assert np.array_equal(first, blocks.block(0, 0))
    assert asked == [(0, 0), (1, 0)]
    blocks.block(0, 1)
    blocks.block(0, 0)
    assert asked == [(0, 0), (1, 0), (0, 1), (1, 1), (0, 0), (1, 0)]


def test_write_netcdf__global_attributes(tmp_path):
    make(tmp_path / "a.nc")
    with netCDF4.Dataset(tmp_path / "a.nc") as file:
        found = {name: file.getncattr(name) for name in file.ncattrs()}
        assert file.dimensions["run"].size == 300
        assert not file.dimensions["run"].isunlimited()
    assert found["Conventions"] == "CF-1.11"
    assert found["scenario"] == Scenario().text
    assert found["scenario_digest"] == Scenario().digest
    assert found["success_predicate"] == "touchdown_speed = < 2.5 m/s\ntilt = < 8 deg"
    assert (found["seed"], found["flights"], found["sampling_method"]) == (1, 300, "random")
    assert found["command"] == "setdown disperse a.toml"
    assert "range safety officer" in found["comment"]
    assert "numpy" in found["libraries"]
    # no date or time of day in any attribute
    assert not re.search(r"\d{4}-\d\d-\d\d|\d\d:\d\d", " ".join(map(str, found.values())))


def test_write_netcdf__inputs_are_described(tmp_path):
    make(tmp_path / "a.nc")
    with netCDF4.Dataset(tmp_path / "a.nc") as file:
        tilt = file["launch_pad__tilt"]
        assert tilt.scenario_key == "launch_pad.tilt"
        assert tilt.units == "rad"
        assert tilt.law == "normal 0 0.005"
        assert tilt.source == "invented"
        assert not tilt.filters()["zlib"]  # random digits
        assert not file["miss_distance"].filters()["zlib"]  # nearly so
        packed = file["outcome"].filters()
        assert packed["zlib"]
        assert packed["shuffle"]
        assert packed["complevel"] == 1
        noise = file["gyro__noise"]
        assert "units" not in noise.ncattrs()
        assert noise.comment == "in rad/s/sqrt(Hz)"
        assert file["run"][:].tolist() == list(range(300))
        assert np.isnan(file["touchdown_speed"]._FillValue)


@pytest.mark.skipif(
    importlib.util.find_spec("compliance_checker") is None,
    reason="compliance-checker is a development extra",
)
def test_write_netcdf__passes_the_cf_checker(tmp_path):
    from compliance_checker.runner import CheckSuite, ComplianceChecker

    make(tmp_path / "a.nc")
    CheckSuite.load_all_available_checkers()
    passed, errors = ComplianceChecker.run_checker(
        ds_loc=str(tmp_path / "a.nc"), checker_names=["cf:1.11"], verbose=0, criteria="strict",
        output_filename=str(tmp_path / "report.txt"),
    )  # fmt: skip
    assert passed, (tmp_path / "report.txt").read_text()
    assert not errors
