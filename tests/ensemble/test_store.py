"""Nothing finished is ever lost: kills, full disks, damage, strangers, two runs at once."""

import errno
import os
import random
import re
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import netCDF4
import pytest

from sim.ensemble import run, store
from sim.ensemble.opening import open_ensemble
from sim.ensemble.run import disperse, sweep
from sim.ensemble.store import Interrupted, parts_folder
from sim.errors import RunFailure, UserMistake
from tests.ensemble.stand_in import Law, Scenario, fly

FLIGHTS = {"flights": 400, "chunk": 20, "fly": fly}

KILLED = """
import sys, time
from sim.ensemble.opening import open_ensemble  # what a run imports, before the clock starts
from sim.ensemble.run import disperse
from tests.ensemble.stand_in import Scenario, fly
import netCDF4, xarray

def slow(*given):
    time.sleep(0.01)
    return fly(*given)

print("ready", flush=True)
disperse(Scenario(), flights=400, chunk=20, fly=slow, workers=2, out=sys.argv[1]).close()
print("done", flush=True)
"""


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """Bytes of an ensemble that was never interrupted."""
    path = tmp_path_factory.mktemp("whole") / "whole.nc"
    disperse(Scenario(), out=path, **FLIGHTS).close()
    return path.read_bytes()


def stop_after(n, problem=KeyboardInterrupt):
    def progress(done, total):
        if done >= n:
            raise problem

    return progress


def interrupted(path, flights=100, **options):
    """Leave a run of which some chunks are finished."""
    with pytest.raises(Interrupted):
        disperse(Scenario(), out=path, progress=stop_after(flights), **FLIGHTS | options)


def start(path):
    process = subprocess.Popen(
        [sys.executable, "-c", KILLED, str(path)],
        stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
    )
    assert process.stdout.readline() == b"ready\n"
    return process


def kill_and_resume(folder, whole, times, chance):
    """Kill one run after another at random moments until one gets through; returns the kills."""
    path = folder / "a.nc"
    path.write_bytes(whole)
    earlier = path.read_bytes()
    kills = 0
    for attempt in range(times + 1):
        with start(path) as process:
            if attempt < times:
                time.sleep(chance.uniform(0, 0.45))
                process.kill()
            said = process.stdout.read()
        kills += said != b"done\n"
        with netCDF4.Dataset(path) as file:  # whole at every moment
            assert file.dimensions["run"].size == 400
        assert path.read_bytes() == earlier
        for shard in parts_folder(path).glob("*.npy"):
            assert int(shard.name.split(".")[1], 16) == store.zlib.crc32(shard.read_bytes())
    assert said == b"done\n"
    assert sorted(p.name for p in folder.iterdir()) == ["a.nc"]
    return kills


@pytest.mark.slow
def test_store__killed_at_random_moments_ends_with_the_same_bytes(tmp_path, whole):
    assert kill_and_resume(tmp_path, whole, times=2, chance=random.Random(4)) > 0


def test_store__killed_run_is_gone_on_with_not_begun_again(tmp_path, whole):
    path = tmp_path / "a.nc"
    with start(path) as process:
        while len(list(parts_folder(path).glob("*.npy"))) < 5:
            time.sleep(0.005)
        process.kill()
    flown = []

    def counting(scenario, seed, runs, values):
        flown.extend(runs)
        return fly(scenario, seed, runs, values)

    said = []
    disperse(Scenario(), out=path, tell=said.append, **FLIGHTS | {"fly": counting}).close()
    assert len(flown) <= 300
    assert path.read_bytes() == whole
    assert said[0].startswith("going on: ")


def test_store__ctrl_c_says_how_to_go_on(tmp_path, whole):
    path = tmp_path / "a.nc"
    with pytest.raises(Interrupted, match=r"100 of 400 flights are safe.*same command to go on"):
        disperse(Scenario(), out=path, progress=stop_after(100), workers=1, **FLIGHTS)
    assert not path.exists()
    disperse(Scenario(), out=path, **FLIGHTS).close()
    assert path.read_bytes() == whole


