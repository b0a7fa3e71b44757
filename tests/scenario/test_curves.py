"""Tables in files and in place."""

import math

import numpy as np
import pytest
from small_scenario import SMALL, THRUST, write_small

from sim.scenario import load_scenario


@pytest.mark.parametrize(
    "text",
    [
        THRUST,
        THRUST.replace(",", ";"),
        THRUST.replace(",", "\t"),
        THRUST.replace(",", " "),
        THRUST.replace("\n", "\r\n"),
        "\ufeff" + THRUST,
        THRUST.replace("time, thrust\n", ""),
        THRUST.replace("0.10, 38.0", "0.10, 38.0 # a bump\n\n# more"),
    ],
    ids=["comma", "semicolon", "tab", "blank", "crlf", "mark", "no titles", "comments"],
)
def test_thrust_curve__is_read_however_it_is_separated(tmp_path, text):
    curve = load_scenario(write_small(tmp_path, thrust=text)).curves["landing_motor.curve"]
    expected = [[0, 0], [0.05, 40], [0.1, 38], [1, 36], [1.1, 0.5], [1.2, 0]]
    assert curve.tolist() == expected


def test_thrust_curve__in_place(tmp_path):
    rows = "[[0, 0], [0.05, 40], [0.1, 38], [1, 36], [1.1, 0.5], [1.2, 0.0]]"
    text = SMALL.replace('"thrust.csv"', rows)
    inline = load_scenario(write_small(tmp_path, text))
    assert inline.digest == load_scenario(write_small(tmp_path)).digest


def test_profile__is_in_si(tmp_path):
    (tmp_path / "wind.csv").write_text("height,speed,from\n0,1,0\n10,2.5,90\n50,4,180\n")
    text = SMALL.replace('law = "power"', 'law = "profile"\nprofile = "wind.csv"')
    profile = load_scenario(write_small(tmp_path, text)).curves["wind.profile"]
    np.testing.assert_allclose(profile[:, 2], [0, math.pi / 2, math.pi])
    assert profile[1, :2].tolist() == [10, 2.5]


def test_table__of_coefficients(tmp_path):
    (tmp_path / "air.csv").write_text("0,0.4,0,0.2\n90,0,9,0.5\n180,-0.9,0,0.8\n")
    text = SMALL + '\n[aerodynamics]\nlaw = "table"\ntable = "air.csv"\n'
    table = load_scenario(write_small(tmp_path, text)).curves["aerodynamics.table"]
    assert table.shape == (3, 4)
    assert table[-1, 0] == pytest.approx(math.pi)
