"""The first touch where something is odd about the ground."""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.fly_runs import fly_runs
from sim.physics.contact import FOOT
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


def test_first_touch__legs_whose_feet_would_swing_into_the_ground_stay_folded():
    """Opening ever closer to the moment from which on they would: none is lost to it."""
    calm = ["wind.speed=0 m/s", "wind.turbulence=none", "surface.slope=3 deg"]
    scenario = load_scenario(HERON.with_name("wagtail.toml"), sets=calm)
    runs = np.zeros(48, dtype=np.int64)  # the same flight, but for its legs
    late = fly_runs(scenario, 1, runs, {"legs.delay": np.full(48, 30.0)})
    end = late["contact_time"][0]  # on the airframe: no leg has opened
    assert late["contact_point"][0] != FOOT
    waits = scenario.numbers["flight_computer.legs_after_ignition"].value
    command = late["ignition_command_time"][0] + waits
    first, last = end - 0.5, end - 0.002
    for _ in range(3):
        opens = np.linspace(first, last, 48)
        out = fly_runs(scenario, 1, runs, {"legs.delay": opens - command})
        assert np.all(np.isfinite(out["contact_time"]))
        on_feet = out["contact_point"] == FOOT
        turn = int(on_feet.argmin())
        assert turn > 0
        assert not on_feet[turn:].any()
        assert np.all(out["contact_time"][:turn] >= opens[:turn])
        assert out["contact_time"][turn:] == pytest.approx(np.full(48 - turn, end), abs=1e-5)
        first, last = opens[turn - 1], opens[turn]
