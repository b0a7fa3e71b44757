"""Each mistake is reported at its place, with what was found and what would be right."""

import pytest
from small_scenario import SMALL, THRUST, line_of, write_small

from sim.errors import ScenarioMistakes, UserMistake
from sim.scenario import load_scenario

STAGE = """\
[stage]
mass = "1 kg"
cg = "1 m"
axial_inertia = "1 kg m2"
transverse_inertia = "1 kg m2"
end = "1 m"
"""
CONTRADICTION = """\
correlation = 0.9
[[correlated]]
numbers = ["vehicle.dry_mass", "vehicle.cg"]
correlation = 0.9
[[correlated]]
numbers = ["vehicle.cg", "landing_motor.label_bias"]
correlation = -0.9
"""

# what is replaced, by what, start of the line blamed, key, words of the message
SPOILED = [
    # unknown names
    ('dry_mass = "1.260 kg +/- 6 g"', 'dry_mas = "1.260 kg"', "dry_mas ", "vehicle.dry_mas",
     'did you mean "vehicle.dry_mass"?'),
    ("[landing_pad]", "[pad]", "[pad]", "pad", "write launch_pad or landing_pad"),
    ("[launch_pad]", "[lauch_pad]", "[lauch_pad]", "lauch_pad", 'did you mean "launch_pad"?'),
    ("[wind]", "[wnd]", "[wnd]", "wnd", 'did you mean "wind"?'),
    ('law = "power"', 'propellant_mass = "3 g"', "propellant_mass = \"3 g\"",
     "wind.propellant_mass", "belongs in [ascent_motor] or [landing_motor]"),
    ('title = "Small"', 'titel = "Small"', "titel", "titel", 'did you mean "title"?'),
    ('title = "Small"', 'dry_mass = "1 kg"', 'dry_mass = "1 kg"', "dry_mass",
     "belongs in [vehicle]"),
    ('title = "Small"', "title = 3", "title", "title", 'write title = "..."'),
    ('title = "Small"', 'stratum = "first"', "stratum", "stratum", "whole number"),
    ("[inertial.gyro]", "[inertial.giro]", "[inertial.giro]", "inertial.giro",
     'did you mean "inertial.gyro"?'),
    ("[legs]", '[faults]\nstuck = { chance = 0.02 }\n[legs]', "stuck", "faults.stuck",
     "known keys of [faults]"),
    # missing keys
    ('dry_mass = "1.260 kg +/- 6 g"', "", "[vehicle]", "vehicle.dry_mass", "missing"),
    ("count = 4", "", "[legs]", "legs.count", "write count = 4"),
    ('curve = "thrust.csv"', "", "[landing_motor]", "landing_motor.curve", "FILE.csv"),
    ('radius = "3 m"', "", "[landing_pad]", "landing_pad.radius", "missing"),
    # units
    ('length = "1.00 m"', 'length = "1.00 kg"', "length", "vehicle.length",
     'the unit "kg" is a mass'),
    ('length = "1.00 m"', 'length = "1.00 kg"', "length", "vehicle.length",
     'a length is expected here, such as "0.56 m" or "74 mm"'),
    ('length = "1.00 m"', "length = 1.00", "length", "vehicle.length", '"1 m" if m is meant'),
    ('length = "1.00 m"', 'length = "1.00"', "length", "vehicle.length", "has no unit"),
    ('length = "1.00 m"', 'length = "1.00 metre"', "length", "vehicle.length", 'write "m"'),
    ('length = "1.00 m"', 'length = "1.00 m//s"', "length", "vehicle.length",
     "cannot read the unit"),
    ('length = "1.00 m"', 'length = "long"', "length", "vehicle.length", "is not a number"),
    ('length = "1.00 m"', "length = true", "length", "vehicle.length", "write a length"),
    ('length = "1.00 m"', "length = [1, 2]", "length", "vehicle.length", "write a length"),
    ('length = "1.00 m"', 'length = "1e999 m"', "length", "vehicle.length", "finite"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = "0.560 m +/- 3 g"', "cg ", "vehicle.cg",
     'the unit "g" is a mass'),
    ('speed = "2.5 m/s +/- 0.8 m/s"', 'speed = "2.5 Hz"', "speed", "wind.speed", "a frequency"),
    ('label_bias = "0 +/- 1 %"', "label_bias = nan", "label_bias", "landing_motor.label_bias",
     "finite"),
    ('bias = "0 deg/s +/- 0.8 deg/s"', 'bias = "0 Hz"', "bias", "inertial.gyro.bias",
     "an angular rate is expected here"),
    # signs
    ('dry_mass = "1.260 kg +/- 6 g"', 'dry_mass = "-1.260 kg"', "dry_mass", "vehicle.dry_mass",
     "above zero"),
    ('dry_mass = "1.260 kg +/- 6 g"', 'dry_mass = "0 kg"', "dry_mass", "vehicle.dry_mass",
     "above zero"),
    ('dry_mass = "1.260 kg +/- 6 g"', 'dry_mass = "1.260 kg +/- 400 g"', "dry_mass",
     "vehicle.dry_mass", "truncated_normal"),
    ('nose_length = "0.20 m"', 'nose_length = { uniform = ["-1 cm", "20 cm"] }', "nose_length",
     "vehicle.nose_length", "zero or more"),
    ('radius = "3 m"', 'radius = "0 m"', "radius", "landing_pad.radius", "above zero"),
    ("[legs]", '[throttle]\nauthority = "1.5"\n[legs]', "authority", "throttle.authority",
     "between 0 and 1"),
    # spreads and laws
    ('cg = "0.560 m +/- 3 mm"', 'cg = "0.560 m +/- "', "cg ", "vehicle.cg",
     "a value and one spread"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = "0.560 m +/- 3 mm +/- 1 mm"', "cg ", "vehicle.cg",
     "a value and one spread"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = "0.560 m +/- -3 mm"', "cg ", "vehicle.cg",
     "negative spread"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { unifrom = ["0.5 m", "0.6 m"] }', "cg ", "vehicle.cg",
     'did you mean "uniform"?'),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { uniform = ["0.6 m", "0.5 m"] }', "cg ", "vehicle.cg",
     "low not below high"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { uniform = ["0.6 m"] }', "cg ", "vehicle.cg",
     "[low, high]"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { triangular = ["1 m", "0 m", "2 m"] }', "cg ",
     "vehicle.cg", "out of order"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { normal = "0.5 m" }', "cg ", "vehicle.cg",
     "[mean, standard deviation]"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { normal = ["0.5 m", "1 cm"], uniform = [1, 2] }', "cg ",
     "vehicle.cg", "one law"),
    ('cg = "0.560 m +/- 3 mm"', "cg = {}", "cg ", "vehicle.cg", "one law"),
    ('cg = "0.560 m +/- 3 mm"', "cg = { chance = 0.5 }", "cg ", "vehicle.cg", "draws 0 or 1"),
    ('label_bias = "0 +/- 1 %"', "label_bias = { chance = 1.5 }", "label_bias",
     "landing_motor.label_bias", "outside 0 to 1"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { lognormal = ["0 m", 0.3] }', "cg ", "vehicle.cg",
     "median not above zero"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { truncated_normal = ["1 m", "0 m", "0 m", "2 m"] }',
     "cg ", "vehicle.cg", "no spread"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { choice = [] }', "cg ", "vehicle.cg", "choice = ["),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { choice = ["1 m", "2 m"], weights = [1] }', "cg ",
     "vehicle.cg", "each of 2 values"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { uniform = ["1 m", "2 m"], weights = [1] }', "cg ",
     "vehicle.cg", "belong to a choice"),
    ('speed = "2.5 m/s +/- 0.8 m/s"', 'speed = "0 m/s +/- 5 %"', "speed", "wind.speed",
     "with its unit"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { value = "0.56 m" }', "cg ", "vehicle.cg", "believed ="),
    ('cg = "0.560 m +/- 3 mm"', 'cg = { value = "0.56 m", believed = "0.5 m +/- 1 mm" }', "cg ",
     "vehicle.cg", "believes one number"),
    ('bias = "0 deg/s +/- 0.8 deg/s"', 'bias = { x = "0 deg/s", w = "1 deg/s" }', "bias",
     "inertial.gyro.bias.w", "the axes are x, y, z"),
    ('bias = "0 deg/s +/- 0.8 deg/s"', 'bias = { x = "0 kg" }', "bias", "inertial.gyro.bias.x",
     "is a mass"),
    # words, whole numbers and flags
    ('law = "power"', 'law = "powr"', "law", "wind.law", 'did you mean "power"?'),
    ('law = "power"', "law = 3", "law", "wind.law", '"power", "log", "profile"'),
    ("count = 4", 'count = "four"', "count", "legs.count", "whole number"),
    ("count = 4", "count = 4.5", "count", "legs.count", "whole number"),
    ("count = 4", "count = 2", "count", "legs.count", "3 or more"),
    ("[legs]", '[flight_computer]\nschedule_gains = "yes"\n[legs]', "schedule_gains",
     "flight_computer.schedule_gains", "true or false"),
    ("[legs]", "[flight]\nsteps_per_tick = 0\n[legs]", "steps_per_tick",
     "flight.steps_per_tick", "1 or more"),
    ('title = "Small"', 'wheels = 3', "wheels", "wheels", "write a section [wheels]"),
    # more than one key
    ("[legs]", STAGE + "[legs]", "[stage]", "stage", "[ascent_motor]"),
    ("[legs]", '[ascent_gimbal]\npivot="1 m"\ntravel="6 deg"\n[legs]', "[ascent_gimbal]",
     "ascent_gimbal", "[ascent_motor]"),
    ('foot_station = "1.10 m"', 'foot_station = "0.95 m"', "foot_station", "legs.foot_station",
     "below landing_motor.nozzle"),
    ('law = "power"', 'law = "profile"', "law", "wind.law", "add profile"),
    ('law = "power"', 'law = "log"\nroughness = "20 m"', "[wind]", "wind.reference_height",
     "above wind.roughness"),
    ("[legs]", '[flight_computer]\nignition = "height"\n[legs]', "ignition",
     "flight_computer.ignition", "add ignition_height"),
    ("[legs]", '[flight_computer]\nclimb_tilt_start = "3 s"\n[legs]', "[flight_computer]",
     "flight_computer.climb_tilt_end", "after climb_tilt_start"),
    ("[legs]", '[flight_computer]\ncontrol_rate = "100 Hz"\n[flight]\ntick = "5 ms"\n[legs]',
     "tick", "flight.tick", "one of the two"),
    ('cg = "0.560 m +/- 3 mm"', 'cg = "1.2 m"', "cg ", "vehicle.cg", "inside the vehicle"),
    ('nose_length = "0.20 m"', 'nose_length = "2 m"', "nose_length", "vehicle.nose_length",
     "longer than the vehicle"),
    ('axial_inertia = "1.3e-3 kg m2 +/- 5 %"', 'axial_inertia = "1 kg m2"', "axial_inertia",
     "vehicle.axial_inertia", "twice"),
    ('nose_length = "0.20 m"', 'transverse_asymmetry = "0.1"', "transverse_asymmetry",
     "vehicle.transverse_asymmetry", "no body"),
    # success
    ('touchdown_speed = "< 2.5 m/s"', 'touchdown_sped = "< 2.5 m/s"', "touchdown_sped",
     "success.touchdown_sped", 'did you mean "touchdown_speed"?'),
    ('touchdown_speed = "< 2.5 m/s"', 'touchdown_speed = "< -1 m/s"', "touchdown_speed",
     "success.touchdown_speed", "never hold"),
    ('touchdown_speed = "< 2.5 m/s"', 'touchdown_speed = "< 2.5 deg"', "touchdown_speed",
     "success.touchdown_speed", "an angle"),
    ('touchdown_speed = "< 2.5 m/s"', 'touchdown_speed = "2.5 m/s"', "touchdown_speed",
     "success.touchdown_speed", '"< 2.5 m/s"'),
    ('touchdown_speed = "< 2.5 m/s"', "touchdown_speed = 2.5", "touchdown_speed",
     "success.touchdown_speed", '"1..2 m/s"'),
    ('touchdown_speed = "< 2.5 m/s"', 'ignition_height = "9..4 m"', "ignition_height",
     "success.ignition_height", "lower end first"),
    ('touchdown_speed = "< 2.5 m/s"', 'tilt = "> 200 deg"', "tilt = \"> 2", "success.tilt",
     "at most 180"),
    ('touchdown_speed = "< 2.5 m/s"', 'touchdown_speed = "< 2 m/s"\nsink_rate = "> 3 m/s"',
     "sink_rate", "success.sink_rate", "more than the whole"),
    ("inside_landing_pad = true", 'inside_landing_pad = "yes"', "inside_landing_pad",
     "success.inside_landing_pad", "true or false"),
    ("inside_landing_pad = true", 'first_contact = "feet"', "first_contact",
     "success.first_contact", "foot"),
    ("inside_landing_pad = true", 'first_contact = "nose"\noutcome = "feet_first"', "outcome",
     "success.outcome", "never hold together"),
    ('[landing_pad]\nradius = "3 m"\n', "", "inside_landing_pad", "success.inside_landing_pad",
     "no [landing_pad]"),
    # correlated groups
    ("correlation = 0.5", "correlation = 1.5", "correlation", "correlated[1].correlation",
     "from -1 to 1"),
    ("correlation = 0.5", "", "[[correlated]]", "correlated[1]", "correlation is missing"),
    ("correlation = 0.5", "correlation = 0.5\ncopula = 1", "copula", "correlated[1].copula",
     "numbers and correlation"),
    ('numbers = ["landing_motor.label_bias", "vehicle.dry_mass"]',
     'numbers = ["landing_motor.label_bias", "vehicle.dry_mas"]', "numbers",
     "correlated[1].numbers[2]", 'did you mean "vehicle.dry_mass"?'),
    ('numbers = ["landing_motor.label_bias", "vehicle.dry_mass"]',
     'numbers = ["vehicle.dry_mass"]', "numbers", "correlated[1].numbers", "two numbers or more"),
    ('numbers = ["landing_motor.label_bias", "vehicle.dry_mass"]',
     'numbers = ["vehicle.dry_mass", "vehicle.dry_mass"]', "numbers",
     "correlated[1].numbers[2]", "named twice"),
    ('numbers = ["landing_motor.label_bias", "vehicle.dry_mass"]',
     'numbers = ["vehicle.length", "vehicle.dry_mass"]', "numbers", "correlated[1].numbers[1]",
     "no spread"),
    ('numbers = ["landing_motor.label_bias", "vehicle.dry_mass"]',
     'numbers = ["inertial.gyro.bias", "vehicle.dry_mass"]', "numbers",
     "correlated[1].numbers[1]", "inertial.gyro.bias.x"),
    ("correlation = 0.5", CONTRADICTION, None, "correlated[3]", "contradict"),
    # files named in the scenario
    ('curve = "thrust.csv"', 'curve = "thrist.csv"', "curve", "landing_motor.curve",
     'did you mean "thrust.csv"?'),
    ('curve = "thrust.csv"', 'curve = "."', "curve", "landing_motor.curve", "a folder"),
    ('curve = "thrust.csv"', "curve = 3", "curve", "landing_motor.curve", "time [s], thrust [N]"),
    ('curve = "thrust.csv"', "curve = [[0, 0], [1]]", "curve", "landing_motor.curve", "row 2"),
    ('title = "Small"', 'base = "nowhere.toml"', "base", "base", "no such file"),
    ('title = "Small"', "base = 3", "base", "base", "other.toml"),
    ('title = "Small"', 'base = "small.toml"', "base", "base", "in a ring"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "start", "key", "words"), SPOILED)
