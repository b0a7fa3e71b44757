"""Wind at the reference height, by law and by measured profile."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from sim.ensemble.field_wind import field_wind

NUMBERS = {"wind.speed": 3.0, "wind.direction": 0.5 * np.pi, "wind.reference_height": 10.0}


def test_field_wind__a_law_says_it_itself():
    scenario = SimpleNamespace(choices={"wind.law": "power"})
    speed, toward = field_wind(NUMBERS.__getitem__, scenario)
    # from the east, so to the west
    assert (speed, np.sin(toward), np.cos(toward)) == pytest.approx((3.0, -1.0, 0.0))


def test_field_wind__a_profile_is_read_at_the_reference_height():
    # 2 m/s from the north at 5 m, 4 m/s from the north at 15 m, whatever wind.speed says
    profile = np.array([[0.0, 0.0, 0.0], [5.0, 2.0, 0.0], [15.0, 4.0, 0.0]])
    scenario = SimpleNamespace(choices={"wind.law": "profile"}, curves={"wind.profile": profile})
    speed, toward = field_wind(NUMBERS.__getitem__, scenario)
    assert (speed, np.sin(toward), np.cos(toward)) == pytest.approx((3.0, 0.0, -1.0), abs=1e-12)


def test_field_wind__directions_are_mixed_as_vectors():
    # from 350 deg below, from 10 deg above: between them from the north, not from the south
    profile = np.array([[5.0, 2.0, np.deg2rad(350.0)], [15.0, 2.0, np.deg2rad(10.0)]])
    scenario = SimpleNamespace(choices={"wind.law": "profile"}, curves={"wind.profile": profile})
    _, toward = field_wind(NUMBERS.__getitem__, scenario)
    assert np.cos(toward) == pytest.approx(-1.0)
