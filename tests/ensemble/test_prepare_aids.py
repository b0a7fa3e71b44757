"""Aids: their mass, their sky, and what the filter is told of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sim.avionics.filter_memory import FILTER_SETTINGS
from sim.ensemble.prepare import flight_inputs
from sim.ensemble.settings import computer_settings
from sim.flight_records import INPUTS
from sim.scenario import load_scenario

AIDED = Path(__file__).parents[2] / "scenarios" / "heron_aided.toml"
HERON = AIDED.with_name("heron.toml")


def fields(*sets, path=AIDED):
    scenario = load_scenario(path, sets=list(sets))
    return dict(zip(INPUTS, flight_inputs({}, scenario, 1)[:, 0], strict=True))


def test_mass__of_the_aids_is_carried():
    """Parallel axes, about the origin: sums over the bodies."""
    bare, laden = fields(path=HERON), fields()
    masses, stations = np.array([0.018, 0.003, 0.012]), np.array([0.12, 0.35, 0.95])
    total = bare["core_mass"] + masses.sum()
    assert laden["core_mass"] == pytest.approx(total)
    moment = bare["core_mass"] * bare["core_x"] - masses @ stations
    assert laden["core_x"] == pytest.approx(moment / total)
    about_nose = bare["core_jyy"] + bare["core_mass"] * bare["core_x"] ** 2 + masses @ stations**2
    assert laden["core_jyy"] + total * laden["core_x"] ** 2 == pytest.approx(about_nose)
    assert laden["stack_mass"] == pytest.approx(bare["stack_mass"] + masses.sum())


def test_absent_aids__change_nothing():
    bare = fields(path=HERON)
    none = fields("gnss=none", "barometer=none", "range_finder=none")
    assert bare == none


def test_sky__obstructed_makes_every_error_larger():
    clear, trees = fields(), fields("gnss.sky=obstructed", "gnss.interference=2")
    assert trees["gnss_drift_vertical"] == pytest.approx(3.0 * clear["gnss_drift_vertical"])
    assert trees["gnss_noise_horizontal"] == pytest.approx(6.0 * clear["gnss_noise_horizontal"])


def test_outage__comes_to_the_flights_that_drew_it():
    scenario = load_scenario(AIDED, sets=["gnss.sky=obstructed"])
    drawn = {"gnss.outage": np.array([0.0, 1.0, 0.0]), "gnss.outage_start": np.full(3, 2.5),
             "gnss.outage_obstructed": np.array([0.0, 0.0, 1.0])}  # fmt: skip
    rows = dict(zip(INPUTS, flight_inputs(drawn, scenario, 3), strict=True))
    assert rows["gnss_outage_start"][0] > 1e9
    np.testing.assert_allclose(rows["gnss_outage_start"][1:], 2.5)
    np.testing.assert_allclose(rows["gnss_outage_end"][1:], 4.5)


def test_filter__is_told_believed_numbers_and_nothing_without_it():
    told, _ = computer_settings(load_scenario(HERON))
    assert all(told[name] == 0.0 for name in FILTER_SETTINGS)
    told, _ = computer_settings(load_scenario(AIDED))
    assert told["aided"] == 1.0
    assert told["range_variance"] == pytest.approx(0.04**2)
    other = load_scenario(AIDED, sets=['range_finder.noise={value="40 mm", believed="10 mm"}'])
    assert computer_settings(other)[0]["range_variance"] == pytest.approx(0.01**2)


def test_tilt__of_a_levelled_unit_is_tied_to_its_side_bias():
    """In rest the two cancel: variance of the tilt times g^2 is that of the bias, all shared."""
    told, _ = computer_settings(load_scenario(AIDED))
    assert told["start_tie"] == pytest.approx(told["start_side_bias"] ** 2 / told["gravity"])
    assert told["start_tilt"] * told["gravity"] >= told["start_side_bias"]
