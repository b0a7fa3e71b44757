import json

import pytest

from sim.scenario import load_scenario


def test_check__derived_figures_come_first(setdown, heron):
    shown = setdown("check", heron, "--set", "launch_pad.tilt=0.3 deg")
    assert shown.exit_code == 0
    text = shown.stdout
    assert text.index("thrust to weight at lift-off") < text.index("[vehicle]")
    assert text.index("phase margin") < text.index("[vehicle]")
    assert "half normal" in text
    assert "95 % range" in text
    assert "default:" in text
    assert "--set" in text  # the source of the tilt


def test_check__json_is_one_object_in_si(setdown, heron):
    shown = setdown("check", heron, "--json")
    found = json.loads(shown.stdout)
    mass, known = found["numbers"]["vehicle.dry_mass"], load_scenario(heron).numbers
    assert mass["value"] == known["vehicle.dry_mass"].value
    assert mass["units"] == "kg"
    assert tuple(mass["parameters"]) == known["vehicle.dry_mass"].law.parameters
    assert mass["given"]
    assert found["derived"]["ascent_phase_margin"]["units"] == "rad"
    assert "touchdown_speed" in found["success"]


def test_fly__events_limits_trace_and_picture(setdown, heron, stubbed, here):
    shown = setdown("fly", heron)
    assert shown.exit_code == 0
    events = ["lift-off", "ascent burn-out", "apogee", "landing motor lights"]
    places = [shown.stdout.index(event) for event in events]
    assert places == sorted(places)
    assert "tilt < 8 deg" in shown.stdout
    assert "holds" in shown.stdout
    assert (here / "results" / "heron_fly.nc").exists()
    assert (here / "results" / "heron_fly.png").read_bytes()[:4] == b"\x89PNG"


@pytest.mark.slow
def test_fly__trace_can_be_read(setdown, heron, stubbed, here):
    import xarray as xr

    setdown("fly", heron, "--run", 3, "-o", "one")
    with xr.open_dataset(here / "one.nc") as trace:
        assert trace["trace_run"].to_numpy().tolist() == [3]
        assert trace["tilt"].attrs["units"] == "rad"
        assert float(abs(trace["tilt"]).max()) == pytest.approx(0.05236, abs=1e-4)  # 3 deg
        assert trace.attrs["seed"] == 1


def test_disperse__answer_first_caution_last(setdown, heron, stubbed, here):
    shown = setdown("disperse", heron, "-n", 100, "--seed", 3, "-o", "out.nc")
    assert shown.exit_code == 0
    lines = shown.stdout.splitlines()
    assert "of flights succeed" in lines[0]
    order = ["circular error probable", "touchdown speed", "What became", "guidance error", "Next:"]
    places = [shown.stdout.index(word) for word in order]
    assert places == sorted(places)
    assert "range safety officer" in " ".join(shown.stdout.split())[-200:]
    assert (here / "out.png").read_bytes()[:4] == b"\x89PNG"


def test_disperse__json_agrees_with_landing_box(setdown, heron, stubbed):
    import numpy as np
    import xarray as xr

    first = json.loads(setdown("disperse", heron, "-n", 64, "-o", "out.nc", "--json").stdout)
    again = json.loads(setdown("landing-box", "out.nc", "--json").stdout)
    for name in ("landing_box", "touchdown", "navigation"):
        assert first[name] == again[name]
    with xr.open_dataset("out.nc") as ds:
        share = float(np.mean(ds["success"]))
    assert first["touchdown"]["variables"]["success"]["value"]["estimate"] == pytest.approx(share)
    assert first["landing_box"]["variables"]["miss"]["units"] == "m"
    assert first["flights"] == 64


@pytest.mark.slow
def test_disperse__traces_are_kept(setdown, heron, stubbed):
    from sim.ensemble.opening import open_traces

    assert setdown("disperse", heron, "-n", 16, "-o", "out.nc", "--traces", 2).exit_code == 0
    with open_traces("out.nc") as traces:
        assert traces["trace_run"].to_numpy().tolist() == [0, 1]


@pytest.mark.slow
def test_landing_box__confidence(setdown, heron, stubbed):
    setdown("disperse", heron, "-n", 200, "-o", "out.nc")
    shown = setdown("landing-box", "out.nc", "--confidence", 0.8)
    assert shown.exit_code == 0
    assert "80 % bounds" in shown.stdout