def test_mistake__is_placed_and_says_what_would_be_right(tmp_path, old, new, start, key, words):
    assert old in SMALL
    text = SMALL.replace(old, new, 1)
    path = write_small(tmp_path, text)
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path)
    here = [m for m in caught.value.mistakes if m.key == key]
    assert here, str(caught.value)
    mistake = here[0]
    assert mistake.file == str(path)
    if start is not None:
        assert mistake.line == line_of(text, start), str(mistake)
    assert any(words in str(m) for m in here), str(caught.value)


def test_spoiled__are_many_and_the_sound_one_loads(tmp_path):
    assert len(SPOILED) >= 60
    assert load_scenario(write_small(tmp_path)).title == "Small"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("0.10, 38.0", "0.04, 38.0", "line 5: time 0.04 after 0.05; sort the rows by time"),
        ("0.10, 38.0", "0.05, 38.0", "each once"),
        ("0.10, 38.0", ", 38.0", "line 5: time is nothing"),
        ("0.10, 38.0", "0.10, nan", "line 5: thrust is \"nan\""),
        ("0.10, 38.0", "0.10, much", "line 5: thrust is \"much\""),
        ("0.10, 38.0", "0.10, 38.0, 3", "line 5: 3 columns; write 2: time [s] and thrust [N]"),
        ("0.10, 38.0", "0.10", "1 columns"),
        ("0.00, 0.0", "-0.1, 0.0", "is below zero"),
        ("1.10, 0.5\n1.20, 0.0\n", "", "below 5 % of the peak"),
        ("1.10, 0.5\n1.20, 0.0\n", "1.10, 9\n", "thrust ends at 9 N"),
        ("0.05, 40.0\n0.10, 38.0\n1.00, 36.0\n", "", "4 or more"),
        ("0.05, 40.0\n0.10, 38.0\n1.00, 36.0", "0.05, -40.0\n0.10, -38.0\n1.00, -36.0",
         "check the sign"),
    ],
)  # fmt: skip
def test_thrust_curve__is_checked_line_by_line(tmp_path, old, new, words):
    assert old in THRUST
    path = write_small(tmp_path, thrust=THRUST.replace(old, new, 1))
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path)
    (mistake,) = caught.value.mistakes
    assert mistake.key == "landing_motor.curve"
    assert mistake.line == line_of(SMALL, "curve")
    assert "thrust.csv" in mistake.found
    assert words in str(mistake)


