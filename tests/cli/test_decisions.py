"""The verbs for decisions, on cheap flights; and one real flight through the kernel's door."""

import json
from pathlib import Path

import pytest

BUDGET = ("--base", "128", "--follow", "64")
COMMANDS = {
    "howmany": (),
    "tolerance": ("launch_pad.tilt", "--success", "0.7", "-n", "4000"),
    "pad-size": ("-n", "3000",),
    "compare": ("-n", "200"),
    "budget": BUDGET,
    "gains": ("-n", "16", "--bandwidth", "7", "--damping", "0.8"),
    "ignition": ("-n", "16", "--authority", "0"),
    "worst": ("-n", "230", "--base", "400", "--stories", "1"),
}
FIRST_WORDS = {
    "howmany": "59 flights without a failure",
    "tolerance": "Success stays at 70 % or more up to a launch_pad.tilt of",
    "pad-size": "A round landing pad of",
    "compare": "The difference in success cannot be told from noise",
    "budget": "Largest source of miss:",
    "gains": "The gains as they are",
    "ignition": "With the throttle as it is",
}


def files(verb, heron):
    return () if verb == "howmany" else (heron, heron) if verb == "compare" else (heron,)


@pytest.mark.parametrize("verb", FIRST_WORDS)
def test_verb__answer_first_then_next_steps(verb, setdown, stubbed, heron):
    done = setdown(verb, *files(verb, heron), *COMMANDS[verb])
    assert done.exit_code == 0, done.output
    assert " ".join(done.stdout.split()).startswith(FIRST_WORDS[verb])
    assert "Next:" in done.stdout
    if verb != "howmany":
        assert "Written: results" in done.stdout
        assert list(Path("results").glob("*.png"))


@pytest.mark.slow
@pytest.mark.parametrize("verb", COMMANDS)
def test_verb__json_is_one_object(verb, setdown, stubbed, heron):
    done = setdown(verb, *files(verb, heron), *COMMANDS[verb], "--json")
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert found


@pytest.mark.parametrize("verb", COMMANDS)
def test_verb__help_has_an_example(verb, setdown):
    done = setdown(verb, "--help")
    assert done.exit_code == 0
    assert f"setdown {verb}" in done.stdout.partition("Example:")[2]


@pytest.mark.slow
def test_tolerance__no_crossing_says_which_side(setdown, stubbed, heron):
    low = setdown("tolerance", heron, "launch_pad.tilt", "--success", "0.999", "-n", "4000")
    assert low.exit_code == 2
    assert "lies below the bracket" in " ".join(low.stdout.split())
    high = setdown("tolerance", heron, "launch_pad.tilt", "--success", "0.5", "-n", "4000",
                   "--to", "0.01 deg")  # fmt: skip
    assert high.exit_code == 2
    assert "lies above the bracket" in " ".join(high.stdout.split())


def test_tolerance__names_the_alignment_and_what_the_levels_are(setdown, stubbed, heron):
    done = setdown("tolerance", heron, "launch_pad.tilt", "--success", "0.7", "-n", "4000")
    text = " ".join(done.stdout.split())
    assert "Alignment levelled" in text
    assert "zeroing nose_axis" in text
    assert "its direction drawn per flight" in text


def test_tolerance__wind_is_phrased_as_the_limit_for_flying(setdown, stubbed, heron):
    done = setdown("tolerance", heron, "wind.speed", "--success", "0.5", "-n", "4000")
    assert done.exit_code == 2  # the stub does not feel the wind
    assert "above the bracket" in " ".join(done.stdout.split())


def test_tolerance__levelling_has_nine_rows(setdown, stubbed, heron):
    done = setdown("tolerance", heron, "--levelling", "-n", "40", "--json")
    assert done.exit_code == 0
    table = json.loads(done.stdout)["levelling"]["variables"]["success"]["value"]
    assert sum(len(row) for row in table.values()) == 9


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("tolerance", "HERON", "launch_pad.tillt"), "launch_pad.tilt"),
        (("tolerance", "HERON"), "--levelling"),
        (("tolerance", "HERON", "launch_pad.tilt", "--to", "3 kg"), "kg"),
        (("tolerance", "HERON", "launch_pad.tilt", "-n", "100"), "at least"),
        (("pad-size", "HERON", "-n", "500"), "at least"),
        (("pad-size", "HERON", "--within", "5 kg"), "--within"),
        (("budget", "HERON", "--base", "10"), "at least"),
        (("worst", "HERON", "-n", "20"), "at least"),
        (("compare", "HERON", "absent.nc"), "absent.nc does not exist"),
        (("howmany", "--failed", "3"), "give runs too"),
    ],
)
def test_verb__mistakes_say_what_would_be_right(arguments, words, setdown, stubbed, heron):
    done = setdown(*(heron if part == "HERON" else part for part in arguments))
    assert done.exit_code == 2
    assert words in " ".join(done.stderr.split())


def test_compare__tells_designs_apart(setdown, stubbed, heron):
    done = setdown("compare", heron, heron, "--set-b", "launch_pad.tilt=1 deg", "-n", "300")
    text = " ".join(done.stdout.split())
    assert done.exit_code == 0
    assert text.startswith("A succeeds more often")
    assert "launch_pad.tilt" in text


@pytest.mark.slow
def test_compare__two_ensembles_of_other_seeds(setdown, stubbed, heron):
    for seed in ("1", "2"):
        assert setdown("disperse", heron, "-n", "40", "--seed", seed, "-o", f"{seed}.nc"
                       ).exit_code == 0  # fmt: skip
    done = setdown("compare", "1.nc", "2.nc")
    assert done.exit_code == 2
    assert "seed" in done.stderr


@pytest.mark.slow
def test_worst__tells_a_story(setdown, stubbed, heron):
    done = setdown("worst", heron, "-n", "400", "--base", "800")
    text = " ".join(done.stdout.split())
    assert done.exit_code == 0
    assert text.startswith("The likeliest way to lose it")
    assert "launch_pad.tilt" in text.partition("Fails:")[2]  # what the stub is made to fail by
    assert "The flight replayed:" in text


@pytest.mark.slow
def test_compare__real_flights_of_one_scenario_are_the_same(setdown, heron):
    done = setdown("compare", heron, heron, "-n", "16", "--json")
    found = json.loads(done.stdout)["comparison"]["variables"]
    assert found["only_a"]["value"] == found["only_b"]["value"] == 0
