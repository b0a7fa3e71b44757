"""A cluster flies the same flights, and what it loses is flown again."""

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from sim.ensemble import cluster
from sim.ensemble.cluster import OtherProgram, Piece, on_cluster
from sim.ensemble.program import this_program
from sim.ensemble.run import disperse, sweep
from sim.ensemble.store import parts_folder
from sim.errors import RunFailure, UserMistake
from tests.ensemble.stand_in import Scenario, fly

ROOT = Path(__file__).parents[2]
FLIGHTS = {"flights": 400, "chunk": 20}


def slow(*given):
    time.sleep(0.1)
    return fly(*given)


# -- without a cluster -----------------------------------------------------------------------------


def test_on_cluster__without_the_library(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UserMistake, match=r"Dask, which is not installed.*'setdown\[cluster\]'"):
        on_cluster("local")


def test_piece__another_program_flies_nothing():
    flown = []
    here = this_program()
    libraries = (("numpy", "1.0"), *here.libraries[1:])
    for wanted, words in [
        (replace(here, sources="0" * 16), "another setdown"),
        (replace(here, libraries=libraries), r"numpy .*, here 1\.0"),
        (replace(here, digits="0" * 16), "last digits"),
    ]:
        with pytest.raises(OtherProgram, match=words):
            Piece(flown.append, wanted)((0, 0))
    assert not flown
    Piece(flown.append, here)((0, 0))
    assert flown == [(0, 0)]


def test_check_workers__all_are_named():
    here = this_program()

    class Client:
        def run(self, function, on_error):
            return {
                "tcp://a": here,
                "tcp://b": replace(here, sources="0" * 16),
                "tcp://c": ModuleNotFoundError("No module named 'sim'"),
            }

    with pytest.raises(UserMistake, match=r"tcp://b: another setdown .*tcp://c: .*'sim'") as caught:
        cluster._check_workers(Client())
    assert "tcp://a" not in str(caught.value)


# -- in this process -------------------------------------------------------------------------------