def test_curve__not_text(tmp_path):
    path = write_small(tmp_path)
    (tmp_path / "thrust.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ScenarioMistakes, match="not UTF-8"):
        load_scenario(path)


def test_mistakes__are_all_reported_at_once(tmp_path):
    text = (
        SMALL.replace('length = "1.00 m"', 'length = "1.00 kg"', 1)
        .replace("count = 4", "count = 2")
        .replace('law = "power"', 'law = "powr"')
        .replace("[landing_pad]\n", '[landing_pad]\neest = "1 m"\n')
        .replace('touchdown_speed = "< 2.5 m/s"', 'touchdown_speed = "< -1 m/s"')
        .replace("correlation = 0.5", "correlation = 5")
    )
    path = write_small(tmp_path, text, THRUST.replace("0.10, 38.0", "0.10, nan"))
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path, ["launch_pad.tilt=1 kg", "nonsense"])
    keys = {m.key for m in caught.value.mistakes}
    # a setting that is no setting is reported before the file is looked into
    assert keys == {"nonsense"}
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path, ["launch_pad.tilt=1 kg"])
    assert {m.key for m in caught.value.mistakes} == {
        "vehicle.length", "legs.count", "wind.law", "landing_pad.eest", "landing_motor.curve",
        "success.touchdown_speed", "correlated[1].correlation", "launch_pad.tilt",
    }  # fmt: skip
    lines = [m.line for m in caught.value.mistakes if m.file == str(path)]
    assert lines == sorted(lines)
    assert str(caught.value).startswith("8 mistakes in the scenario:")


