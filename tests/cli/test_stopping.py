"""Ctrl-C during real flights: a good end within two seconds, at once the second time."""

import os
import re
import signal
import subprocess
import sys
import time

import pytest
from cli_places import ENVIRONMENT, HERON

COMMAND = "from sim.cli import main; main()"

pytestmark = [
    pytest.mark.nightly,
    pytest.mark.skipif(sys.platform == "win32", reason="signals to a group of processes"),
]


def flying(here, *options):
    """Start many flights and wait for the first that are safe, besides those that were."""
    before = len(list(here.glob(".a.nc.parts/*.npy")))
    child = subprocess.Popen(
        [sys.executable, "-c", COMMAND, "disperse", HERON, "-n", "500000", "-o", "a.nc", *options],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=ENVIRONMENT, cwd=here,
        start_new_session=True,
    )  # fmt: skip
    while child.poll() is None and len(list(here.glob(".a.nc.parts/*.npy"))) <= before:
        time.sleep(0.02)
    assert child.poll() is None, child.communicate()
    return child


def stopped(child, times):
    """Press Ctrl-C, as a terminal does it: for all processes of the command."""
    begun = time.monotonic()
    for press in range(times):
        if press:
            child.stderr.readline()
        os.killpg(child.pid, signal.SIGINT)
    _, error = child.communicate(timeout=60)
    return time.monotonic() - begun, error


def test_ctrl_c__ends_within_two_seconds_and_says_how_to_go_on(here):
    child = flying(here)
    took, error = stopped(child, 1)
    assert child.returncode == 130
    assert took < 2.0
    assert re.search(r"Stopped\. \d+ of 500000 flights are safe in .*; give the same comm", error)
    assert "Traceback" not in error
    assert not list(here.glob(".a.nc.parts/*.tmp"))
    again = flying(here)
    _, error = stopped(again, 1)
    assert "going on: " in error


def test_ctrl_c__twice_ends_at_once(here):
    child = flying(here)
    took, error = stopped(child, 2)
    assert child.returncode == 130
    assert took < 1.0
    assert "Traceback" not in error


def test_ctrl_c__takes_a_local_cluster_along(here):
    pytest.importorskip("distributed")
    child = flying(here, "--cluster", "local")
    took, error = stopped(child, 1)
    assert child.returncode == 130
    assert took < 2.0
    assert "flights are safe" in error
    assert "Traceback" not in error
    assert "Warning" not in error
    until = time.monotonic() + 10.0
    while time.monotonic() < until and alive(child.pid):
        time.sleep(0.1)
    assert not alive(child.pid)


def alive(group):
    """Whether processes of a group run on; those that have ended and wait to be counted do not."""
    listed = subprocess.run(
        ["ps", "-A", "-o", "pgid=,stat="], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    rows = [line.split() for line in listed]
    return any(int(row[0]) == group and not row[1].startswith("Z") for row in rows)
