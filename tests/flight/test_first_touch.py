"""The first touch where something is odd about the ground."""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.fly_runs import fly_runs
from sim.scenario import load_scenario
from tests.flight.eight import HERON


def test_first_touch__vehicle_that_leaves_from_below_the_landing_pad():
    # the aft end stands at 0.15 m, inside a landing pad of 0.27 m: it touches as it leaves
    scenario = load_scenario(
        HERON,
        sets=["landing_pad.east=0 m", "landing_pad.radius=100 m", "landing_pad.height=0.27 m"],
    )
    runs = np.arange(8, dtype=np.int64)
    out = fly_runs(scenario, 1, runs, {})
    assert np.all(np.isfinite(out["contact_time"]))
    assert out["contact_time"] == pytest.approx(out["lift_off_time"], abs=0.006)
    assert np.all(out["success"] == 0.0)
