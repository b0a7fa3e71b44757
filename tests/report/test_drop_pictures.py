"""Pictures of the drop rig are drawn whatever the drops did."""

from pathlib import Path

import numpy as np
import pytest

from sim.ensemble.batches import outcome_dataset
from sim.ensemble.drop import drop_one, make_rig
from sim.ensemble.drop_map import fly_map
from sim.ensemble.drop_release import read_release
from sim.ensemble.drop_summary import drop_summary
from sim.ensemble.drop_vary import fly_vary
from sim.ensemble.registry import OUTCOME_MEANINGS, OUTCOMES
from sim.ensemble.vary import parse_vary
from sim.report import style
from sim.report.drop_many_picture import draw_drops
from sim.report.drop_map_answer import reach
from sim.report.drop_map_picture import draw_map
from sim.report.drop_picture import draw_drop
from sim.report.drop_vary_picture import draw_vary
from sim.scenario import load_scenario

pytestmark = pytest.mark.slow  # what they share with other tests is fast there

STOOL = Path(__file__).parents[1] / "flight" / "data" / "stool.toml"


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    """Draw few dots: what is asked here is whether it can be drawn."""
    monkeypatch.setattr(style, "DOTS_PER_INCH", 40)


@pytest.fixture(scope="module")
def stool():
    return load_scenario(STOOL)


def is_drawn(path):
    assert path.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


def test_one_drop__that_tips(stool, tmp_path):
    release = read_release({"height": "0 m", "tilt": "40 deg"}, stool, drawn=False)
    flight = drop_one(make_rig(stool), release)
    assert np.isnan(flight.outcomes["rest_time"])
    draw_drop(tmp_path / "a.png", flight, stool)
    is_drawn(tmp_path / "a.png")


@pytest.mark.slow
@pytest.mark.parametrize("lost", [0, 3, 20])
def test_many_drops__some_or_all_lost(stool, tmp_path, lost):
    random = np.random.default_rng(5)
    found = {name: random.uniform(0.5, 2.0, 20) for name in OUTCOMES}
    found["outcome"] = np.full(20, float(OUTCOME_MEANINGS.index("standing")))
    found["outcome"][:lost] = OUTCOME_MEANINGS.index("numerical_failure")
    found["standing"] = (np.arange(20) >= lost).astype(float)
    for name in ("peak_strut_force", "peak_stroke", "peak_deceleration", "lateral_speed", "tilt"):
        found[name][:lost] = np.nan
    ds = outcome_dataset(found, np.arange(20), 1).assign_attrs(title="made up", landing_motor="")
    draw_drops(tmp_path / "a.png", ds, drop_summary(ds), stool)
    is_drawn(tmp_path / "a.png")


@pytest.mark.parametrize("flights", [None, 2])
def test_map__drawn(stool, tmp_path, flights):
    release = read_release({"sink_rate": "0 m/s"}, stool, drawn=flights is not None)
    found = fly_map(make_rig(stool), release, [0.5, 1.0], [0.0, 3.0], flights=flights)
    draw_map(tmp_path / "a.png", found, stool)
    is_drawn(tmp_path / "a.png")


def test_map__reach_is_up_to_the_first_cell_that_is_not_safe(stool):
    release = read_release({"sink_rate": "0 m/s"}, stool, drawn=False)
    one = fly_map(make_rig(stool), release, [0.5, 1.0], [0.0, 0.1, 0.2]).isel(way=0)
    assert reach(one, np.array([True, False, True])) == "up to 0.00 m/s sideways"
    assert reach(one, np.array([True, True, True])).startswith("up to 0.20 m/s sideways and")
    assert reach(one, np.array([False, True, True])).startswith("not even")


@pytest.mark.slow
def test_vary__drawn_when_nothing_changes(stool, tmp_path):
    release = read_release({"sink_rate": "1 m/s"}, stool, drawn=True)
    found = fly_vary(stool, "spent", release, parse_vary("legs.vent=5, 10 mm"), flights=4)
    draw_vary(tmp_path / "a.png", found)
    is_drawn(tmp_path / "a.png")
