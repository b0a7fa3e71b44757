"""Reading what a sweep varies."""

import pytest

from sim.ensemble.vary import Vary, level_value, parse_vary, read_varied, touched
from sim.errors import UserMistake
from tests.ensemble.stand_in import Scenario


@pytest.mark.parametrize(
    ("text", "levels"),
    [
        ("a.b=0..1 deg/5", ("0.0 deg", "0.25 deg", "0.5 deg", "0.75 deg", "1.0 deg")),
        ("a.b=0..0.3 deg/4", ("0.0 deg", "0.1 deg", "0.2 deg", "0.3 deg")),
        ("a.b = -1e-3..1e-3/3", ("-0.001", "0.0", "0.001")),
        ("a.b=0..5 m/s/2", ("0.0 m/s", "5.0 m/s")),
        ("a.b=0 deg..1 deg/2", ("0.0 deg", "1.0 deg")),
        ("a.b=5..1 %/3", ("5.0 %", "3.0 %", "1.0 %")),
        ("a.b=0.1, 0.2, 0.5 deg", ("0.1 deg", "0.2 deg", "0.5 deg")),
        ("a.b=100 ms, 0.2 s", ("100.0 ms", "0.2 s")),
        ("a.b=3", ("3.0",)),
        ("a.b=1, .5 deg/s/sqrt(Hz)", ("1.0 deg/s/sqrt(Hz)", "0.5 deg/s/sqrt(Hz)")),
    ],
)
def test_parse_vary__levels(text, levels):
    assert parse_vary(text) == Vary("a.b", levels)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a.b", "nothing to vary"),
        ("a.b=", "nothing to vary"),
        ("=1..2/3", "nothing to vary"),
        ("a.b=0..1 deg", "how many levels"),
        ("a.b=0..5 m/s", "how many levels"),
        ("a.b=0..1 deg/1", "1 levels"),
        ("a.b=0 rad..1 deg/3", "two units, rad and deg"),
        ("a.b=one..2 deg/3", '"one" is not a number'),
        ("a.b=1, two deg", '"two deg" is not a number'),
        ("a.b=1, 1 deg", "comes twice"),
        ("a.b=0..0 deg/3", "comes twice"),
    ],
)
def test_parse_vary__says_what_would_be_right(text, words):
    with pytest.raises(UserMistake, match=words):
        parse_vary(text)


def test_read_varied__one_or_two():
    assert [v.key for v in read_varied("a=1,2")] == ["a"]
    assert [v.key for v in read_varied(["a=1,2", Vary("b", ("1", "2"))])] == ["a", "b"]
    for wrong in ([], ["a=1", "b=1", "c=1"], ["a=1", "a=2"]):
        with pytest.raises(UserMistake, match="sweep"):
            read_varied(wrong)


def test_level_value__number_spread_and_axes():
    scenario = Scenario()
    tilted = scenario.with_values({"launch_pad.tilt": "0.02"})
    assert level_value(tilted, "launch_pad.tilt") == (0.02, "rad")
    spread = scenario.with_values({"wind.speed.spread": "3 m/s"})
    assert level_value(spread, "wind.speed.spread") == (3.0, "m/s")
    biased = scenario.with_values({"sensor.bias": "0.4"})
    assert level_value(biased, "sensor.bias") == (0.4, "m/s2")
    assert touched(scenario, "sensor.bias") == ["sensor.bias.x", "sensor.bias.y"]
    assert touched(scenario, "sensor.bias.x") == ["sensor.bias.x"]
    with pytest.raises(UserMistake, match="no number"):
        level_value(scenario, "sensor")
