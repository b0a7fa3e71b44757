"""Disks that are really full or read-only: a small file system in memory, made for the test."""

import os
import subprocess
import sys
from contextlib import contextmanager

import pytest

from sim.ensemble.registry import OUTCOMES
from sim.ensemble.run import disperse
from sim.ensemble.store import parts_folder
from sim.errors import RunFailure, UserMistake
from tests.ensemble.stand_in import Scenario, fly

FLIGHTS = {"flights": 2000, "chunk": 100, "fly": fly}
EARLIER = b"an earlier ensemble"


@contextmanager
def mounted(folder, size):
    """Mount a file system of so many bytes."""
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("to mount a file system takes Linux and its administrator")
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "setdown-test", str(folder)],
        capture_output=True, text=True,
    )  # fmt: skip
    if done.returncode:
        pytest.skip(f"no file system can be mounted here: {done.stderr.strip()}")
    try:
        yield folder
    finally:
        # lazily: the netCDF library holds on to a file that it could not write to the end
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def remount(folder, option):
    subprocess.run(["mount", "-o", f"remount,{option}", str(folder)], check=True)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    path = tmp_path_factory.mktemp("whole") / "a.nc"
    disperse(Scenario(), out=path, **FLIGHTS).close()
    return path.read_bytes()


def room_for_chunks():
    """Bytes that all finished chunks take, in pages."""
    columns = sum(n.law.kind != "fixed" for n in Scenario().numbers.values()) + len(OUTCOMES)
    return 20 * -(-(columns * 100 * 8 + 128) // 4096) * 4096


@pytest.mark.parametrize("moment", ["flying", "merging"])
def test_disk__full_then_made_larger(tmp_path, whole, moment):
    half = room_for_chunks() // 2
    size, flown = (half, r"\d+") if moment == "flying" else (2 * half + len(whole) // 2, "2000")
    with mounted(tmp_path, size) as folder:
        path = folder / "a.nc"
        path.write_bytes(EARLIER)
        with pytest.raises(RunFailure, match=rf"is full\. {flown} of 2000 flights are safe.*room"):
            disperse(Scenario(), out=path, **FLIGHTS)
        assert path.read_bytes() == EARLIER
        assert not list(parts_folder(path).glob("*.tmp"))
        kept = len(list(parts_folder(path).glob("*.npy")))
        assert 0 < kept <= 20
        remount(folder, "size=8000000")
        said = []
        disperse(Scenario(), out=path, tell=said.append, **FLIGHTS).close()
        assert said[0].startswith(f"going on: {100 * kept} of 2000")
        assert path.read_bytes() == whole
        assert [p.name for p in folder.iterdir()] == ["a.nc"]


def test_disk__full_from_the_start(tmp_path):
    with mounted(tmp_path, 40_960) as folder:
        (folder / "other").write_bytes(bytes(40_960))
        with pytest.raises((RunFailure, UserMistake), match=r"is full|No space left"):
            disperse(Scenario(), out=folder / "a.nc", **FLIGHTS)
        assert [p.name for p in folder.iterdir()] == ["other"]


def test_disk__read_only_from_the_start(tmp_path):
    with mounted(tmp_path, 8_000_000) as folder:
        (folder / "a.nc").write_bytes(EARLIER)
        remount(folder, "ro")
        with pytest.raises(UserMistake, match=r"cannot write in the folder .*Read-only.*give an"):
            disperse(Scenario(), out=folder / "a.nc", **FLIGHTS)
        assert (folder / "a.nc").read_bytes() == EARLIER


def test_disk__read_only_under_the_run(tmp_path, whole):
    path = tmp_path / "a.nc"
    path.write_bytes(EARLIER)
    frozen = []

    def freeze(done, total):
        if done == 500 and not frozen:
            done = subprocess.run(["chattr", "+i", str(parts_folder(path))], capture_output=True)
            if done.returncode:
                pytest.skip("no folder can be frozen here, not even by the administrator")
            frozen.append(parts_folder(path))

    try:
        with pytest.raises(RunFailure, match=r"not permitted.* 500 of 2000 flights are safe.*mend"):
            disperse(Scenario(), out=path, progress=freeze, workers=1, **FLIGHTS)
        assert path.read_bytes() == EARLIER
        with pytest.raises((RunFailure, UserMistake), match="not permitted"):
            disperse(Scenario(), out=path, **FLIGHTS)
    finally:
        for folder in frozen:
            subprocess.run(["chattr", "-i", str(folder)], check=True)
    disperse(Scenario(), out=path, **FLIGHTS).close()
    assert path.read_bytes() == whole


@pytest.mark.skipif(
    sys.platform == "win32" or os.geteuid() == 0, reason="permissions do not bind the administrator"
)
def test_disk__folder_that_may_not_be_written(tmp_path):
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(UserMistake, match=r"cannot write in the folder .*Permission denied"):
            disperse(Scenario(), out=tmp_path / "a.nc", **FLIGHTS)
    finally:
        tmp_path.chmod(0o755)