def test_store__ctrl_c_before_anything_leaves_nothing(tmp_path):
    with pytest.raises(Interrupted, match="Nothing was finished"):
        disperse(Scenario(), out=tmp_path / "a.nc", progress=stop_after(0), **FLIGHTS)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(Interrupted, match="Nothing is kept"):
        disperse(Scenario(), progress=stop_after(100), **FLIGHTS)


def test_store__sweep_goes_on(tmp_path):
    vary = "launch_pad.tilt=0, 0.5, 1 deg"
    sweep(Scenario(), vary, out=tmp_path / "whole.nc", **FLIGHTS).close()
    with pytest.raises(Interrupted, match="of 1200 flights"):
        sweep(Scenario(), vary, out=tmp_path / "a.nc", progress=stop_after(500), **FLIGHTS)
    sweep(Scenario(), vary, out=tmp_path / "a.nc", **FLIGHTS).close()
    assert (tmp_path / "a.nc").read_bytes() == (tmp_path / "whole.nc").read_bytes()


def test_write_whole__flushes_file_then_name(tmp_path, monkeypatch):
    path = tmp_path / "a"
    seen = []

    def flush(handle):
        what = "folder" if os.path.samestat(os.fstat(handle), tmp_path.stat()) else "file"
        seen.append((what, path.exists()))

    monkeypatch.setattr(os, "fsync", flush)
    store.write_whole(path, b"data")
    assert seen == [("file", False), ("folder", True)]
    assert path.read_bytes() == b"data"
    assert sorted(tmp_path.iterdir()) == [path]


# -- another run's chunks ----------------------------------------------------------------------


def tilted():
    tilt = replace(Scenario().numbers["launch_pad.tilt"], law=Law("normal", (0.0, 0.009)))
    return Scenario(numbers=Scenario().numbers | {"launch_pad.tilt": tilt})


@pytest.mark.parametrize(
    ("scenario", "options", "words"),
    [
        (tilted(), {}, r"scenario: was launch_pad.tilt = normal \(0.0, 0.005\); is .*0.009"),
        (Scenario(), {"seed": 2}, "seed: 1 before, 2 now"),
        (Scenario(), {"flights": 800}, "number of flights: 400 before, 800 now"),
        (Scenario(), {"chunk": 10}, "chunk size: 20 before, 10 now"),
        (Scenario(), {"method": "sobol"}, "sampling method: random before, sobol now"),
        (Scenario(), {"kernel": "abc"}, "source of the flight code"),
    ],
)
def test_store__another_run_is_refused_with_what_changed(tmp_path, scenario, options, words):
    path = tmp_path / "a.nc"
    interrupted(path)
    kept = sorted(parts_folder(path).iterdir())
    with pytest.raises(UserMistake, match=words) as caught:
        disperse(scenario, out=path, **FLIGHTS | options)
    assert "delete that folder to start anew" in str(caught.value)
    assert sorted(parts_folder(path).iterdir()) == kept


def test_store__another_version_is_refused(tmp_path, monkeypatch):
    interrupted(tmp_path / "a.nc")
    monkeypatch.setattr("sim.ensemble.manifest.setdown_version", lambda: "99.0")
    with pytest.raises(UserMistake, match=r"version of setdown: .* before, 99\.0 now"):
        disperse(Scenario(), out=tmp_path / "a.nc", **FLIGHTS)


