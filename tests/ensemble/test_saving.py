"""The cheapest change that saves, on a limit state whose answer is known in closed form."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.ensemble.saving import BEYOND, FARTHEST, HALVINGS, find_changes
from sim.errors import UserMistake

POINT = np.array([2.0, 1.0, 0.5])
NAMES = ["motor.a", "motor.b", "wind.direction"]
FREE = np.array([False, False, True])


class Made:
    """A scenario of two settings, one of which no value may leave below 9."""

    success = ()

    def __init__(self, **values):
        self.values = {"flight_computer.height": 10.0, "flight_computer.gain": 9.5} | values
        self.numbers = {
            key: SimpleNamespace(value=value, law=SimpleNamespace(kind="fixed"))
            for key, value in self.values.items()
        }

    def has(self, _section):
        return True

    def with_values(self, changed):
        if changed.get("flight_computer.gain", 10.0) < 9.0:
            raise UserMistake("too little gain")
        return Made(**{**self.values, **changed})


def failing(point, scenario, _flights):
    """Fails where a + 2 b reaches 3, and for every tenth of height less, 1 later."""
    limit = 3.0 + 10.0 * (1.0 - scenario.values["flight_computer.height"] / 10.0)
    return float(point[0] + 2.0 * point[1] >= limit)


def found():
    return find_changes(
        Made(), POINT, NAMES, NAMES[:2], FREE, mode="tilt", failing=failing
    )  # fmt: skip


def test_find_changes__least_of_each_kind():
    before, changes = found()
    assert before == 1.0
    by_key = {one.key: one for one in changes}
    # beyond the point a + 2 b = 4.4, of which 1.4 has to go: from a alone, or half as much from b
    step = 0.5**HALVINGS
    assert by_key["motor.a"].price == pytest.approx(1.4, abs=step * BEYOND * 2.0)
    assert by_key["motor.b"].price == pytest.approx(0.7, abs=step * BEYOND * 1.0)
    # or the limit moves by 1.4, for which the height falls by 14 %
    assert by_key["flight_computer.height"].amount == pytest.approx(-0.14, abs=step * FARTHEST)
    assert by_key["flight_computer.height"].price == pytest.approx(1.4, abs=10 * step * FARTHEST)
    assert "flight_computer.gain" not in by_key  # it does nothing
    assert all(one.fails == 0.0 for one in changes)


def test_find_changes__the_cheapest_first():
    _, changes = found()
    prices = [one.price for one in changes]
    assert prices == sorted(prices)
    assert changes[0].key == "motor.b"


def test_find_changes__nothing_saves():
    _, changes = find_changes(
        Made(), POINT, NAMES, NAMES[:2], FREE, mode="tilt", failing=lambda *_: 1.0
    )
    assert changes == []