def test_landing_box__unfinished(setdown, heron, stubbed, here, monkeypatch):
    from sim.ensemble import fly_runs

    def stops(scenario, seed, runs, values, width=8):
        if runs[0] >= 32:
            raise KeyboardInterrupt
        return stubbed.fly(scenario, seed, runs, values)

    monkeypatch.setattr(fly_runs, "fly_runs", stops)
    stopped = setdown("disperse", heron, "-n", 64, "-o", "out.nc", "--workers", 1)
    assert stopped.exit_code == 130
    assert "give the same command to go on" in stopped.stderr
    assert setdown("landing-box", "out.nc").exit_code == 2
    shown = setdown("landing-box", "out.nc", "--unfinished")
    assert shown.exit_code == 0
    assert "UNFINISHED: 32 of 64" in shown.stdout


def test_sweep__one_input(setdown, heron, stubbed, here):
    shown = setdown(
        "sweep", heron, "--vary", "launch_pad.tilt=0..2 deg/3", "-n", 40, "-o", "out.nc"
    )
    assert shown.exit_code == 0
    assert "launch_pad.tilt [deg]" in shown.stdout
    assert "at launch_pad.tilt 2 deg" in shown.stdout
    assert (here / "out.png").read_bytes()[:4] == b"\x89PNG"


@pytest.mark.slow
def test_sweep__two_inputs_as_json(setdown, heron, stubbed):
    shown = setdown(
        "sweep", heron, "--vary", "launch_pad.tilt=0, 1 deg", "--vary", "wind.speed=0, 2, 4 m/s",
        "-n", 16, "-o", "out.nc", "--json",
    )  # fmt: skip
    found = json.loads(shown.stdout)
    assert found["swept"]["wind_speed"]["levels"] == [0.0, 2.0, 4.0]
    share = found["sweep"]["variables"]["success"]["value"]
    assert len(share) == 2
    assert all(len(row) == 3 for row in share.values())


def test_progress__lines_where_there_is_no_terminal():
    from sim.cli.progress import Pace
    from sim.report.display import duration

    pace = Pace()
    assert pace.left(0, 100, 0.0) == ""
    assert pace.left(20, 100, 30.0) == ""  # the first chunk holds the compiler's time
    assert pace.left(60, 100, 34.0) == "4 s left"
    assert pace.left(100, 100, 38.0) == ""
    assert [duration(x) for x in (0.2, 5, 600, 7200)] == ["under 1 s", "5 s", "10 min", "2.0 h"]


def test_going_on__counts_only_what_this_run_flies():
    from sim.cli.progress import Pace

    pace = Pace()
    assert pace.left(5000, 10000, 0.0) == ""  # finished by an earlier run
    assert pace.left(6000, 10000, 10.0) == "40 s left"


def test_cold_kernel__is_announced(setdown, heron, stubbed, monkeypatch):
    from sim.ensemble import first_flight
    from sim.lanes import cache

    monkeypatch.setattr(cache, "cache_is_warm", lambda kernel="", width=None: False)
    monkeypatch.setattr(first_flight, "processors", lambda: 1)
    shown = setdown("fly", heron, "-o", "one", "--json")
    assert "Compiling the flight kernel" in shown.stderr
    json.loads(shown.stdout)


def test_cold_kernel__the_answer_does_not_wait_for_it(setdown, heron, stubbed, monkeypatch):
    from sim.cli import fly
    from sim.ensemble import first_flight, fly_one

    told = []

    class TwoWays(first_flight.FirstFlight):
        def __init__(self, scenario, *, run, seed, width):
            self._running = {}
            self.flight = lambda: fly_one.fly_arrays(scenario, run=run, seed=seed, width=1)
            self.still_compiles = lambda: told.append("compiles") or True
            self.wait_for_kernel = lambda: told.append("waited")

    monkeypatch.setattr(first_flight, "pays", lambda width: True)
    monkeypatch.setattr(first_flight, "FirstFlight", TwoWays)
    shown = setdown("fly", heron, "-o", "one", "--no-picture")
    assert shown.exit_code == 0
    assert "first contact" in shown.stdout
    assert "".join(shown.stderr.split()) == "".join((fly.FIRST_RUN + fly.KERNEL_COMPILES).split())
    assert told == ["compiles", "waited"]



def test_fly__faults_need_a_flight_that_draws_them(setdown, heron):
    shown = setdown("fly", heron, "--faults")
    assert shown.exit_code == 2
    assert "--run I" in shown.stderr


def test_fly__a_form_that_cannot_be_written_is_said_before_the_flight(setdown, heron, here):
    shown = setdown("fly", heron, "--animate", "a.avi")
    assert shown.exit_code == 2
    assert ".gif" in shown.stderr
    assert not (here / "results" / "heron_fly.nc").exists()