@pytest.fixture
def workers():
    """Address of a scheduler with a worker of two threads, in this process."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None,
        protocol="tcp", host="127.0.0.1", silence_logs=60,
    ) as made:  # fmt: skip
        yield made.scheduler_address


def test_on_cluster__same_bytes_as_here(tmp_path, workers):
    disperse(Scenario(), out=tmp_path / "here.nc", fly=fly, **FLIGHTS).close()
    there = {"execute": on_cluster(workers), "fly": fly, **FLIGHTS}
    disperse(Scenario(), out=tmp_path / "there.nc", **there).close()
    assert (tmp_path / "there.nc").read_bytes() == (tmp_path / "here.nc").read_bytes()
    vary = ["launch_pad.tilt=0, 1 deg", "wind.speed.spread=1, 2 m/s"]
    mine = sweep(Scenario(), vary, fly=fly, **FLIGHTS)
    assert sweep(Scenario(), vary, **there).identical(mine)


def failing(scenario, seed, runs, values):
    if runs[0] == 100:
        raise ZeroDivisionError("no")
    return fly(scenario, seed, runs, values)


def test_on_cluster__a_failing_flight_says_so_as_here(tmp_path, workers):
    with pytest.raises(RunFailure, match=r"runs 100 to 119 could not be flown.*no"):
        disperse(
            Scenario(), out=tmp_path / "a.nc", fly=failing, execute=on_cluster(workers), **FLIGHTS
        )


def test_on_cluster__refusals(workers):
    with pytest.raises(UserMistake, match="--workers is for this machine"):
        on_cluster(workers, workers=3)
    with socket.socket() as taken:  # answers nothing
        taken.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{taken.getsockname()[1]}"
        with pytest.raises(UserMistake, match=r"no Dask scheduler answers at tcp://127.*dask sch"):
            disperse(Scenario(), fly=fly, execute=on_cluster(address, patience=0.5), **FLIGHTS)


# -- in other processes ----------------------------------------------------------------------------


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Machines:
    """A scheduler and workers, each a process of its own, to be killed."""

    def __init__(self, folder):
        self.folder = folder
        self.port = free_port()
        self.address = f"tcp://127.0.0.1:{self.port}"
        self.started = []

    def _start(self, *arguments):
        process = subprocess.Popen(
            [sys.executable, "-W", "ignore", "-m", *arguments],
            env={**os.environ, "PYTHONPATH": str(ROOT)}, cwd=self.folder,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self.started.append(process)
        return process

    def scheduler(self):
        return self._start(
            "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", str(self.port),
            "--no-dashboard",
        )  # fmt: skip

    def worker(self):
        return self._start(
            "distributed.cli.dask_worker", self.address, "--nthreads", "1", "--no-nanny",
            "--no-dashboard",
        )  # fmt: skip


@contextmanager
def machines(folder):
    pytest.importorskip("distributed")
    made = Machines(folder)
    try:
        yield made
    finally:
        for process in made.started:
            process.kill()
            process.wait()


@pytest.fixture
def whole(tmp_path):
    path = tmp_path / "whole.nc"
    disperse(Scenario(), out=path, fly=fly, **FLIGHTS).close()
    return path.read_bytes()


def when_flown(n, action):
    """Make a progress function that does something once, when n flights are done."""
    done_it = []

    def progress(done, total):
        if done >= n and not done_it:
            done_it.append(threading.Thread(target=action))
            done_it[0].start()

    return progress


@pytest.mark.nightly
def test_on_cluster__a_worker_that_is_killed_is_missed_by_nobody(tmp_path, whole):
    with machines(tmp_path) as there:
        there.scheduler()
        first, _ = there.worker(), there.worker()
        disperse(
            Scenario(), out=tmp_path / "a.nc", fly=slow, execute=on_cluster(there.address),
            progress=when_flown(100, first.kill), **FLIGHTS,
        ).close()  # fmt: skip
        assert first.wait(timeout=5) == -signal.SIGKILL
    assert (tmp_path / "a.nc").read_bytes() == whole


@pytest.mark.nightly
def test_on_cluster__a_scheduler_that_is_started_anew_is_gone_on_with(tmp_path, whole):
    said = []
    with machines(tmp_path) as there:
        old = there.scheduler()
        workers = [there.worker(), there.worker()]

        def restart():
            for process in [old, *workers]:
                process.kill()
                process.wait()
            there.scheduler()
            there.worker()

        disperse(
            Scenario(), out=tmp_path / "a.nc", fly=slow, tell=said.append,
            execute=on_cluster(there.address, tell=said.append),
            progress=when_flown(100, restart), **FLIGHTS,
        ).close()  # fmt: skip
    assert (tmp_path / "a.nc").read_bytes() == whole
    assert any("its scheduler is gone; waiting" in text for text in said)


@pytest.mark.nightly
def test_on_cluster__gone_for_good_keeps_what_came_back(tmp_path, whole):
    path = tmp_path / "a.nc"
    with machines(tmp_path) as there:
        scheduler, worker = there.scheduler(), there.worker()

        def end():
            scheduler.kill()
            worker.kill()

        with pytest.raises(RunFailure, match=r"cluster is gone.*of 400 flights are safe.*same com"):
            disperse(
                Scenario(), out=path, fly=slow, progress=when_flown(100, end),
                execute=on_cluster(there.address, patience=4.0), **FLIGHTS,
            )  # fmt: skip
    assert len(list(parts_folder(path).glob("*.npy"))) >= 5
    said = []
    disperse(Scenario(), out=path, fly=fly, tell=said.append, **FLIGHTS).close()
    assert said[0].startswith("going on: ")
    assert path.read_bytes() == whole


@pytest.mark.nightly
def test_on_cluster__one_started_here(tmp_path, whole):
    disperse(
        Scenario(), out=tmp_path / "a.nc", fly=fly, execute=on_cluster("local", workers=2),
        **FLIGHTS,
    ).close()  # fmt: skip
    assert (tmp_path / "a.nc").read_bytes() == whole
