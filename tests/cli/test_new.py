"""A first scenario of one's own, and today's numbers: by options, by questions, and refused."""

import os

import pytest
from cli_places import HERON

from sim.cli import new
from sim.scenario import load_scenario
from sim.scenario.starter import QUESTIONS
from sim.scenario.thrust import reduce_curve

NAMES = ["mine.toml", "mine_ascent.csv", "mine_landing.csv"]
FLAGS = {
    "defaults": [],
    "small": ["--length", "0.7 m", "--dry-mass", "0.9 kg", "--strut", "gas", "--legs", "3"],
    "large": ["--length", "1.5 m", "--dry-mass", "3 kg", "--strut", "crush", "--legs", "6"],
    "no throttle": ["--throttle", "none", "--landing-shape", "even", "--strut", "rigid"],
    "inches": ["--length", "40 in", "--dry-mass", "4 lb +/- 1 oz", "--strut", "friction"],
    "still": ["--wind", "0 m/s", "--tilt", "0 deg", "--inertial", "industrial"],
}


@pytest.fixture
def quick(monkeypatch):
    """Let trial flights cost no time, where what is written does not hang on them."""
    from sim.ensemble import starter_fit
    from sim.scenario.starter_file import Timing

    def trial(answers, motors):
        return starter_fit.Trial(3.2, 1.7, 24.0, 20.0, 43.0, motors["landing"].impulse, 43.0, 66.0,
                                 Timing(1.0, 4.6, 2.4))  # fmt: skip

    monkeypatch.setattr(starter_fit, "fly_trial", trial)


def refused(shown, folder, *words):
    assert shown.exit_code == 2, shown.output
    assert "Traceback" not in shown.stderr
    assert all(word in shown.stderr for word in words), shown.stderr
    assert shown.stdout == ""
    assert not [*folder.glob("mine*"), *folder.glob(".mine*")]


@pytest.mark.parametrize("flags", FLAGS.values(), ids=list(FLAGS))
def test_new__by_options_is_valid(setdown, here, flags, quick):
    shown = setdown("new", "mine", *flags, "--yes")
    assert shown.exit_code == 0, shown.output
    assert sorted(path.name for path in here.iterdir()) == NAMES
    scenario = load_scenario("mine.toml")
    assert scenario.title == "mine"
    for option, key in (("--dry-mass", "vehicle.dry_mass"), ("--length", "vehicle.length")):
        if option in flags:
            text = flags[flags.index(option) + 1]
            pinned = load_scenario("mine.toml", [f"{key}={text}"])
            assert scenario.numbers[key].value == pinned.numbers[key].value
    assert scenario.has("throttle") == ("none" not in flags)


def test_new__every_number_says_what_it_is_and_where_it_came_from(setdown, here, quick):
    setdown("new", "mine", "--length", "1.1 m", "--yes")
    lines = (here / "mine.toml").read_text().splitlines()
    keys = [i for i, line in enumerate(lines) if " = " in line and not line.startswith("#")]
    assert len(keys) > 150
    for i in keys:
        if lines[i].startswith(("title", "numbers", "correlation")):
            continue
        above = lines[i - 1]
        start = i - 1
        while lines[start - 1].startswith("#"):
            start -= 1
        said = " ".join(line[2:] for line in lines[start:i]).lower()
        assert above.startswith("# "), lines[i]
        success = i > lines.index("[success]")
        assert success or any(w in said for w in ("given", "assumed", "chosen", "estimated")), said
    at = lines.index('length = "1.1 m"')
    assert "Given. To measure: tape." in lines[at - 1]


def test_new__stand_in_curves_have_the_totals_given(setdown, here, quick):
    setdown("new", "mine", "--ascent-impulse", "90 N s", "--ascent-burn", "1.2 s",
            "--landing-impulse", "140 N s", "--landing-burn", "3.5 s", "--yes")  # fmt: skip
    scenario = load_scenario("mine.toml")
    for which, impulse, burn in (("ascent", 90.0, 1.2), ("landing", 140.0, 3.5)):
        curve = reduce_curve(scenario.curves[f"{which}_motor.curve"])
        assert curve.total_impulse == pytest.approx(impulse, rel=1e-3)
        assert curve.burn_time == pytest.approx(burn, rel=0.02)
        assert "STAND-IN" in (here / f"mine_{which}.csv").read_text()