def test_store__another_version_may_fly_the_rest_and_the_file_says_so(tmp_path, monkeypatch):
    path = tmp_path / "a.nc"
    disperse(Scenario(), out=path, **FLIGHTS).close()
    with netCDF4.Dataset(path) as file:
        assert "earlier_versions" not in file.ncattrs()
        program = file.program
        before = {name: file[name][:].tobytes() for name in file.variables}
    path.unlink()
    interrupted(path, kernel="abc")
    monkeypatch.setattr("sim.ensemble.manifest.setdown_version", lambda: "99.0")
    monkeypatch.setattr("sim.ensemble.manifest.source_hash", lambda: "another")
    with pytest.raises(UserMistake, match=r"source of the program: .*--allow-other-version"):
        disperse(Scenario(), out=path, **FLIGHTS)
    with pytest.raises(UserMistake, match="seed: 1 before, 2 now"):  # that is no version
        disperse(Scenario(), out=path, seed=2, allow_other_version=True, **FLIGHTS)
    said = []
    with pytest.raises(Interrupted):
        disperse(
            Scenario(), out=path, allow_other_version=True, tell=said.append,
            progress=stop_after(200), **FLIGHTS,
        )  # fmt: skip
    assert "another version flew a part" in said[-1]
    disperse(Scenario(), out=path, **FLIGHTS).close()  # remembered, and asked for once
    with netCDF4.Dataset(path) as file:
        assert re.fullmatch(
            rf"1\d\d of 400 flights were finished when setdown .* \(flight code abc, sources "
            rf"{program}\) stopped",
            file.earlier_versions,
        )
        assert (file.setdown_version, file.program) == ("99.0", "another")
        assert {name: file[name][:].tobytes() for name in file.variables} == before


def test_store__a_sweep_is_not_an_ensemble(tmp_path):
    interrupted(tmp_path / "a.nc")
    with pytest.raises(UserMistake, match=r"what is varied: nothing before, launch_pad\.tilt at 2"):
        sweep(Scenario(), "launch_pad.tilt=0, 1 deg", out=tmp_path / "a.nc", **FLIGHTS)


def test_store__unreadable_record_is_not_guessed_at(tmp_path):
    interrupted(tmp_path / "a.nc")
    (parts_folder(tmp_path / "a.nc") / "manifest.json").write_text('{"format": 99}')
    with pytest.raises(RunFailure, match=r"manifest\.json cannot be read.*start anew"):
        disperse(Scenario(), out=tmp_path / "a.nc", **FLIGHTS)


# -- damage ------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", [0, 5000])
def test_store__flipped_byte_is_flown_again_and_said(tmp_path, whole, place):
    path = tmp_path / "a.nc"
    interrupted(path)
    shard = sorted(parts_folder(path).glob("*.npy"))[1]
    data = bytearray(shard.read_bytes())
    data[place] ^= 1
    shard.write_bytes(data)
    said = []
    disperse(Scenario(), out=path, tell=said.append, **FLIGHTS).close()
    first = int(shard.name[:6]) * 20
    assert said[0] == (
        f"{shard.name} is damaged (checksum): runs {first} to {first + 19} fly again"
    )
    assert path.read_bytes() == whole


def test_store__chunks_removed_under_the_run(tmp_path, whole):
    path = tmp_path / "a.nc"

    def remove(done, total):
        if done == total:
            next(parts_folder(path).glob("000003-*.npy")).unlink()

    with pytest.raises(RunFailure, match="damaged or removed while the run went on"):
        disperse(Scenario(), out=path, progress=remove, **FLIGHTS)
    disperse(Scenario(), out=path, **FLIGHTS).close()
    assert path.read_bytes() == whole


def test_store__folder_removed_under_the_run(tmp_path):
    path = tmp_path / "a.nc"

    def remove(done, total):
        if done == 100:
            for file in parts_folder(path).iterdir():
                file.unlink()
            parts_folder(path).rmdir()

    with pytest.raises(RunFailure, match="cannot be written"):
        disperse(Scenario(), out=path, progress=remove, **FLIGHTS)


def test_store__a_clock_set_back_does_not_matter(tmp_path, whole, monkeypatch):
    path = tmp_path / "a.nc"
    path.write_bytes(b"earlier")
    interrupted(path)
    for file in [path, *parts_folder(path).iterdir()]:
        os.utime(file, (4e9, 4e9))
    monkeypatch.setattr(time, "time", lambda: 0.0)
    flown = []

    def counting(scenario, seed, runs, values):
        flown.extend(runs)
        return fly(scenario, seed, runs, values)

    disperse(Scenario(), out=path, **FLIGHTS | {"fly": counting}).close()
    assert len(flown) <= 300
    assert path.read_bytes() == whole


