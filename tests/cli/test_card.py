"""The verb `card`: what it writes, what it refuses, and that the settings are those simulated."""

import csv
import json
import math
import re
import shutil
import subprocess

import pytest


@pytest.fixture
def loaded(heron):
    """The demonstration scenario."""
    from sim.scenario import load_scenario

    return load_scenario(heron)


@pytest.fixture
def written(setdown, heron, stubbed, here):
    """Write a card and its settings; the folder it is all in."""
    done = setdown("card", heron, "-o", "c.html", "--settings", "load")
    assert done.exit_code == 0, done.stderr
    return here


def tolerance(path, loaded, **changed):
    """Write what the verb `tolerance` prints."""
    about = {
        "scenario_key": "launch_pad.tilt", "meaning": "magnitude", "wanted_success": 0.8,
        "confidence": 0.95, "scenario_digest": loaded.digest,
    }  # fmt: skip
    values = {"good_end": math.radians(0.45), "crossing": math.radians(0.5)}
    about |= {name: value for name, value in changed.items() if name in about}
    values |= {name: value for name, value in changed.items() if name in values}
    variables = {name: {"units": "rad", "value": value} for name, value in values.items()}
    found = {"answer": "", "tolerance": {"attributes": about, "variables": variables}}
    path.write_text(json.dumps(found))
    return path


def test_card__says_what_must_be_said(written, loaded):
    text = (written / "c.html").read_text(encoding="utf-8")
    words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))
    for part in (
        "range safety officer", "digest", loaded.digest, "Wait 60 s", "Grass fire", "457 m",
        "bandwidth 7 rad/s", "at most 7 deg", "1.95 kg +/- 8 g", "setdown tolerance heron.toml KEY",
    ):  # fmt: skip
        assert part in words, part
    assert words.index("range safety officer") < words.index("Settings to load")
    assert (written / "c.pdf").read_bytes().startswith(b"%PDF-")


def test_settings__come_back_bit_for_bit(written, loaded):
    from sim.avionics.memory import SETTINGS
    from sim.ensemble.settings import computer_settings

    settings, tables = computer_settings(loaded)
    found = {}
    for name in ("gains", "sequence"):
        rows = (written / "load" / f"heron_{name}.csv").read_text().splitlines()
        assert loaded.digest in rows[0]
        found |= {row["name"]: row for row in csv.DictReader(rows[1:])}
    assert set(found) == set(SETTINGS)
    for name, value in settings.items():
        assert float(found[name]["value"]).hex() == value.hex()
        assert found[name]["unit"]
    for name, table in tables.items():
        rows = (written / "load" / f"heron_{name}.csv").read_text().splitlines()
        assert loaded.digest in rows[0]
        assert [float(row.split(",")[1]).hex() for row in rows[2:]] == [
            float(x).hex() for x in table
        ]


def test_header__carries_the_digest_and_the_same_numbers(written, loaded):
    from sim.ensemble.settings import computer_settings

    settings, tables = computer_settings(loaded)
    text = (written / "load" / "heron_settings.h").read_text()
    assert f'#define SETDOWN_SCENARIO_DIGEST "{loaded.digest}"' in text
    found = dict(re.findall(r"^    \.(\w+) = (.*),$", text, re.M))
    assert set(found) == set(settings)
    assert {name: float(x).hex() for name, x in found.items()} == {
        name: value.hex() for name, value in settings.items()
    }
    for name, table in tables.items():
        body = re.search(rf"SETDOWN_{name.upper()}\[.*?\{{(.*?)\}}", text, re.S)
        assert [float(x) for x in body[1].split(",") if x.strip()] == table.tolist()


@pytest.mark.skipif(shutil.which("gcc") is None, reason="gcc is not on this machine")
def test_header__is_what_a_compiler_reads(written, loaded):
    from sim.ensemble.settings import computer_settings

    settings, _ = computer_settings(loaded)
    code = written / "load" / "use.c"
    prints = "".join(
        f'printf("%.17g\\n", SETDOWN_SETTINGS.{name});' for name in settings
    )  # fmt: skip
    code.write_text(
        '#include <stdio.h>\n#include "heron_settings.h"\n#include "heron_settings.h"\n'
        f"int main(void) {{ puts(SETDOWN_SCENARIO_DIGEST); {prints} return 0; }}\n"
    )
    strict = ["gcc", "-std=c99", "-Wall", "-Wextra", "-pedantic", "-Werror"]
    subprocess.run([*strict, "-fsyntax-only", str(code)], check=True)
    subprocess.run([*strict, str(code), "-o", str(written / "use")], check=True)
    said = subprocess.run([written / "use"], capture_output=True, text=True, check=True).stdout
    digest, *values = said.split()
    assert digest == loaded.digest
    for value, expected in zip(values, settings.values(), strict=True):
        assert float(value) == expected or math.isnan(expected)


def test_card__nothing_is_written_over_unasked(setdown, heron, written):
    (written / "c.html").write_text("mine")
    refused = setdown("card", heron, "-o", "c.html", "--settings", "load")
    assert refused.exit_code == 2
    assert refused.stderr.count("is there already; add --replace") == 7
    assert (written / "c.html").read_text() == "mine"
    done = setdown("card", heron, "-o", "c.html", "--settings", "load", "--replace")
    assert done.exit_code == 0, done.stderr
    assert (written / "c.html").read_text() != "mine"


