"""Nonsense anywhere in a scenario is reported as a mistake, never as a traceback."""

import pytest
from small_scenario import SMALL, write_small

from sim.errors import ScenarioMistakes
from sim.scenario import load_scenario
from sim.scenario.catalogue import PARTS, describe_keys

NONSENSE = (
    "[]", "{}", '""', "true", "-1", "nan", "2026-01-01", "[[1], [2, 3], []]", "[{}]", '" +/- "',
    '{ x = 1, y = [] }', "{ normal = [] }", "{ choice = 3 }", "{ chance = [1] }", '"1e9999 m"',
    "{ value = {}, believed = {} }", '"\\u0000"', "{ empirical = [true] }", '"1 kg kg kg"',
    "{ choice = [1], weights = [[]] }", "1e300", '"(((((((((("', "{ weights = 3 }",
)  # fmt: skip


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_small(tmp_path_factory.mktemp("nonsense"))


@pytest.mark.parametrize("value", NONSENSE)
def test_nonsense__in_any_key(path, value):
    keys = [row.key for row in describe_keys()]
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path, [f"{key}={value}" for key in keys])
    assert all(m.found and m.right for m in caught.value.mistakes)
    assert len(caught.value.mistakes) > 20


@pytest.mark.parametrize("value", NONSENSE)
@pytest.mark.parametrize("key", ["title", "stratum", "correlated", "success", "unknown", "a.b.c"])
def test_nonsense__at_the_top(path, key, value):
    try:
        load_scenario(path, [f"{key}={value}"])
        found = []
    except ScenarioMistakes as mistakes:
        found = mistakes.mistakes
    # some of it makes sense there: any text is a title, -1 a stratum, {} an empty section
    assert found or key in ("title", "stratum", "success", "correlated")
    assert all(m.found and m.right for m in found)


@pytest.mark.parametrize("value", ["[]", "3", "true", "[{}]", '"off"', "2026-01-01"])
def test_nonsense__for_every_section(path, value):
    parts = [part for part in PARTS if "." not in part] + ["inertial.gyro"]
    for chosen in (parts[:-1], parts[-1:]):
        with pytest.raises(ScenarioMistakes) as caught:
            load_scenario(path, [f"{part}={value}" for part in chosen])
        assert set(chosen) <= {m.key for m in caught.value.mistakes}
        assert all(len(str(m)) < 600 for m in caught.value.mistakes)


def test_nonsense__group_tables(tmp_path):
    for text in ("[correlated]\nnumbers = 1", "correlated = 3", "correlated = [3]"):
        head, _, _ = SMALL.partition("[[correlated]]")
        spoiled = head + "\n" + text if text.startswith("[") else text + "\n" + head
        with pytest.raises(ScenarioMistakes, match="correlated"):
            load_scenario(write_small(tmp_path, spoiled))


@pytest.mark.parametrize("section", ["[[vehicle]]", "[[inertial.gyro]]", "[[success]]"])
def test_nonsense__two_brackets_for_a_section(tmp_path, section):
    text = SMALL.replace(section[1:-1], section, 1)
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(write_small(tmp_path, text))
    assert any(m.key == section.strip("[]") for m in caught.value.mistakes)
    assert all(len(str(m)) < 600 for m in caught.value.mistakes)
