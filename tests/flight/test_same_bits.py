"""A flight is the same, bit for bit: alone, in any group, at any width, and in plain Python."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from sim.ensemble.fly_runs import fly_inputs, fly_runs, fly_trace, load_computer
from sim.ensemble.prepare import flight_inputs
from sim.flight_records import INPUTS
from sim.scenario import load_scenario
from sim.scenario.faults import FAULTS
from tests.flight.eight import HERON

AIDED = HERON.with_name("heron_aided.toml")

SEED = 20240607
RUNS = np.array([3, 17, 4, 999_999, 0, 2**40, 12, 5, 6, 7, 41], dtype=np.int64)


@pytest.fixture(scope="module")
def heron():
    return load_scenario(HERON)


def drawn(scenario, runs):
    """Values that depend on the run's number alone: every spread number at some quantile."""
    share = (0.5 + (runs * 0.6180339887) % 1.0 * 0.4)[:, None]
    names = [n for n, number in scenario.numbers.items() if number.law.kind != "fixed"]
    shares = (share + np.arange(len(names)) * 0.37) % 0.98 + 0.01
    return {
        name: np.asarray(scenario.numbers[name].law.quantile(shares[:, i]), dtype=np.float64)
        for i, name in enumerate(names)
    }


def fly(scenario, runs, width=8):
    runs = np.asarray(runs, dtype=np.int64)
    return fly_runs(scenario, SEED, runs, drawn(scenario, runs), width=width)


def same(one, other):
    """Names of outcomes that differ in any bit, nan equal to itself."""
    return [n for n in one if one[n].tobytes() != np.asarray(other[n]).tobytes()]


def picked(outcomes, index):
    return {name: values[index] for name, values in outcomes.items()}


@pytest.fixture(scope="module")
def together(heron):
    return fly(heron, RUNS)


def test_flights__differ_from_each_other(together):
    # or the comparisons below would say nothing
    assert len(np.unique(together["touchdown_speed"])) >= len(RUNS) - 3


@pytest.mark.parametrize("place", [0, 3, 10])
def test_lone_flight__is_that_of_the_ensemble(heron, together, place):
    alone = fly(heron, RUNS[place : place + 1])
    assert same(alone, picked(together, slice(place, place + 1))) == []


def test_order__does_not_matter(heron, together):
    order = np.array([10, 2, 7, 0, 9, 1, 8, 3, 6, 5, 4])
    assert same(fly(heron, RUNS[order]), picked(together, order)) == []


@pytest.mark.parametrize("size", [1, 3, 9])
def test_chunks__do_not_matter(heron, together, size):
    parts = [fly(heron, RUNS[i : i + size]) for i in range(0, len(RUNS), size)]
    joined = {name: np.concatenate([part[name] for part in parts]) for name in together}
    assert same(joined, together) == []


def test_trace__is_of_the_same_flight(heron, together):
    values = picked(drawn(heron, RUNS), slice(1, 2))
    outcomes, trace = fly_trace(heron, SEED, int(RUNS[1]), values, width=8)
    assert same(outcomes, picked(together, slice(1, 2))) == []
    assert len(trace["up"]) > 100


def test_swap_and_divert__alone_is_that_of_the_ensemble():
    wagtail = load_scenario(HERON.with_name("wagtail.toml"))
    together = fly(wagtail, RUNS)
    for place in (0, 3, 10):
        alone = fly(wagtail, RUNS[place : place + 1])
        assert same(alone, picked(together, slice(place, place + 1))) == []


@pytest.mark.slow
@pytest.mark.parametrize("width", [1, 4])
def test_swap_and_divert__width_does_not_matter(width):
    wagtail = load_scenario(HERON.with_name("wagtail.toml"))
    assert same(fly(wagtail, RUNS, width=width), fly(wagtail, RUNS)) == []


def test_stage_that_falls_longer_than_the_vehicle__is_what_it_is_alone():
    slow = load_scenario(HERON, ["stage.drag_area=0.6 m2"])
    together = fly(slow, RUNS)
    assert np.all(together["stage_time"] > together["contact_time"])
    for place in (0, 4, 10):
        alone = fly(slow, RUNS[place : place + 1])
        assert same(alone, picked(together, slice(place, place + 1))) == []


@pytest.mark.parametrize("name", ["landing_no_light", "computer_reset", "stage_hangs_on"])
def test_flight_that_fails__is_what_it_is_alone(heron, name):
    # its group flies on when it is down, and its computer with it
    failing = heron.with_faults([name])
    runs = np.arange(16, dtype=np.int64)
    together = fly(failing, runs)
    for place in (0, 5, 11, 15):
        alone = fly(failing, runs[place : place + 1])
        assert same(alone, picked(together, slice(place, place + 1))) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", FAULTS)
