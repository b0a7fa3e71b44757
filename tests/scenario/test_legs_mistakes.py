"""Legs and ground that cannot be: each mistake at its place, with what would be right."""

import pytest
from small_scenario import SMALL, line_of, write_small

from sim.errors import ScenarioMistakes
from sim.scenario import load_scenario

FOOT = 'foot_station = "1.10 m"'
LEGS = "[legs]\n"
GROUND = "[surface]\n"

# what is replaced, by what, start of the line blamed, key, what was found, what would be right
SPOILED = [
    ("count = 4", "count = 2", "count", "legs.count", "2 legs", "write 3 or more"),
    ("count = 4", "count = 1", "count", "legs.count", "1 legs", "write 3 or more"),
    ("count = 4", "count = 7", "count", "legs.count", "7 legs", "write 6 or fewer"),
    (FOOT, 'foot_station = "0.95 m"', "foot_station", "legs.foot_station",
     "the nozzle at 1 m", "must reach below landing_motor.nozzle"),
    (LEGS, LEGS + 'strut = "spring"\nstroke = "0.4 m"\n', "stroke", "legs.stroke", "0.4 m",
     "the strut is 0.262 m long"),
    (LEGS, LEGS + 'strut = "spring"\nkind = "hinged"\nstroke = "0.4 m"\n', "stroke",
     "legs.stroke", "0.4 m", "long: write less"),
    (LEGS, LEGS + 'strut = "gas"\norifice = "25 mm"\n', "orifice", "legs.orifice", "0.025 m",
     "the bore is 0.02 m"),
    (LEGS, LEGS + 'strut = "crush"\nsecond_strut = "gas"\norifice = "25 mm"\n', "orifice",
     "legs.orifice", "0.025 m", "the bore is 0.02 m"),
    (LEGS, LEGS + 'strut = "gas"\nstroke = "50 mm"\ngas_length = "45 mm"\n', "stroke",
     "legs.stroke", "0.05 m", "the column of air is 0.045 m"),
    (LEGS, LEGS + 'strut = "crush"\nsecond_strut = "gas"\nsecond_stroke = "50 mm"\n'
     'gas_length = "45 mm"\n', "second_stroke", "legs.second_stroke", "0.05 m", "0.045 m"),
    (LEGS, LEGS + 'strut = "gas"\nsecond_strut = "gas"\n', "second_strut", "legs.second_strut",
     '"gas" in series with strut = "gas"', "of different kinds"),
    (LEGS, LEGS + 'second_strut = "crush"\n', "second_strut", "legs.second_strut",
     'strut = "rigid"', "take second_strut out"),
    (LEGS, LEGS + 'strut = "friction"\nbreak_force = "5 N"\n', "break_force",
     "legs.break_force", "5 N", "not be below sliding"),
    (LEGS, LEGS + 'strut = "spring"\nhinge_station = "1.2 m"\n', "hinge_station",
     "legs.hinge_station", "1.2 m", "ahead of the feet, 1.1 m"),
    (LEGS, LEGS + 'kind = "hinged"\nstrut = "crush"\nstrut_place = "0"\n', "strut_place",
     "legs.strut_place", "0", "write more than 0"),
    (LEGS, LEGS + 'strut = "springs"\n', "strut", "legs.strut", "springs", "spring"),
    (LEGS, LEGS + 'moving_mass = "0 g"\n', "moving_mass", "legs.moving_mass", "0 g",
     "above zero"),
    (LEGS, LEGS + 'latch_failure = "1.5"\n', "latch_failure", "legs.latch_failure", "1.5",
     "between 0 and 1"),
    (LEGS, GROUND + 'friction_static = "-0.1"\n' + LEGS, "friction_static",
     "surface.friction_static", "-0.1", "zero or more"),
    (LEGS, GROUND + 'friction_static = "0.3"\nfriction_kinetic = "0.4"\n' + LEGS,
     "friction_kinetic", "surface.friction_kinetic", "0.4", "must not exceed static"),
    (LEGS, GROUND + 'stiffness = "0 N/m"\n' + LEGS, "stiffness", "surface.stiffness", "0 N/m",
     "above zero"),
    (LEGS, GROUND + 'slope = "90 deg"\n' + LEGS, "slope", "surface.slope", "90 deg",
     "less than 45 deg"),
    (LEGS, GROUND + 'kind = "short_gras"\n' + LEGS, "kind", "surface.kind", "short_gras",
     "short_grass"),
    (LEGS, GROUND + 'moisture = "2"\n' + LEGS, "moisture", "surface.moisture", "2",
     "between 0 and 1"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "start", "key", "found", "right"), SPOILED)
def test_mistake__of_legs_is_placed_and_says_what_would_be_right(
    tmp_path, old, new, start, key, found, right
):
    text = SMALL.replace(old, new, 1)
    assert text != SMALL
    path = write_small(tmp_path, text)
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path)
    (mistake,) = [m for m in caught.value.mistakes if m.key == key]
    assert mistake.file == str(path)
    added = new.splitlines()
    inside = next((line for line in added if line.startswith(start)), start)
    assert mistake.line == line_of(text, inside)
    assert found in mistake.found
    assert right in str(mistake)


def test_mistakes__of_legs_and_ground_are_reported_all_at_once(tmp_path):
    text = SMALL.replace("count = 4", "count = 2", 1).replace(FOOT, 'foot_station = "0.95 m"', 1)
    text = text.replace(
        LEGS,
        GROUND + 'friction_static = "-0.1"\nslope = "90 deg"\n' + LEGS
        + 'strut = "gas"\norifice = "25 mm"\nstroke = "0.5 m"\n', 1,
    )  # fmt: skip
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(write_small(tmp_path, text))
    assert {m.key for m in caught.value.mistakes} >= {
        "legs.count", "legs.foot_station", "legs.orifice", "legs.stroke", "surface.slope",
        "surface.friction_static",
    }  # fmt: skip


@pytest.mark.parametrize(
    "lines",
    [LEGS + 'strut = "crush"\norifice = "25 mm"\n', LEGS + 'stroke = "2 m"\n',
     LEGS + 'strut = "gas"\nsecond_strut = "crush"\n', GROUND + 'slope = "30 deg"\n' + LEGS],
)  # fmt: skip
def test_legs__what_does_not_matter_is_no_mistake(tmp_path, lines):
    assert load_scenario(write_small(tmp_path, SMALL.replace(LEGS, lines, 1))).has("legs")
