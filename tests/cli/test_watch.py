"""`setdown watch`: a finished run, a stopped one, a log, and what is no run."""

import json

import pytest


@pytest.fixture
def flown(setdown, heron, stubbed, here):
    assert setdown("disperse", heron, "-n", 300, "--seed", 3, "-o", "out.nc").exit_code == 0
    return "out.nc"


def test_watch__finished_run_is_said_once(setdown, flown):
    shown = setdown("watch", flown)
    assert shown.exit_code == 0
    lines = shown.stdout.splitlines()
    assert lines[0].startswith("#")
    assert [line for line in lines if "300 of 300 flights" in line or "300 flights" in line]
    assert "\x1b" not in shown.stdout  # a log holds no control codes


def test_watch__once_agrees_with_landing_box(setdown, flown):
    seen = json.loads(setdown("watch", flown, "--json").stdout)
    box = json.loads(setdown("landing-box", flown, "--json").stdout)
    assert seen["flights"] == 300
    found = seen["levels"][0]["statistics"]["success"]
    wanted = box["touchdown"]["variables"]["success"]["value"]
    assert {"estimate": found["estimate"], **found["fixed_size"]} == pytest.approx(wanted)


def test_watch__draws_what_it_is_asked(setdown, flown, here):
    shown = setdown("watch", flown, "--once", "--picture", "settled.png")
    assert shown.exit_code == 0
    assert (here / "settled.png").read_bytes()[:4] == b"\x89PNG"


@pytest.mark.parametrize(
    ("arguments", "word"),
    [(("nowhere.nc",), "is not there"), (("no.txt",), "cannot be read"),
     (("out.nc", "--picture", "a.jpg"), "only PNG"), (("out.nc", "--success", "1.5"), "success")],
)  # fmt: skip
def test_watch__mistakes(setdown, flown, here, arguments, word):
    (here / "no.txt").write_text("no ensemble")
    shown = setdown("watch", *arguments, "--once")
    assert shown.exit_code == 2
    assert word in shown.stderr