def test_new__curves_of_ones_own(setdown, here, quick):
    (here / "field").mkdir()
    folder = os.path.relpath(HERON.parent, here)
    shown = setdown("new", "field/mine", "--yes", "--ascent-curve", f"{folder}/heron_ascent.csv",
                    "--landing-curve", f"{folder}/heron_landing.csv")  # fmt: skip
    assert shown.exit_code == 0, shown.output
    assert [path.name for path in (here / "field").iterdir()] == ["mine.toml"]
    scenario, heron = load_scenario("field/mine.toml"), load_scenario(HERON)
    name = "landing_motor.curve"
    assert (scenario.curves[name] == heron.curves[name]).all()


def test_new__no_terminal_takes_defaults_and_says_so(setdown, here, quick):
    shown = setdown("new", "mine")
    assert shown.exit_code == 0
    assert "no terminal to ask at" in shown.stderr
    assert load_scenario("mine.toml").choices["legs.count"] == 4


@pytest.fixture
def asked(monkeypatch):
    """Let the verb ask, and answer it."""
    from click.testing import CliRunner

    from sim.cli import main

    monkeypatch.setattr(new, "_at_terminal", lambda: True)

    def run(*answers, options=()):
        typed = "".join(f"{answer}\n" for answer in answers)
        return CliRunner().invoke(main, ["new", "mine", *options], input=typed)

    return run


def test_questions__every_default(asked, here, quick):
    shown = asked(*[""] * len(QUESTIONS))
    assert shown.exit_code == 0, shown.output
    assert all(question.ask in shown.stderr for question in QUESTIONS)
    by_questions = load_scenario("mine.toml").digest
    assert asked(options=["--yes", "--replace"]).exit_code == 0
    assert load_scenario("mine.toml").digest == by_questions


def test_questions__a_bad_answer_is_asked_again_at_once(asked, here, quick):
    rest = [""] * len(QUESTIONS)
    shown = asked("1.2 furlong", "1.2 m", "1.1 m", "", "5 t", "2.2 kg", *rest)
    assert shown.exit_code == 0, shown.output
    assert 'unknown unit "furlong"' in shown.stderr
    assert shown.stderr.count("Length of what lands") == 2
    assert "at least twice as long as wide" not in shown.stderr  # 1.1 m is refused before
    assert shown.stderr.count("Diameter of the body tube") == 2
    numbers = load_scenario("mine.toml").numbers
    assert (numbers["vehicle.length"].value, numbers["vehicle.dry_mass"].value) == (1.2, 2.2)


def test_questions__what_an_option_gives_is_not_asked(asked, here, quick):
    shown = asked(*[""] * 20, options=["--length", "0.9 m", "--wind", "4 m/s"])
    assert shown.exit_code == 0, shown.output
    assert "Length of what lands" not in shown.stderr
    assert "Mean wind" not in shown.stderr
    assert load_scenario("mine.toml").numbers["wind.speed"].value == 4.0


def test_questions__given_up(asked, here, quick):
    shown = asked("1 m")  # then the end of the input
    assert shown.exit_code == 130
    assert not list(here.iterdir())


def test_new__all_bad_options_at_once(setdown, here):
    shown = setdown("new", "mine", "--yes", "--length", "1.1 kg", "--legs", 2, "--strut", "wood",
                    "--tilt", "1 deg +/- 0.1 deg", "--landing-curve", "no.csv")  # fmt: skip
    refused(shown, here, "5 answers", "a mass", "--legs", "--strut", "has a spread", "no such file")


