"""Opening what is there, and what is not."""

import netCDF4
import numpy as np
import pytest

from sim.ensemble.opening import open_ensemble, open_traces
from sim.ensemble.run import disperse, sweep
from sim.ensemble.store import Interrupted, parts_folder
from sim.errors import RunFailure, UserMistake
from tests.ensemble.stand_in import Scenario, fly, fly_trace


def stop_after(n):
    """Make a progress function that presses Ctrl-C when n flights are done."""

    def progress(done, total):
        if done >= n:
            raise KeyboardInterrupt

    return progress


def test_open_ensemble__not_there(tmp_path):
    (tmp_path / "other.nc").touch()
    with pytest.raises(UserMistake, match=r"heron\.nc does not exist.*other\.nc.*setdown disperse"):
        open_ensemble(tmp_path / "heron.nc")
    with pytest.raises(UserMistake, match="does not exist"):
        open_ensemble(tmp_path / "nowhere" / "heron.nc")
    with pytest.raises(UserMistake, match="is a folder"):
        open_ensemble(tmp_path)


def test_open_ensemble__not_netcdf(tmp_path):
    path = tmp_path / "a.nc"
    path.write_text("name, value\n")
    with pytest.raises(UserMistake, match="cannot be read as netCDF"):
        open_ensemble(path)


def test_open_ensemble__foreign(tmp_path):
    path = tmp_path / "a.nc"
    with netCDF4.Dataset(path, "w") as file:
        file.createDimension("run", 3)
    with pytest.raises(UserMistake, match="not an ensemble of setdown"):
        open_ensemble(path)


def test_open_ensemble__unfinished(tmp_path):
    path = tmp_path / "a.nc"
    options = {"flights": 1000, "chunk": 100, "workers": 1, "out": path, "fly": fly}
    with pytest.raises(Interrupted, match="300 of 1000 flights are safe"):
        disperse(Scenario(), progress=stop_after(300), **options)
    with pytest.raises(UserMistake, match=r"is not finished.*unfinished=True"):
        open_ensemble(path)
    before = sorted(parts_folder(path).iterdir())
    part = open_ensemble(path, unfinished=True)
    assert part.attrs["unfinished"] == "300 of 1000 runs are finished"
    assert part.run.values.tolist() == list(range(300))
    assert sorted(parts_folder(path).iterdir()) == before
    whole = disperse(Scenario(), **options)
    assert "unfinished" not in whole.attrs
    assert part.drop_attrs().identical(whole.isel(run=slice(300)).load().drop_attrs())
    with open_ensemble(path, unfinished=True) as again:  # nothing unfinished: the file itself
        assert again.sizes["run"] == 1000
    whole.close()


def test_open_ensemble__unfinished_with_damage_and_without_record(tmp_path):
    path = tmp_path / "a.nc"
    options = {"flights": 1000, "chunk": 100, "workers": 1, "out": path, "fly": fly}
    with pytest.raises(Interrupted):
        disperse(Scenario(), progress=stop_after(300), **options)
    shard = sorted(parts_folder(path).glob("*.npy"))[1]
    shard.write_bytes(shard.read_bytes()[:-1])
    part = open_ensemble(path, unfinished=True)
    assert part.run.values.tolist() == [*range(100), *range(200, 300)]
    assert shard.exists()
    (parts_folder(path) / "manifest.json").write_text("{")
    with pytest.raises(RunFailure, match="start anew"):
        open_ensemble(path, unfinished=True)


def test_open_ensemble__unfinished_sweep_has_whole_rows(tmp_path):
    path = tmp_path / "a.nc"
    with pytest.raises(Interrupted):
        sweep(
            Scenario(), "launch_pad.tilt=0, 0.5, 1 deg", flights=100, chunk=10, workers=1,
            out=path, fly=fly, progress=stop_after(50),
        )  # fmt: skip
    assert open_ensemble(path, unfinished=True).sizes == {"run": 10, "launch_pad_tilt": 3}


def test_open_traces__with_and_without(tmp_path):
    path = tmp_path / "a.nc"
    disperse(Scenario(), flights=9, out=path, fly=fly).close()
    with pytest.raises(UserMistake, match="has no traces"):
        open_traces(path)
    disperse(
        Scenario(), flights=9, out=path, fly=fly, trace_runs=[5, 2], fly_trace=fly_trace
    ).close()
    with open_traces(path) as traces:
        assert traces.trace_run.values.tolist() == [2, 5]
        assert traces.attrs["featureType"] == "trajectory"
        assert set(traces.tilt.dims) == {"trace", "obs"}
        series = fly_trace(None, 1, 2, {})[1]["tilt"]
        row = traces.tilt.values[0]
        assert np.allclose(row[: len(series)], series)
        assert np.isnan(row[len(series) :]).all()