# -- no room, no permission, two at once -------------------------------------------------------


def no_room(*_):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_store__full_disk_keeps_what_is_finished(tmp_path, whole, monkeypatch):
    path = tmp_path / "a.nc"
    path.write_bytes(b"earlier")
    calls = []

    def filling(handle):
        calls.append(handle)
        if len(calls) > 20:
            no_room()

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", filling)
        with pytest.raises(RunFailure, match=r"is full\. \d+ of 400 flights are safe.*make room"):
            disperse(Scenario(), out=path, **FLIGHTS)
    assert path.read_bytes() == b"earlier"
    assert not list(parts_folder(path).glob("*.tmp"))
    assert list(parts_folder(path).glob("*.npy"))
    disperse(Scenario(), out=path, **FLIGHTS).close()
    assert path.read_bytes() == whole


@pytest.mark.parametrize("problem", [OSError(errno.ENOSPC, "no room"), RuntimeError("HDF error")])
def test_store__full_disk_while_merging(tmp_path, whole, monkeypatch, problem):
    path = tmp_path / "a.nc"
    path.write_bytes(b"earlier")

    def torn(written, *_args, **_options):
        written.write_bytes(b"half")
        raise problem

    with monkeypatch.context() as patch:
        patch.setattr(run, "write_netcdf", torn)
        with pytest.raises(RunFailure, match="400 of 400 flights are safe"):
            disperse(Scenario(), out=path, **FLIGHTS)
    assert path.read_bytes() == b"earlier"
    assert not list(parts_folder(path).glob("*.tmp"))
    disperse(Scenario(), out=path, **FLIGHTS).close()
    assert path.read_bytes() == whole


def test_store__output_that_cannot_be(tmp_path, monkeypatch):
    with pytest.raises(UserMistake, match="does not exist; make it"):
        disperse(Scenario(), out=tmp_path / "nowhere" / "a.nc", **FLIGHTS)
    with pytest.raises(UserMistake, match="is a folder"):
        disperse(Scenario(), out=tmp_path, **FLIGHTS)

    def read_only(*_args, **_options):
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", read_only)
    with pytest.raises(UserMistake, match=r"cannot write in the folder .*Permission denied"):
        disperse(Scenario(), out=tmp_path / "a.nc", **FLIGHTS)


def test_store__second_run_on_one_output_refuses(tmp_path, whole):
    path = tmp_path / "a.nc"
    refused = []

    def again(done, total):
        if done == 100:
            with pytest.raises(UserMistake, match="another run is writing") as caught:
                disperse(Scenario(), out=path, **FLIGHTS)
            refused.append(caught)

    disperse(Scenario(), out=path, progress=again, workers=1, **FLIGHTS).close()
    assert refused
    assert path.read_bytes() == whole


def test_store__failing_run_never_harms_the_earlier_ensemble(tmp_path, whole):
    path = tmp_path / "a.nc"
    disperse(Scenario(), out=path, **FLIGHTS).close()

    def failing(scenario, seed, runs, values):
        if runs[0] >= 200:
            raise ZeroDivisionError("no")
        return fly(scenario, seed, runs, values)

    with pytest.raises(RunFailure, match="runs 200 to 219 could not be flown"):
        disperse(Scenario(), out=path, seed=2, workers=1, **FLIGHTS | {"fly": failing})
    assert path.read_bytes() == whole
    with open_ensemble(path) as dataset:
        assert dataset.attrs["seed"] == 1


def test_store__leftovers_of_a_killed_tidying_are_cleared(tmp_path, whole):
    path = tmp_path / "a.nc"
    interrupted(path)
    (parts_folder(path) / "manifest.json").unlink()
    (parts_folder(path) / "merged.nc.tmp").write_bytes(b"half")
    disperse(Scenario(), out=path, seed=1, **FLIGHTS).close()
    assert path.read_bytes() == whole
    assert not parts_folder(path).exists()
