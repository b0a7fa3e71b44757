"""Ensembles and sweeps: the same flights whatever the chunks, workers, order and output."""

import threading

import numpy as np
import pytest
import xarray as xr

from sim.ensemble.draws import draw_numbers
from sim.ensemble.executors import in_threads
from sim.ensemble.manifest import chunk_size
from sim.ensemble.run import disperse, sweep
from sim.errors import RunFailure, UserMistake
from tests.ensemble.stand_in import Group, Scenario, fly, fly_trace

CORRELATED = Scenario(correlated=(Group(("wind.speed", "launch_pad.tilt"), 0.5),))
SWEPT = ["launch_pad.tilt=0..1 deg/3", "wind.speed.spread=1, 2 m/s"]


def in_reverse(work, tasks):
    """Execute the last task first."""
    for task in reversed(list(tasks)):
        yield task, work(task)


@pytest.fixture(scope="module")
def whole():
    return disperse(CORRELATED, flights=700, fly=fly, workers=1)


@pytest.mark.parametrize("method", ["random", "latin_hypercube", "sobol"])
@pytest.mark.parametrize(
    ("workers", "chunk", "execute"),
    [(3, 7, None), (1, 10_000, None), (1, 50, in_reverse)],
)
def test_disperse__the_same_whatever_the_execution(method, workers, chunk, execute):
    options = {"flights": 150, "fly": fly, "method": method}
    first = disperse(CORRELATED, workers=1, **options)
    other = disperse(CORRELATED, workers=workers, chunk=chunk, execute=execute, **options)
    assert first.identical(other)


def test_disperse__flight_is_the_same_in_a_larger_ensemble(whole):
    few = disperse(CORRELATED, flights=10, fly=fly)
    assert few.drop_attrs().identical(whole.isel(run=slice(10)).drop_attrs())
    other = disperse(CORRELATED, flights=10, fly=fly, seed=2)
    assert not np.array_equal(few.wind__speed, other.wind__speed)


def test_disperse__holds_what_was_drawn_and_flown(whole):
    runs = np.arange(700)
    values = draw_numbers(CORRELATED, 1, runs)
    found = fly(CORRELATED, 1, runs, values)
    for name, drawn in values.items():
        assert np.array_equal(whole[name.replace(".", "__")], drawn)
    for name, flown in found.items():
        assert np.array_equal(whole[name], flown, equal_nan=True)
    assert whole.outcome.dtype == np.int8
    assert whole.outcome[7] == 7
    assert whole.success[7] == 0
    assert np.isnan(whole.touchdown_speed[7])
    assert whole.sink_rate.isnull().all()  # not said by the stand-in
    assert (whole.weight == 1).all()
    assert (whole.stratum == 0).all()


def test_disperse__file_and_memory_are_the_same(tmp_path, whole):
    path = tmp_path / "a.nc"
    with disperse(CORRELATED, flights=700, fly=fly, out=path) as lazy:
        assert lazy.load().identical(whole)
    assert [p.name for p in tmp_path.iterdir()] == ["a.nc"]
    with xr.open_dataset(path) as plain:  # no help from us
        assert plain.load().identical(whole)