def test_mistake__is_a_user_mistake(tmp_path):
    with pytest.raises(UserMistake):
        load_scenario(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("none.toml", None, "no such file"),
        ("no/such/folder.toml", None, "there is no folder"),
        ("latin.toml", b'title = "\xe9"', "not UTF-8"),
        ("", None, "a folder"),
    ],
)
def test_file__that_cannot_be_read(tmp_path, name, content, words):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path)
    (mistake,) = caught.value.mistakes
    assert words in str(mistake)
    assert mistake.file == str(path)


def test_file__without_the_right_to_read_it(tmp_path, monkeypatch):
    path = write_small(tmp_path)

    def refuse(self):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.read_bytes", refuse)
    with pytest.raises(ScenarioMistakes, match="permission denied"):
        load_scenario(path)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ('title = "a"\n[vehicle]\nlength = 1.0 m\n', 3, "in quotes"),
        ('title = "a\n', 1, "column"),
        ("[vehicle]\n[site]\n[vehicle]\n", 3, "opened twice"),
        ('title = "a"\ntitle = "b"\n', 2, "given twice"),
        ("[vehicle", 1, "end of the file"),
        ("curve = [1,\n2\n", 2, "end of the file"),
    ],
)
def test_toml__that_cannot_be_read_says_line_and_column(tmp_path, text, line, words):
    path = tmp_path / "bad.toml"
    path.write_text(text)
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(path)
    (mistake,) = caught.value.mistakes
    assert (mistake.key, mistake.line) == ("TOML", line), str(mistake)
    assert words in str(mistake)


