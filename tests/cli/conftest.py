"""What all tests of the verbs share: no real flights, and a way to give commands."""

import os
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parent))  # the helpers beside the tests


@pytest.fixture
def heron():
    """Path of the demonstration scenario."""
    from cli_places import HERON

    return str(HERON)


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    """Give commands in an empty folder, with a known width, and no waiting for disks."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setattr(os, "fsync", lambda handle: None)
    return tmp_path


@pytest.fixture
def stubbed(monkeypatch):
    """Let the verbs fly the stub in place of the kernel."""
    import stub_flights

    from sim.ensemble import fly_runs
    from sim.lanes import cache

    monkeypatch.setattr(fly_runs, "fly_runs", stub_flights.fly)
    monkeypatch.setattr(fly_runs, "fly_trace", stub_flights.fly_trace)
    monkeypatch.setattr(cache, "cache_is_warm", lambda kernel="", width=None: True)
    return stub_flights


@pytest.fixture
def setdown(monkeypatch):
    """Give a command; returns exit status, standard output and standard error."""
    from sim.cli import guard, main

    # a command that is stopped leaves the process at once if threads of it still fly; here that
    # process is the one that tests
    monkeypatch.setattr(guard, "leave_at_once", sys.exit)

    def run(*arguments):
        return CliRunner().invoke(main, [str(argument) for argument in arguments])

    return run
