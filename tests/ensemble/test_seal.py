"""Damage inside a finished ensemble is found, whatever the storage says of it."""

import netCDF4
import numpy as np
import pytest

from sim.ensemble.opening import open_ensemble, open_traces
from sim.ensemble.run import disperse
from sim.ensemble.seal import check_seal, seal
from sim.errors import UserMistake
from tests.ensemble.stand_in import Scenario, fly, fly_trace


@pytest.fixture
def whole(tmp_path):
    path = tmp_path / "a.nc"
    disperse(
        Scenario(), flights=400, fly=fly, out=path, trace_runs=[1], fly_trace=fly_trace
    ).close()  # fmt: skip
    open_ensemble(path).close()
    return path


def overwrite(path, found, new):
    content = path.read_bytes()
    assert content.count(found) == 1
    path.write_bytes(content.replace(found, new))


@pytest.mark.parametrize("part", [slice(0, 400), slice(0, 200), slice(7, 8)])
def test_open_ensemble__zeros_where_numbers_were(whole, part):
    """All zeros is what netCDF's own checksum would take for whole."""
    with open_ensemble(whole) as ds:
        values = ds["touchdown_speed"].to_numpy()
    wrong = values.copy()
    wrong[part] = 0.0
    overwrite(whole, values.tobytes(), wrong.tobytes())
    told = r"a\.nc is damaged: what it holds as touchdown_speed is not.*fly it again"
    with pytest.raises(UserMistake, match=told):
        open_ensemble(whole)


def test_open_ensemble__words_that_were_changed(whole):
    with netCDF4.Dataset(whole, "a") as file:
        file.setncattr("comment", "kept in a drawer")  # which is nobody's business
    open_ensemble(whole).close()
    with netCDF4.Dataset(whole, "a") as file:
        file.setncattr("seed", np.int64(7))
    with pytest.raises(UserMistake, match="holds as attributes is not"):
        open_ensemble(whole)


def test_open_traces__a_trace_that_was_changed(whole):
    with netCDF4.Dataset(whole, "a") as file:
        file["traces"]["tilt"][0, 3] = 9.0
    with pytest.raises(UserMistake, match=r"holds as traces\.tilt"):
        open_traces(whole)


def test_check_seal__without_checksums_it_has_to_be_readable(whole, tmp_path):
    """A file of an earlier version, or of one that netCDF itself calls unreadable."""
    with netCDF4.Dataset(tmp_path / "b.nc", "w") as file:
        file.createDimension("run", 4_000)
        packed = file.createVariable("tilt", "f8", ("run",), zlib=True, fletcher32=True)
        packed[:] = np.random.default_rng(1).random(4_000)
    check_seal(tmp_path / "b.nc")
    content = bytearray((tmp_path / "b.nc").read_bytes())
    content[-9_000] ^= 1
    (tmp_path / "b.nc").write_bytes(content)
    with pytest.raises(UserMistake, match="holds as tilt"):
        check_seal(tmp_path / "b.nc")


def test_seal__twice_is_the_same(whole):
    before = whole.read_bytes()
    seal(whole)
    assert whole.read_bytes() == before
