"""Real flights, killed at two hundred random moments and gone on with each time.

One process loads the compiled kernel and forks for every run, so that a run starts at once and a
kill may strike in any part of it: looking through what is there, flying, storing, merging, tidying.
"""

import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import netCDF4
import numpy as np
import pytest

from sim.ensemble.opening import open_ensemble
from sim.ensemble.store import parts_folder, zlib
from sim.errors import UserMistake

ROOT = Path(__file__).parents[2]
KILLS = 200
FLIGHTS = 160

FORKING = f"""
import os, sys
import netCDF4, numpy, xarray
from sim.ensemble.draws import draw_numbers
from sim.ensemble.fly_runs import WIDTH, fly_runs
from sim.ensemble.opening import open_ensemble
from sim.ensemble.run import disperse
from sim.scenario import load_scenario

heron = load_scenario("scenarios/heron.toml")
runs = numpy.arange(WIDTH)
fly_runs(heron, 1, runs, draw_numbers(heron, 1, runs))  # compiles, or loads what is compiled
disperse(heron, flights=8, workers=1).close()  # and the rest, to be quick later
print("ready", flush=True)
for line in sys.stdin:
    seed, path = line.rstrip().split(" ", 1)
    child = os.fork()
    if child == 0:
        disperse(heron, flights={FLIGHTS}, chunk=8, seed=int(seed), workers=2, out=path).close()
        os._exit(0)
    print(child, flush=True)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


class Runs:
    """Starts runs, one at a time."""

    def __init__(self):
        self._parent = subprocess.Popen(
            [sys.executable, "-c", FORKING], cwd=ROOT, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        assert self._parent.stdout.readline() == "ready\n"

    def start(self, seed, path):
        self._parent.stdin.write(f"{seed} {path}\n")
        self._parent.stdin.flush()
        return int(self._parent.stdout.readline())

    def status(self):
        return int(self._parent.stdout.readline())

    def close(self):
        self._parent.stdin.close()
        self._parent.wait()
        self._parent.stdout.close()


@pytest.fixture
def runs():
    made = Runs()
    yield made
    made.close()


def shards(path):
    """Names of the finished chunks; each is whole."""
    found = set()
    with suppress(FileNotFoundError):  # taken away meanwhile: the ensemble is whole
        for shard in sorted(parts_folder(path).glob("*.npy")):
            assert int(shard.name.split(".")[1], 16) == zlib.crc32(shard.read_bytes())
            found.add(shard.name)
    return found


def look(path, expected):
    """Read what there is, as somebody would while a run goes on; returns whether it was a part."""
    with netCDF4.Dataset(path) as file:
        assert file.dimensions["run"].size == FLIGHTS
        assert int(file.seed) in (1, 2)
    try:
        part = open_ensemble(path, unfinished=True)
    except UserMistake as nothing_yet:
        if "no finished chunk yet" not in str(nothing_yet):
            raise
        return False
    with part:
        if "unfinished" not in part.attrs:
            return False
        number = part.run.values
        assert np.unique(number).size == number.size
        assert np.array_equal(part.miss_distance.values, expected[number], equal_nan=True)
    return True


def wait(child, path, length, chance, look):
    """Wait for a random moment: of time, of flying, or of merging; returns what looks found.

    By time alone few kills would strike what takes little time.
    """
    kind, found = chance.choice(("time", "flying", "flying", "merging", "looking")), 0
    if kind in ("time", "looking"):
        time.sleep(chance.uniform(0.0, length))
        found = look() if kind == "looking" else 0  # which takes its time
    elif kind == "flying":
        more = len(shards(path)) + chance.randint(1, 12)
        await_(child, lambda: len(shards(path)) >= more)
    else:
        await_(child, (parts_folder(path) / "merged.nc.tmp").exists)
    if kind != "looking":
        time.sleep(chance.uniform(0.0, 0.1 * length))
    return found


def await_(child, reached):
    """Wait until something is so, or the run has ended."""
    with suppress(ProcessLookupError):
        while not reached():
            os.kill(child, 0)


@pytest.mark.nightly
@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
def test_disperse__killed_at_two_hundred_moments(tmp_path, runs):
    path, other = tmp_path / "a.nc", tmp_path / "other.nc"
    begun = time.monotonic()
    runs.start(1, path)
    while not path.exists():
        time.sleep(0.001)
    length = time.monotonic() - begun
    assert runs.status() == 0
    whole = path.read_bytes()
    with open_ensemble(path) as dataset:
        expected = dataset.miss_distance.values
        assert np.array_equal(dataset.run, np.arange(FLIGHTS))
    runs.start(2, other)
    assert runs.status() == 0
    earlier = other.read_bytes()
    assert earlier != whole
    other.unlink()

    chance = random.Random(5)
    path.write_bytes(earlier)
    kept, kills, ends, parts, in_place, flying, merging = set(), 0, 0, 0, 0, 0, 0
    while kills < KILLS:
        child = runs.start(1, path)
        parts += wait(child, path, length, chance, lambda: look(path, expected))
        with suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        if runs.status() == 0:
            ends += 1
            assert path.read_bytes() == whole  # nothing lost, nothing doubled
            assert [p.name for p in tmp_path.iterdir()] == ["a.nc"]
            path.write_bytes(earlier)
            kept = set()
            continue
        kills += 1
        content = path.read_bytes()
        if content == whole:  # killed after the file had been put in its place
            in_place += 1
            kept = set()
            continue
        assert content == earlier
        now = shards(path)
        assert kept <= now
        if (parts_folder(path) / "merged.nc.tmp").exists():
            merging += 1
        elif now > kept:
            flying += 1
        kept = now
    runs.start(1, path)
    assert runs.status() == 0
    assert path.read_bytes() == whole
    sys.stderr.write(
        f"{kills} kills of runs of {length:.2f} s with {FLIGHTS} flights: {flying} while flying, "
        f"{merging} while merging, {in_place} with the file in its place already, the others "
        f"before the first chunk; {ends} runs got through; {parts} unfinished ensembles read\n"
    )
    assert min(flying, merging) > KILLS // 20