@pytest.mark.parametrize(
    ("flags", "words"),
    [
        (["--ascent-impulse", "10 N s", "--ascent-burn", "2 s"], ["stays on the launch pad"]),
        (["--landing-impulse", "60 N s"], ["does not slow the fall", "it needs"]),
        (["--length", "0.5 m", "--diameter", "0.4 m"], ["--diameter", "twice as long"]),
        (["--leg-span", "6 cm"], ["--leg-span", "hardly stand out"]),
        (["--dry-mass", "25 kg"], ["--dry-mass", "kg/m3"]),
        (["--of", HERON], ["--length", "by hand"]),
    ],
    ids=["too weak to lift", "too weak to slow", "too fat", "no legs", "too heavy", "both"],
)  # fmt: skip
def test_new__nonsense_is_refused(setdown, here, flags, words):
    extra = ["--length", "1 m"] if "--of" in flags else []
    refused(setdown("new", "mine", *flags, *extra, "--yes"), here, *words)


@pytest.mark.parametrize(
    ("flags", "word"),
    [
        ([], None),
        (["--ascent-burn", "1.9 s"], "At lift-off"),
        (["--landing-impulse", "105 N s"], "cannot take out the fall"),
        (["--landing-impulse", "190 N s"], "stops it too high"),
        (["--throttle", "none"], "Without a throttle"),
        (["--wind", "5 m/s"], "it is blown some"),
    ],
    ids=["fine", "slow", "weak", "strong", "no throttle", "windy"],
)
def test_new__warns_of_what_will_not_go_well_and_still_writes(setdown, here, flags, word):
    shown = setdown("new", "mine", *flags, "--yes")
    assert shown.exit_code == 0
    assert (here / "mine.toml").exists()
    assert shown.stderr.count("Warning:") == (word is not None)
    assert word is None or (word in shown.stderr and "Right would be" in shown.stderr)


def test_new__default_landing_motor_suits_the_fall(setdown, here):
    from sim.ensemble.burn_match import light_point, nominal_burn

    assert setdown("new", "mine", "--yes", "--landing-burn", "3 s").exit_code == 0
    burn, apogee, least = nominal_burn(load_scenario("mine.toml"))
    # the fall lies between what the least and what the full thrust takes out
    assert light_point(burn, least).apogee < apogee < light_point(burn).apogee


def test_new__a_default_beyond_reason_is_no_fault_of_the_program(setdown, here):
    shown = setdown("new", "mine", "--yes", "--length", "3 m", "--diameter", "0.5 m")
    refused(shown, here, "--dry-mass", "by default")


@pytest.mark.parametrize("there", NAMES)
def test_new__writes_over_nothing_unless_asked(setdown, here, there, quick):
    (here / there).write_text("of value")
    shown = setdown("new", "mine", "--yes")
    assert shown.exit_code == 2
    assert f"{there}: there already" in shown.stderr
    assert "--replace" in shown.stderr
    assert [path.name for path in here.iterdir()] == [there]
    assert (here / there).read_text() == "of value"
    assert setdown("new", "mine", "--yes", "--replace").exit_code == 0
    load_scenario("mine.toml")


def test_new__nothing_half_written(setdown, here, monkeypatch, quick):
    from pathlib import Path

    write = Path.write_text

    def full(self, *arguments, **options):
        write(self, *arguments, **options)
        if "landing" in self.name:
            raise OSError(28, "No space left on device", str(self))

    monkeypatch.setattr(Path, "write_text", full)
    shown = setdown("new", "mine", "--yes")
    assert shown.exit_code == 1
    assert "disk is full" in shown.stderr
    assert not list(here.iterdir())


def test_new__missing_folder(setdown, here):
    refused(setdown("new", "nowhere/mine", "--yes"), here, "nowhere", "does not exist")


def test_new__json(setdown, here, quick):
    import json

    shown = setdown("new", "mine", "--json", "--throttle", "none")
    found = json.loads(shown.stdout)
    assert sorted(found["written"]) == NAMES
    assert len(found["warnings"]) == 1


@pytest.mark.nightly
def test_new__default_answers_mostly_come_down_well(setdown, here):
    setdown("new", "mine", "--yes")
    import sim
    from sim.analysis.flights import successes

    ensemble = sim.disperse(load_scenario("mine.toml"), flights=400, seed=3)
    # seen: 0.91; below 0.8 by chance less than once in a million
    assert successes(ensemble).mean() > 0.8
