"""Sources, knobs, pairs and the normal space, on the demonstration scenario; nothing is flown."""

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from sim.ensemble.batches import Batch, Campaign, first_runs
from sim.ensemble.comparing import check_pair
from sim.ensemble.draws import draw_numbers, uncertain_names
from sim.ensemble.knob import make_knob
from sim.ensemble.normal_space import normal_space
from sim.ensemble.sources import NOISE, changed, find_sources
from sim.errors import RunFailure, UserMistake
from sim.scenario import load_scenario

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"


@pytest.fixture(scope="module")
def heron():
    return load_scenario(HERON)


def test_find_sources__every_number_in_one_source(heron):
    sources = find_sources(heron)
    every = [name for source in sources for name in source.numbers]
    assert sorted(every) == uncertain_names(heron)
    assert sources[-1].name == NOISE
    assert len({source.name for source in sources}) == len(sources)


def test_find_sources__what_belongs_together_is_one(heron):
    together = {frozenset(source.numbers) for source in find_sources(heron)}
    assert frozenset({"wind.speed", "wind.direction"}) in together
    assert frozenset({"stage.side_rate", "stage.side_rate_clocking"}) in together
    assert frozenset(f"inertial.gyro.bias.{axis}" for axis in "xyz") in together
    assert frozenset({"ascent_motor.label_bias", "landing_motor.label_bias"}) in together
    # a group of no correlation ties nothing
    assert frozenset({"ascent_motor.impulse_factor"}) in together


def test_changed__halves_deviations_and_leaves_directions(heron):
    source = next(s for s in find_sources(heron) if "wind.speed" in s.numbers)
    drawn = draw_numbers(heron, 1, np.arange(50))
    half = changed(heron, source, drawn, 0.5)
    assert half["wind.speed"] - 2.5 == pytest.approx(0.5 * (drawn["wind.speed"] - 2.5))
    assert np.array_equal(half["wind.direction"], drawn["wind.direction"])
    assert np.array_equal(half["launch_pad.tilt"], drawn["launch_pad.tilt"])


def test_make_knob__meaning_by_the_law(heron):
    assert make_knob(heron, "launch_pad.tilt").meaning == "magnitude"
    assert make_knob(heron, "launch_pad.tilt").one_sided
    assert make_knob(heron, "wind.speed").meaning == "value"
    assert make_knob(heron, "landing_motor.ignition_delay").meaning == "value"
    assert make_knob(heron, "landing_motor.impulse_factor").meaning == "deviation"
    assert make_knob(heron, "inertial.accelerometer.bias").meaning == "magnitude"
    assert make_knob(heron, "flight_computer.ignition_margin").meaning == "value"
    assert make_knob(heron, "wind.speed", "spread").meaning == "spread"


def test_knob__sign_is_drawn_and_the_size_fixed(heron):
    knob = make_knob(heron, "inertial.accelerometer.bias")
    batch = knob.batch(0.05, 1, first_runs(1000))
    assert sorted(batch.values) == [f"inertial.accelerometer.bias.{axis}" for axis in "xyz"]
    for values in batch.values.values():
        assert np.all(np.abs(values) == 0.05)
        assert 400 < np.sum(values > 0.0) < 600
    # the sign is that of the number's own draw
    own = draw_numbers(heron, 1, first_runs(1000))["inertial.accelerometer.bias.x"]
    assert np.array_equal(own > 0.0, batch.values["inertial.accelerometer.bias.x"] > 0.0)


def test_knob__belief_stays(heron):
    knob = make_knob(heron, "landing_motor.ignition_delay")
    assert knob.batch(0.3, 1, first_runs(8)).scenario is heron


def test_make_knob__unknown_names_the_nearest(heron):
    with pytest.raises(UserMistake, match=r"launch_pad\.tilt"):
        make_knob(heron, "launch_pad.tillt")


def test_make_knob__a_choice_has_no_level(heron):
    with pytest.raises(UserMistake):
        make_knob(heron, "alignment.attitude")


def test_normal_space__draws_have_the_laws_and_correlations(heron):
    space = normal_space(heron)
    points = np.random.default_rng(3).standard_normal((20_000, len(space.names)))
    values = space.values(points)
    assert np.std(values["wind.speed"]) == pytest.approx(0.8, rel=0.03)
    pair = np.corrcoef(values["ascent_motor.label_bias"], values["landing_motor.label_bias"])
    assert pair[0, 1] == pytest.approx(0.9, abs=0.01)
    assert space.free[space.names.index("wind.direction")]
    assert not space.free[space.names.index("wind.speed")]


def test_check_pair__another_seed_or_flight_code():
    one, two = (xr.Dataset(attrs={"seed": s, "kernel": k}) for s, k in ((1, "a"), (2, "a")))
    with pytest.raises(UserMistake, match="seed"):
        check_pair(one, two)
    with pytest.raises(UserMistake, match="flight code"):
        check_pair(one, xr.Dataset(attrs={"seed": 1, "kernel": "b"}))
    check_pair(one, one)


def test_campaign__results_do_not_depend_on_workers(heron):
    def fly(scenario, seed, runs, values):
        return {"outcome": 0.0 * runs, "tilt": values["launch_pad.tilt"] + runs}

    found = [
        Campaign(5, fly=fly, workers=k).fly_one(Batch(heron, first_runs(700)))["tilt"]
        for k in (1, 3)
    ]
    assert np.array_equal(*found)


def test_campaign__a_failing_kernel_is_a_run_failure(heron):
    def fly(scenario, seed, runs, values):
        raise ZeroDivisionError

    with pytest.raises(RunFailure, match="fault of the program"):
        Campaign(1, fly=fly).fly_one(Batch(heron, first_runs(8)))
