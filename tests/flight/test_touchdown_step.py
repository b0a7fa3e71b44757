"""Halving the contact step changes next to nothing for the demonstration vehicle."""

from __future__ import annotations

import numpy as np
import pytest

import sim
from sim.ensemble.fly_runs import load_computer
from sim.scenario import load_scenario
from tests.flight.eight import HERON

FLIGHTS = 1000


# the same draws at every step; peak strut force by its percentiles over all flights
@pytest.mark.nightly
@pytest.mark.parametrize("strut", ["spring", "friction"])
def test_contact_step__halved(strut):
    found = []
    given = load_scenario(HERON, sets=[f"legs.strut={strut}"])
    interval = load_computer(given).plan.interval
    step = interval / load_computer(given).plan.design.steps
    for share in (1.0, 0.5):
        sets = [f"legs.strut={strut}", f"flight.contact_step={share * step} s"]
        scenario = load_scenario(HERON, sets=sets)
        assert load_computer(scenario).plan.design.steps == round(interval / (share * step))
        found.append(sim.disperse(scenario, flights=FLIGHTS, seed=1))
    whole, half = found
    other = np.asarray(whole["outcome"]) != np.asarray(half["outcome"])
    assert np.count_nonzero(other) <= 0.01 * FLIGHTS
    force = [np.nan_to_num(np.asarray(each["peak_strut_force"])) for each in found]
    for percentile in (50.0, 95.0):
        whole, half = (np.percentile(each, percentile) for each in force)
        assert whole == pytest.approx(half, rel=0.02)
