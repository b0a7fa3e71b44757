"""Modules are loaded while flights are flown, and never at the same time as the first of them."""

import sys
import threading

from sim.cli.ahead import loading_ahead

MODULE = "this_module_is_loaded_ahead"


def _write_module(tmp_path, monkeypatch):
    (tmp_path / f"{MODULE}.py").write_text("import threading\nby = threading.current_thread()\n")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, MODULE, raising=False)


def test_loading_ahead__waits_for_the_first_flights_of_this_run(tmp_path, monkeypatch):
    _write_module(tmp_path, monkeypatch)
    told = []
    with loading_ahead(lambda *pair: told.append(pair), [MODULE]) as report:
        report(500, 1000)  # finished by an earlier run: nothing is flown yet
        assert MODULE not in sys.modules
        assert threading.active_count() == 1 or all(
            thread.name != "loading ahead" for thread in threading.enumerate()
        )
        report(750, 1000)
    assert told == [(500, 1000), (750, 1000)]
    assert sys.modules[MODULE].by.name == "loading ahead"


def test_loading_ahead__leaves_what_cannot_be_loaded(tmp_path, monkeypatch):
    _write_module(tmp_path, monkeypatch)
    with loading_ahead(lambda *_: None, ["there_is_no_such_module", MODULE]) as report:
        report(0, 2)
        report(1, 2)
        report(2, 2)
    assert MODULE in sys.modules


def test_loading_ahead__no_flight_no_thread(tmp_path, monkeypatch):
    _write_module(tmp_path, monkeypatch)
    with loading_ahead(lambda *_: None, [MODULE]) as report:
        report(0, 2)
    assert MODULE not in sys.modules


def test_loading_ahead__is_done_when_the_last_flight_is(tmp_path, monkeypatch):
    # the ensemble is opened next, by libraries that must not be met half loaded
    _write_module(tmp_path, monkeypatch)
    (tmp_path / f"{MODULE}.py").write_text("import time\ntime.sleep(0.3)\nwhole = True\n")
    with loading_ahead(lambda *_: None, [MODULE]) as report:
        report(0, 2)
        report(1, 2)
        report(2, 2)
        assert getattr(sys.modules[MODULE], "whole", False)
