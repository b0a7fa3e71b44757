"""The guide: what is read off the program is all there, and fits the screen."""

import json

import pytest

from sim.cli.guide import TOPICS
from sim.ensemble.registry import OUTCOMES
from sim.scenario import describe_keys


@pytest.mark.parametrize("topic", TOPICS)
@pytest.mark.parametrize("columns", [80, 120])
def test_guide__fits(setdown, monkeypatch, topic, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    shown = setdown("guide", topic)
    assert shown.exit_code == 0
    assert max(map(len, shown.stdout.splitlines())) <= columns
    assert "…" not in shown.stdout  # nothing is cut off


def test_guide__every_key_of_a_section(setdown):
    shown = setdown("guide", "scenario", "landing_motor").stdout
    keys = [row.key for row in describe_keys() if row.key.startswith("landing_motor.")]
    assert keys
    assert all(key.rpartition(".")[2] in shown for key in keys)
    assert "ascent_motor" not in shown


def test_guide__every_key_and_every_result(setdown):
    keys = json.loads(setdown("guide", "scenario", "--json").stdout)["keys"]
    assert [row["key"] for row in keys] == [row.key for row in describe_keys()]
    found = json.loads(setdown("guide", "outcomes", "--json").stdout)["outcomes"]
    assert [row["name"] for row in found] == list(OUTCOMES)


def test_guide__examples_of_the_laws_are_understood(setdown, heron):
    """What the page shows of writing a number is what the scenario takes."""
    from sim.report.guide_pages import WRITTEN
    from sim.scenario import load_scenario

    written = [line.strip().partition("   ")[0] for line in WRITTEN.splitlines()]
    places = {"length": "vehicle.length", "tilt": "launch_pad.tilt"}
    lines = [line.split(" = ", 1) for line in written if line.split(" ")[0] in places]
    assert len(lines) >= 8
    for key, value in lines:
        load_scenario(heron, [f"{places[key]}={value}"])


def test_guide__mistakes(setdown):
    for arguments, word in (
        (("glosary",), 'did you mean "glossary"?'), (("scenario", "legz"), 'mean "legs"'),
        (("sure", "legs"), "no sections"),
    ):  # fmt: skip
        shown = setdown("guide", *arguments)
        assert shown.exit_code == 2
        assert word in shown.stderr
    assert "setdown guide frames" in setdown("guide").stdout
