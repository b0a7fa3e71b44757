"""Aids in a scenario: optional parts, defaults with sources, mistakes found."""

from __future__ import annotations

from pathlib import Path

import pytest

from sim.errors import UserMistake
from sim.scenario import load_scenario

AIDED = Path(__file__).parents[2] / "scenarios" / "heron_aided.toml"
AIDS = ("gnss", "barometer", "range_finder")


def test_aided__builds_on_heron():
    scenario = load_scenario(AIDED)
    assert all(scenario.has(part) for part in AIDS)
    assert scenario.choices["flight_computer.navigation"] == "aided"
    assert scenario.choices["gnss.sky"] == "open"
    assert scenario.numbers["gnss.mass"].value == pytest.approx(0.018)


def test_heron__has_none_and_reckons():
    scenario = load_scenario(AIDED.with_name("heron.toml"))
    assert not any(scenario.has(part) for part in AIDS)
    assert scenario.choices["flight_computer.navigation"] == "dead_reckoning"


def test_every_number__has_a_source():
    scenario = load_scenario(AIDED.with_name("heron.toml"), sets=["gnss.sky=open"])
    for name, number in scenario.numbers.items():
        if name.startswith("gnss."):
            assert number.source


def test_late_fixes__are_a_mistake():
    with pytest.raises(UserMistake, match=r"gnss\.latency"):
        load_scenario(AIDED, sets=["gnss.latency=300 ms"])
    with pytest.raises(UserMistake, match="two fixes"):
        load_scenario(AIDED, sets=["gnss.rate=25 Hz"])
    with pytest.raises(UserMistake, match="obstructed"):
        load_scenario(AIDED, sets=["gnss.sky=cloudy"])