def test_disperse__reports_progress_in_the_callers_thread():
    seen = []

    def progress(done, total):
        seen.append((done, total, threading.current_thread() is threading.main_thread()))

    disperse(Scenario(), flights=100, chunk=30, fly=fly, progress=progress)
    assert [total for _, total, _ in seen] == [100] * 5
    assert all(main for _, _, main in seen)
    dones = [done for done, _, _ in seen]
    assert dones == sorted(dones)
    assert dones[0] == 0
    assert dones[-1] == 100


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"flights": 0}, "0 flights"),
        ({"seed": -1}, "seed -1"),
        ({"workers": 0}, "0 workers"),
        ({"chunk": 0}, "chunks of 0"),
        ({"method": "dice"}, "dice"),
        ({"flights": 10, "trace_runs": [10]}, "no run 10 to trace; runs go from 0 to 9"),
    ],
)
def test_disperse__refuses_the_impossible(options, words):
    with pytest.raises(UserMistake, match=words):
        disperse(Scenario(), fly=fly, **options)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"airspeed": np.zeros(10)}, "registry does not have: airspeed"),
        ({"tilt": np.zeros(9)}, r"tilt has shape \(9,\)"),
        ({"outcome": np.full(10, np.nan)}, "outcome is not a number"),
    ],
)
def test_disperse__a_wrong_flight_function_is_found(change, words):
    def wrong(*given):
        return fly(*given) | change

    with pytest.raises(RunFailure, match=f"runs 0 to 9 could not be flown.*{words}"):
        disperse(Scenario(), flights=10, fly=wrong)


def test_disperse__flights_must_say_their_outcome():
    with pytest.raises(RunFailure, match="do not say their outcome"):
        disperse(Scenario(), flights=10, fly=lambda *_: {})


def test_sweep__levels_share_their_draws():
    swept = sweep(CORRELATED, SWEPT, flights=100, fly=fly)
    assert dict(swept.sizes) == {"run": 100, "launch_pad_tilt": 3, "wind_speed_spread": 2}
    assert np.allclose(swept.launch_pad_tilt, np.radians([0, 0.5, 1]))
    assert swept.wind_speed_spread.values.tolist() == [1.0, 2.0]
    assert swept.sensor__bias__x.dims == ("run",)
    assert swept.wind__speed.dims == ("run", "launch_pad_tilt", "wind_speed_spread")
    assert np.allclose(swept.wind__speed[:, :, 1], 2 * swept.wind__speed[:, :, 0])
    assert "launch_pad__tilt" not in swept


@pytest.mark.parametrize(("tilt", "spread"), [(0, 0), (2, 1)])
def test_sweep__each_level_is_the_ensemble_of_that_scenario(tilt, spread):
    swept = sweep(CORRELATED, SWEPT, flights=100, fly=fly, chunk=16)
    angle = [0.0, 0.5, 1.0][tilt]
    level = CORRELATED.with_values(
        {"launch_pad.tilt": f"{angle} deg", "wind.speed.spread": f"{spread + 1} m/s"}
    )
    alone = disperse(level, flights=100, fly=fly)
    picked = swept.isel(launch_pad_tilt=tilt, wind_speed_spread=spread)
    for name in alone.data_vars:
        assert np.array_equal(picked[name], alone[name], equal_nan=True), name


def test_sweep__one_quantity_with_axes():
    swept = sweep(Scenario(), "sensor.bias=0.1, 0.2", flights=50, fly=fly)
    assert np.array_equal(abs(swept.sensor__bias__x), np.tile([0.1, 0.2], (50, 1)))
    assert swept.wind__speed.dims == ("run",)


def test_sweep__unknown_number_is_refused():
    with pytest.raises(UserMistake, match="wind_speed"):
        sweep(Scenario(), "wind_speed=1, 2", flights=10, fly=fly)


def test_chunk_size__from_the_number_of_flights_alone():
    sizes = {n: chunk_size(n) for n in (1, 100, 600, 1000, 10_000, 10**6)}
    assert sizes == {1: 32, 100: 32, 600: 40, 1000: 64, 10_000: 512, 10**6: 512}


def test_disperse__traces_are_of_the_runs_asked_for(tmp_path):
    with disperse(
        Scenario(), flights=5, fly=fly, out=tmp_path / "a.nc", trace_runs=[3, 3, 0],
        fly_trace=fly_trace, execute=in_threads(1),
    ):  # fmt: skip
        pass
    with xr.open_dataset(tmp_path / "a.nc", group="traces") as traces:
        assert traces.trace_run.values.tolist() == [0, 3]
        assert traces.tilt.dtype == np.float32
