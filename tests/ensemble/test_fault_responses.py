"""Which flights show what it is worth that a fault is noticed."""

from pathlib import Path

import pytest

from sim.ensemble.faults import CHECKS, response_settings
from sim.scenario import load_scenario

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"


@pytest.mark.parametrize(
    ("sets", "flown"),
    [
        ([], False),  # noticed, and nothing to be done
        (["flight_computer.on_fault=do_not_light"], False),
        (["flight_computer.on_fault=level_out"], True),
        (["parachute.drag_area=0.5 m2"], True),
    ],
)
def test_response_settings__only_where_something_could_come_of_them(sets, flown):
    found = response_settings(load_scenario(HERON, sets))
    assert ("with" in found) == flown
    if flown:
        assert found["without"] == (False,) * len(CHECKS)
        assert all(found["with"])