def test_card__limits_and_clear_area_are_taken_over(setdown, heron, stubbed, here, loaded):
    tolerance(here / "tilt.json", loaded, good_end=math.radians(0.4579))
    tolerance(here / "wind.json", loaded, scenario_key="wind.speed", meaning="value", good_end=6.25,
              crossing=6.5)  # fmt: skip
    tolerance(here / "legs.json", loaded, scenario_key="legs.delay", meaning="deviation",
              good_end=0.03, crossing=None)  # fmt: skip
    about = {"confidence": 0.95, "scenario_digest": loaded.digest, "faults": 4}
    shares = {"0.99": {"estimate": 80.0, "upper": 93.4}, "0.999": {"estimate": 99.0, "upper": None}}
    radius = {"units": "m", "value": {"launch_point": {"both": shares}}}
    hazard = {"hazard": {"attributes": about, "variables": {"radius": radius}}}
    (here / "far.json").write_text(json.dumps(hazard))
    done = setdown("card", heron, "--hazard", "far.json", *(
        part for name in ("tilt", "wind", "legs") for part in ("--tolerance", f"{name}.json")
    ), "--json")  # fmt: skip
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["limits"] == ["launch_pad.tilt", "wind.speed", "legs.delay"]
    text = (here / "results" / "heron_card.html").read_text(encoding="utf-8")
    for part in ("up to 0.457 deg, both together", "up to 6.25 m/s", "+/- 30 ms (not tried beyond)",
                 "94 m around the launch point (99 % of flights, 95 % confidence)",
                 "80 % success"):  # fmt: skip
        assert part in text, part


def test_card__never_shows_a_wind_limit_above_that_of_the_codes(
    setdown, heron, stubbed, here, loaded
):
    tolerance(here / "wind.json", loaded, scenario_key="wind.speed", meaning="value", good_end=14.0,
              crossing=15.0)  # fmt: skip
    assert setdown("card", heron, "-o", "c.html", "--tolerance", "wind.json").exit_code == 0
    text = (here / "c.html").read_text(encoding="utf-8")
    assert "8.9 m/s (codes)" in text
    assert "14 m/s" not in text


def test_card__no_level_good_enough_is_said_loudly(setdown, heron, stubbed, here, loaded):
    tolerance(here / "tilt.json", loaded, good_end=None, crossing=None)
    assert setdown("card", heron, "-o", "c.html", "--tolerance", "tilt.json").exit_code == 0
    assert "NONE: under 80 % at every level" in (here / "c.html").read_text(encoding="utf-8")


def test_card__all_mistakes_of_what_is_given_are_said_at_once(
    setdown, heron, stubbed, here, loaded
):
    tolerance(here / "old.json", loaded, scenario_digest="0" * 64)
    (here / "text.json").write_text("not json")
    (here / "list.json").write_text("[1, 2]")
    refused = setdown(
        "card", heron, "--tolerance", "old.json", "--tolerance", "text.json", "--tolerance",
        "gone.json", "--hazard", "list.json",
    )  # fmt: skip
    assert refused.exit_code == 2
    for part in ("old.json: of another scenario", "text.json: not JSON", "gone.json: cannot be",
                 "list.json: not what setdown hazard"):  # fmt: skip
        assert part in refused.stderr, part
    assert not list((here / "results").iterdir())


@pytest.mark.slow
def test_card__a_changed_scenario_has_another_digest(setdown, heron, written):
    done = setdown("card", heron, "-o", "d.html", "--set", "flight_computer.bandwidth=8 rad/s",
                   "--settings", "other")  # fmt: skip
    assert done.exit_code == 0, done.stderr
    one, two = ((written / folder / "heron_settings.h").read_text() for folder in ("load", "other"))
    digests = [re.search(r'DIGEST "(\w+)"', text)[1] for text in (one, two)]
    assert digests[0] != digests[1]
    assert ".bandwidth_squared = 64.0," in two


def test_card__says_what_a_hazard_study_left_out(setdown, heron, stubbed, here):
    shares = {"0.99": {"estimate": 80.0, "upper": 93.4}}
    radius = {"units": "m", "value": {"launch_point": {"both": shares}}}
    about = {"confidence": 0.95, "faults": 0, "vehicle": "Heron"}
    hazard = {"hazard": {"attributes": about, "variables": {"radius": radius}}}
    (here / "far.json").write_text(json.dumps(hazard))
    assert setdown("card", heron, "-o", "c.html", "--hazard", "far.json").exit_code == 0
    text = (here / "c.html").read_text(encoding="utf-8")
    assert "of Heron, scenario not said; NO FAULTS in it" in text
    shares["0.99"]["upper"] = None
    (here / "far.json").write_text(json.dumps(hazard))
    refused = setdown("card", heron, "-o", "d.html", "--hazard", "far.json")
    assert refused.exit_code == 2
    assert "no radius is shown" in refused.stderr