def test_fault__grouping_does_not_matter(name):
    # a vehicle that has every part there is
    whole = load_scenario(AIDED, ['parachute.drag_area="0.9 m2"'])
    failing = whole.with_faults([name])
    runs = np.arange(48, dtype=np.int64)
    order = np.random.default_rng(SEED).permutation(48)
    together = fly(failing, runs)
    assert same(fly(failing, runs[order]), picked(together, order)) == []


def test_motor_that_does_not_light__its_command_is_the_first_one(heron, together):
    unlit = fly(heron.with_faults(["landing_no_light"]), RUNS)
    assert np.all(np.isnan(unlit["landing_light_time"]))
    sound = np.isfinite(together["ignition_command_time"])
    assert sound.sum() >= 8
    assert np.array_equal(
        unlit["ignition_command_time"][sound], together["ignition_command_time"][sound]
    )


@pytest.mark.slow
@pytest.mark.parametrize("width", [1, 4])
def test_width__does_not_matter(heron, together, width):
    assert same(fly(heron, RUNS, width=width), together) == []


# ---- lanes that are taken over ------------------------------------------------------------------


@pytest.fixture(scope="module")
def restarted(heron):
    """Forty flights whose computers begin anew after the touch, by what they measured at rest."""
    runs = np.arange(40, dtype=np.int64)
    loaded = load_computer(heron)
    inputs = flight_inputs(drawn(heron, runs), heron, len(runs))
    touched = fly(heron, runs)["contact_time"]
    inputs[INPUTS.index("reset_from")] = touched - 0.05
    inputs[INPUTS.index("reset_until")] = touched + 0.1

    def flown(places):
        found, _ = fly_inputs(
            loaded, loaded.plan, SEED, runs[places], inputs[:, places].copy(), 8, trace_rows=0,
            to_rest=True,
        )  # fmt: skip
        return found

    return flown


def test_next_flight_in_a_lane__is_what_it_is_alone(restarted):
    # thirty-two of these settle in a lane that another one has left
    together = restarted(np.arange(40))
    assert len(np.unique(together["peak_deceleration"])) > 30
    for place in (0, 11, 24, 39):
        alone = restarted(np.array([place]))
        assert same(alone, picked(together, slice(place, place + 1))) == []
    backwards = np.arange(40)[::-1]
    assert same(restarted(backwards), picked(together, backwards)) == []


# ---- with aids and a filter ----------------------------------------------------------------------


@pytest.fixture(scope="module")
def aided():
    return load_scenario(AIDED)


@pytest.fixture(scope="module")
def aided_together(aided):
    return fly(aided, RUNS)


def test_aided__flights_use_their_aids(aided_together):
    assert np.nanmin(aided_together["innovation_count"]) > 100
    assert np.isfinite(aided_together["normalised_error_at_contact"]).sum() >= len(RUNS) - 2


def test_aided__alone_and_in_another_order(aided, aided_together):
    # rates, latencies and outages differ from flight to flight: readings come in different ticks
    alone = fly(aided, RUNS[3:4])
    assert same(alone, picked(aided_together, slice(3, 4))) == []
    order = np.array([10, 2, 7, 0, 9, 1, 8, 3, 6, 5, 4])
    assert same(fly(aided, RUNS[order]), picked(aided_together, order)) == []


@pytest.mark.slow
@pytest.mark.parametrize("width", [1, 4])
def test_aided__width_does_not_matter(aided, aided_together, width):
    assert same(fly(aided, RUNS, width=width), aided_together) == []


PLAIN = Path(__file__).with_name("plain_python.py")


def printed(longest, width, scenario=HERON, **environment):
    """What the script prints, in a process of its own."""
    done = subprocess.run(
        [sys.executable, str(PLAIN), longest, str(width), scenario.name],
        env=os.environ | environment, capture_output=True, text=True, check=False,
        cwd=HERON.parents[1],
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return dict(line.split() for line in done.stdout.splitlines())


def test_plain_python__gives_the_same_bits():
    # from the command to light through lift-off and the climb, noise and all
    plain = printed("0.5 s", 1, NUMBA_DISABLE_JIT="1")
    compiled = printed("0.5 s", 8)
    assert len(compiled) > 80
    assert [name for name in plain if plain[name] != compiled[name]] == []
    assert plain.keys() == compiled.keys()


@pytest.mark.slow
def test_plain_python__gives_the_same_bits_with_aids():
    plain = printed("0.8 s", 1, AIDED, NUMBA_DISABLE_JIT="1")
    compiled = printed("0.8 s", 8, AIDED)
    assert [name for name in plain if plain[name] != compiled[name]] == []
