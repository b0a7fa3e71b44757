"""Flights that come down together are flown together, and nothing else changes."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from sim.ensemble import fly_runs as room
from sim.ensemble.draws import draw_numbers
from sim.ensemble.flight_order import FlightOrder, slopes
from sim.scenario import load_scenario
from tests.flight.eight import HERON

SEED = 20240607

def made_flights(count, seed=SEED, fields=12):
    """Inputs of which two decide; ticks that follow from them, with some chance left over."""
    rng = np.random.default_rng(seed)
    inputs = rng.normal(3.0, 0.2, (fields, count))
    inputs[4] = 7.0  # the same for all
    inputs[7] *= 1e-6  # in other units
    ticks = 800.0 + 300.0 * inputs[2] + 1e8 * inputs[7] + rng.normal(0.0, 2.0, count)
    return inputs, ticks

def idle(ticks, width=8):
    """Share of lanes that idle when flights in groups wait for their slowest."""
    groups = ticks.reshape(-1, width)
    return 1.0 - groups.sum() / (groups.max(axis=1).sum() * width)

def test_slopes__are_those_the_flights_were_made_with():
    found = slopes(*made_flights(20_000))
    assert found[2] == pytest.approx(300.0 / 1.02, rel=0.01)  # drawn to zero by the stiffness
    assert found[7] == pytest.approx(1e8 / 1.02, rel=0.01)
    assert found[4] == 0.0

@pytest.mark.parametrize("count", [1, 8, 199])
def test_slopes__too_few_flights_teach_nothing(count):
    assert slopes(*made_flights(count)) is None

def test_slopes__more_inputs_need_more_flights():
    assert slopes(*made_flights(400, fields=202)) is None
    assert slopes(*made_flights(410, fields=202)) is not None

def test_order__sorts_flights_that_it_has_not_seen():
    order = FlightOrder()
    inputs, ticks = made_flights(512, seed=SEED + 1)
    assert np.array_equal(order.of(inputs), np.arange(512))
    order.learn(*made_flights(512))
    found = order.of(inputs)
    assert np.array_equal(np.sort(found), np.arange(512))
    assert idle(ticks[found]) < 0.2 * idle(ticks)

def test_order__gathers_small_sets_until_they_are_enough():
    order = FlightOrder()
    inputs, ticks = made_flights(256)
    for start in range(0, 192, 64):
        order.learn(inputs[:, start : start + 64], ticks[start : start + 64])
        assert np.array_equal(order.of(inputs), np.arange(256))
    order.learn(inputs[:, 192:], ticks[192:])
    assert idle(ticks[order.of(inputs)]) < idle(ticks)
    before = order.of(inputs)
    order.learn(inputs, -ticks)  # learns once
    assert np.array_equal(order.of(inputs), before)

def test_order__inputs_without_a_number_do_no_harm():
    order = FlightOrder()
    inputs, ticks = made_flights(512)
    inputs[9, 5], inputs[10, 7] = np.nan, np.inf
    order.learn(inputs, ticks)
    assert np.array_equal(np.sort(order.of(inputs)), np.arange(512))

def test_order__may_be_learnt_by_several_threads():
    order = FlightOrder()
    inputs, ticks = made_flights(1024)
    threads = [
        threading.Thread(target=order.learn, args=(inputs[:, i::4], ticks[i::4])) for i in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert np.array_equal(np.sort(order.of(inputs)), np.arange(1024))

def test_fly_runs__same_bits_in_the_learnt_order(monkeypatch):
    scenario = load_scenario(HERON, ['flight.ends_at="first_touch"'])
    runs = np.arange(48, dtype=np.int64)
    values = draw_numbers(scenario, SEED, runs, flights=len(runs))
    plain = room.fly_runs(scenario, SEED, runs, values)
    loaded = room.load_computer(scenario)
    asked = []

    def backwards(inputs):
        asked.append(inputs.shape[1])
        return np.arange(inputs.shape[1], dtype=np.int64)[::-1]

    monkeypatch.setattr(loaded.order, "of", backwards)
    ordered = room.fly_runs(scenario, SEED, runs, values)
    assert asked == [48]
    assert [n for n in plain if plain[n].tobytes() != ordered[n].tobytes()] == []
