"""The lock on an output."""

import subprocess
import sys

import pytest

from sim.ensemble.lock import FileLock
from sim.errors import UserMistake

HOLDER = """
import sys, time
from pathlib import Path
from sim.ensemble.lock import FileLock
with FileLock(Path(sys.argv[1]), "x.nc"):
    print("held", flush=True)
    time.sleep(60)
"""


def test_file_lock__second_refuses_first_lets_go(tmp_path):
    path = tmp_path / "lock"
    message = r"another run is writing x\.nc"
    with FileLock(path, "x.nc"), pytest.raises(UserMistake, match=message), FileLock(path, "x.nc"):
        pass
    with FileLock(path, "x.nc"):
        pass


def test_file_lock__a_killed_holder_holds_nothing(tmp_path):
    path = tmp_path / "lock"
    holder = subprocess.Popen([sys.executable, "-c", HOLDER, str(path)], stdout=subprocess.PIPE)
    with holder:
        assert holder.stdout.readline() == b"held\n"
        with pytest.raises(UserMistake), FileLock(path, "x.nc"):
            pass
        holder.kill()
        holder.wait()
        with FileLock(path, "x.nc"):
            pass


def test_file_lock__a_file_taken_away_is_no_lock(tmp_path):
    path = tmp_path / "lock"
    first = FileLock(path, "x.nc")
    with first:
        first.remove()
        with FileLock(path, "x.nc"), pytest.raises(UserMistake), FileLock(path, "x.nc"):
            pass
