"""Mistakes in faults: each at its place, all at once, with what would be right."""

import pytest
from small_scenario import SMALL, write_small

from sim.errors import ScenarioMistakes, UserMistake
from sim.scenario import load_scenario

# what is added, key, words of the message
WRONG = [
    ("[faults.landing_no_light]\nhappens = 1.2", "faults.landing_no_light.happens", "1"),
    ("[faults.landing_no_light]\nhappens = -0.1", "faults.landing_no_light.happens", "0"),
    ("[faults.landing_no_light]\nhappens = \"often\"", "faults.landing_no_light.happens", "often"),
    ('[faults.legs_late]\nhappens = { tests = "30 of 25" }', "faults.legs_late.happens",
     'write { tests = "0 of 25" }'),
    ('[faults.legs_late]\nhappens = { tests = "0 of 0" }', "faults.legs_late.happens",
     'write { tests = "0 of 25" }'),
    ('[faults.legs_late]\nhappens = { tests = "none of 25" }', "faults.legs_late.happens",
     'write { tests = "0 of 25" }'),
    ("[faults.wheels_saturate]\nhappens = 0.1", "faults.wheels_saturate", "add [wheels]"),
    ("[faults.gimbal_jammed]\nhappens = 0.1", "faults.gimbal_jammed",
     "add [landing_gimbal] or [ascent_gimbal]"),
    ("[faults.landing_nolight]\nhappens = 0.1", "faults.landing_nolight",
     "faults.landing_no_light"),
    ("[faults.legs_late]\nhapens = 0.1", "faults.legs_late.hapens", "faults.legs_late.happens"),
    ('[faults.legs_late]\nafter = "stage_hangs_on"', "faults.legs_late.after",
     "another fault that this scenario has"),
    ("[faults.legs_late]\nlateness = \"3 kg\"", "faults.legs_late.lateness", "kg"),
]  # fmt: skip


@pytest.mark.parametrize(("added", "key", "words"), WRONG)
def test_fault__mistake_is_placed_and_says_what_would_be_right(tmp_path, added, key, words):
    path = write_small(tmp_path, f"{SMALL}\n{added}\n")
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path)
    (mistake,) = caught.value.mistakes
    assert mistake.key == key
    assert mistake.line is not None
    assert mistake.line > len(SMALL.splitlines())
    assert words in str(mistake)


def test_exclusive_faults__may_not_add_up_to_more_than_one(tmp_path):
    text = (
        SMALL
        + """
[faults.landing_no_light]
happens = 0.5
[faults.landing_late_light]
happens = 0.4
[faults.landing_chuff]
happens = 0.2
"""
    )
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(write_small(tmp_path, text))
    (mistake,) = caught.value.mistakes
    assert "1.1" in str(mistake)
    assert "landing_no_light, landing_late_light, landing_chuff" in str(mistake)


def test_faults__all_mistakes_at_once(tmp_path):
    text = (
        SMALL
        + """
[faults.landing_no_light]
happens = 1.5
[faults.wheels_saturate]
happens = 0.1
[faults.legs_late]
happens = { tests = "30 of 25" }
"""
    )
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(write_small(tmp_path, text))
    assert {m.key for m in caught.value.mistakes} == {
        "faults.landing_no_light.happens", "faults.wheels_saturate", "faults.legs_late.happens",
    }  # fmt: skip


def test_with_faults__unknown_name_gets_the_nearest(tmp_path):
    scenario = load_scenario(write_small(tmp_path))
    with pytest.raises(UserMistake, match='did you mean "landing_no_light"'):
        scenario.with_faults(["landing_no_ligt"])
    with pytest.raises(ScenarioMistakes, match="wheels"):
        scenario.with_faults(["wheels_saturate"])


def test_chances__as_written(tmp_path):
    text = (
        SMALL
        + """
[faults.landing_no_light]
happens = { tests = "1 of 58" }
[faults.legs_late]
happens = 0.02
after = "landing_no_light"
happens_after = 0.4
"""
    )
    chances = load_scenario(write_small(tmp_path, text)).chances
    assert chances["landing_no_light"].value == pytest.approx(2 / 60)  # Laplace: (k + 1) / (n + 2)
    assert (chances["landing_no_light"].failures, chances["landing_no_light"].tests) == (1, 58)
    assert (chances["legs_late"].after, chances["legs_late"].value_after) == (
        "landing_no_light", 0.4,
    )  # fmt: skip


def test_ordinary_ensemble__is_of_sound_vehicles_whatever_the_chances(tmp_path):
    text = SMALL + "\n[faults.legs_late]\nhappens = 0.9\n"
    scenario = load_scenario(write_small(tmp_path, text))
    assert scenario.numbers["faults.legs_late.happens"].law.parameters == (0.0,)
    assert scenario.with_faults([], mixed=True).numbers[
        "faults.legs_late.happens"
    ].law.parameters == (0.9,)
