"""Today's numbers: valid blank, valid filled in, every key there is."""

import re

import pytest
from cli_places import HERON

from sim.scenario import load_scenario
from sim.scenario.catalogue import spec_for
from sim.scenario.starter_today import MEASURES

BLANK = re.compile(r"^# (\w+\.\w+) = (.+)$", re.MULTILINE)
READINGS = {
    "vehicle.dry_mass": '"1.962 kg +/- 2 g"',
    "vehicle.cg": '"0.563 m +/- 1 mm"',
    "vehicle.transverse_inertia": '"0.148 kg m2 +/- 1 %"',
    "vehicle.axial_inertia": '"2.0e-3 kg m2 +/- 2 %"',
    "stage.mass": '"301 g +/- 1 g"',
    "ascent_motor.propellant_mass": '"49.5 g"',
    "landing_motor.propellant_mass": '"71.8 g"',
    "ascent_motor.grain_temperature": '"11 degC"',
    "landing_motor.grain_temperature": '"11 degC +/- 1 K"',
    "launch_pad.tilt": '"0.8 deg +/- 0.1 deg"',
    "launch_pad.tilt_direction": '"45 deg +/- 10 deg"',
    "launch_pad.heading": '"3 deg"',
    "site.temperature": '"12 degC"',
    "site.pressure": '"987 hPa"',
    "wind.speed": '"1.8 m/s +/- 0.3 m/s"',
    "wind.reference_height": '"2 m"',
    "wind.direction": '"270 deg +/- 15 deg"',
}


@pytest.fixture
def today(setdown, here):
    shown = setdown("new", "today", "--of", HERON)
    assert shown.exit_code == 0, shown.output
    return here / "today.toml"


def fill(path, readings):
    """Open blanks, with a reading or with what is shown."""

    def opened(match):
        name, now = match.groups()
        return f"{name} = {readings[name] or now}" if name in readings else match[0]

    text, count = BLANK.subn(opened, path.read_text())
    assert count == len(MEASURES)
    path.write_text(text)
    return load_scenario(path)


def test_today__blank_flies_as_its_base(today):
    assert load_scenario(today).digest == load_scenario(HERON).digest


def test_today__blanks_show_what_the_base_has(today):
    filled = fill(today, dict.fromkeys(MEASURES))
    assert filled.digest == load_scenario(HERON).digest


def test_today__filled_in_with_readings(today):
    assert set(READINGS) == set(MEASURES)
    filled = fill(today, READINGS)
    assert filled.numbers["wind.reference_height"].value == 2.0
    assert filled.numbers["vehicle.dry_mass"].value == pytest.approx(1.962)
    assert filled.numbers["launch_pad.tilt"].law.kind == "normal"


@pytest.mark.slow
def test_today__any_blank_alone(today):
    blank, base = today.read_text(), load_scenario(HERON).digest
    for name, reading in READINGS.items():
        today.write_text(blank)
        filled = fill(today, {name: reading})
        assert filled.numbers[name].given, name
        assert filled.digest != base, name


def test_today__every_key_exists_and_is_in_the_file(today):
    assert set(dict(BLANK.findall(today.read_text()))) == set(MEASURES)
    assert [name for name in MEASURES if spec_for(name) is None] == []


def test_today__base_relative_to_where_it_is_written(setdown, here):
    (here / "field" / "may").mkdir(parents=True)
    (here / "mine.toml").write_bytes(HERON.read_bytes())
    for curve in HERON.parent.glob("heron_*.csv"):
        (here / curve.name).write_bytes(curve.read_bytes())
    assert setdown("new", "field/may/today", "--of", "mine.toml").exit_code == 0
    path = here / "field" / "may" / "today.toml"
    assert 'base = "../../mine.toml"' in path.read_text()
    assert load_scenario(path).digest == load_scenario("mine.toml").digest


def test_today__leaves_out_what_the_base_does_not_have(setdown, here):
    (here / "bare.toml").write_text(
        '[vehicle]\nlength = "1 m"\ndiameter = "7 cm"\ndry_mass = "1 kg"\ncg = "0.5 m"\n'
        'axial_inertia = "1e-3 kg m2"\ntransverse_inertia = "0.1 kg m2"\n'
    )
    assert setdown("new", "today", "--of", "bare.toml").exit_code == 0
    names = dict(BLANK.findall((here / "today.toml").read_text()))
    assert {name.split(".")[0] for name in names} == {"vehicle", "launch_pad", "site"}
    assert load_scenario("today.toml").digest == load_scenario("bare.toml").digest


def test_today__of_a_mistaken_base(setdown, here):
    shown = setdown("new", "today", "--of", "none.toml")
    assert shown.exit_code == 2
    assert "no such file" in shown.stderr
    assert not list(here.iterdir())


def test_today__of_what(setdown, here):
    shown = setdown("new", "today")
    assert shown.exit_code == 2
    assert "--of FILE" in shown.stderr


def test_today__writes_over_nothing_unless_asked(setdown, today):
    today.write_text("of value")
    assert setdown("new", "today", "--of", HERON).exit_code == 2
    assert today.read_text() == "of value"
    assert setdown("new", "today", "--of", HERON, "--replace").exit_code == 0
    assert load_scenario(today).digest == load_scenario(HERON).digest


def test_today__not_over_its_own_base(setdown, here):
    (here / "mine.toml").write_bytes(HERON.read_bytes())
    for curve in HERON.parent.glob("heron_*.csv"):
        (here / curve.name).write_bytes(curve.read_bytes())
    before = (here / "mine.toml").read_text()
    shown = setdown("new", "mine", "--of", "mine.toml", "--replace")
    assert shown.exit_code == 2
    assert (here / "mine.toml").read_text() == before