def test_mistake__in_the_base_is_shown_in_the_base(tmp_path):
    base = write_small(tmp_path, SMALL.replace('radius = "3 m"', 'radius = "3 kg"'))
    day = tmp_path / "today.toml"
    day.write_text('base = "small.toml"\n[vehicle]\ndry_mass = "1 s"\n')
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(day)
    places = {m.key: (m.file, m.line) for m in caught.value.mistakes}
    assert places == {
        "vehicle.dry_mass": (str(day), 3),
        "landing_pad.radius": (str(base), line_of(SMALL, "radius")),
    }


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ("launch_pad.tilt", "launch_pad.tilt", "KEY=VALUE"),
        ("=3", "=3", "KEY=VALUE"),
        ("", '""', "KEY=VALUE"),
        ("a..b=3", "a..b=3", "KEY=VALUE"),
        ("launch_pad.tlit=0.3 deg", "launch_pad.tlit", "launch_pad.tilt"),
        ("launch_pad.tilt=0.3 kg", "launch_pad.tilt", "an angle is expected"),
        ("launch_pad.tilt=0.3", "launch_pad.tilt", '"0.3 deg" if deg is meant'),
        ("pad.tilt=0.3 deg", "pad", "launch_pad or landing_pad"),
        ("legs.count=four", "legs.count", "whole number"),
    ],
)
def test_set__mistake_names_the_option(tmp_path, text, key, words):
    with pytest.raises(ScenarioMistakes) as caught:
        load_scenario(write_small(tmp_path), [text])
    (mistake,) = caught.value.mistakes
    assert (mistake.file, mistake.line, mistake.key) == ("--set", None, key)
    assert words in str(mistake)
