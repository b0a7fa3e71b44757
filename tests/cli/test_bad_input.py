"""Bad input: one paragraph that says what to mend, the right exit status, nothing half-written."""

import errno
import re
import shutil
from pathlib import Path

import pytest
from cli_places import HERON

FOLDER = HERON.parent


@pytest.fixture
def spoiled(here):
    """Copy the demonstration scenario with the first match of a pattern replaced."""

    def spoil(pattern, new, file="heron.toml"):
        for path in FOLDER.glob("heron*"):
            shutil.copy(path, here)
        target = here / file
        text, count = re.subn(pattern, new, target.read_text(), count=1, flags=re.MULTILINE)
        assert count == 1
        target.write_text(text)
        return here / "heron.toml"

    return spoil


def is_mistake(shown, *words):
    assert shown.exit_code == 2
    assert "Traceback" not in shown.stderr
    assert shown.stdout == ""
    assert all(word in shown.stderr for word in words), shown.stderr


def test_missing_file__names_the_nearest(setdown, here):
    shutil.copy(HERON, here / "heron.toml")
    is_mistake(setdown("check", "herom.toml"), "herom.toml", 'did you mean "heron.toml"?')


def test_folder_for_a_file(setdown, here):
    is_mistake(setdown("check", here), "this is a folder")


def test_unreadable_file__not_text(setdown, here):
    (here / "bad.toml").write_bytes(b"title = \xff\xfe")
    is_mistake(setdown("disperse", "bad.toml"), "not UTF-8", "save it")


def test_unreadable_file__no_permission(setdown, here, monkeypatch):
    shutil.copy(HERON, here / "heron.toml")
    assert setdown("check", HERON).exit_code == 0  # its own sources are read by then

    def refuse(self, *_, **__):
        raise PermissionError(errno.EACCES, "Permission denied", str(self))

    for name in ("read_text", "read_bytes", "open"):
        monkeypatch.setattr(Path, name, refuse)
    is_mistake(setdown("check", "heron.toml"), "cannot be read", "permission")


def test_bad_toml__line(setdown, spoiled):
    path = spoiled('^title = "Heron"', 'title = "Heron')
    line = path.read_text().splitlines().index('title = "Heron') + 1
    is_mistake(setdown("fly", path), f"heron.toml, line {line}")


def test_wrong_unit(setdown, spoiled):
    path = spoiled('^length = ".* m"', 'length = "1.00 kg"')
    is_mistake(setdown("check", path), "vehicle.length", "a mass", "line ")


def test_negative_mass(setdown, spoiled):
    path = spoiled('^dry_mass = "', 'dry_mass = "-')
    is_mistake(setdown("disperse", path, "-n", 8), "vehicle.dry_mass", "above zero")


def test_unsorted_curve(setdown, spoiled):
    lines = (FOLDER / "heron_landing.csv").read_text().splitlines()
    last = lines[-1].partition(",")[0]
    earlier = lines[-1].replace(last, "0.001", 1)
    path = spoiled(rf"^{re.escape(lines[-1])}$", earlier, "heron_landing.csv")
    is_mistake(setdown("check", path), "heron_landing.csv", f"line {len(lines)}")


def test_curve_without_times(setdown, spoiled):
    lines = (FOLDER / "heron_landing.csv").read_text().splitlines()
    timeless = "," + lines[-1].partition(",")[2]
    path = spoiled(rf"^{re.escape(lines[-1])}$", timeless, "heron_landing.csv")
    is_mistake(setdown("check", path), "heron_landing.csv", f"line {len(lines)}")


def test_impossible_limits(setdown, spoiled):
    path = spoiled('^touchdown_speed = ".*"', 'touchdown_speed = "< -2.5 m/s"')
    is_mistake(setdown("check", path), "touchdown_speed", "never")


def test_all_mistakes_at_once(setdown, spoiled):
    path = spoiled('^length = ".* m"', 'length = "1.00 kg"\nlenght = "1 m"')
    is_mistake(setdown("check", path), "2 mistakes", "vehicle.length", "lenght")


def test_setting_of_an_unknown_key(setdown, heron):
    is_mistake(setdown("check", heron, "--set", "pad.tilt=1 deg"), "launch_pad", "landing_pad")


def test_level_that_cannot_be_read(setdown, heron, stubbed):
    is_mistake(setdown("sweep", heron, "--vary", "launch_pad.tilt=0..1 deg"), "how many levels")


@pytest.mark.parametrize("verb", ["disperse", "fly"])
def test_output__folder_is_missing(setdown, heron, stubbed, verb):
    is_mistake(setdown(verb, heron, "-o", "nowhere/out.nc"), "nowhere", "does not exist")


def test_output__is_a_folder(setdown, heron, stubbed, here):
    (here / "out.nc").mkdir()
    is_mistake(setdown("disperse", heron, "-n", 8, "-o", "out.nc"), "is a folder")


def test_output__may_not_be_written(setdown, heron, stubbed, here, monkeypatch):
    from sim.cli import options

    monkeypatch.setattr(options.os, "access", lambda path, mode: False)
    is_mistake(setdown("fly", heron, "-o", "out"), "may not be written")


def test_full_disk__finished_flights_are_kept(setdown, heron, stubbed, here, monkeypatch):
    from sim.ensemble import store

    write = store.write_whole

    def full(path, data, *, durable=True):
        if path.name.startswith("000001"):
            raise OSError(errno.ENOSPC, "No space left on device", str(path))
        write(path, data, durable=durable)

    (here / "out.nc").write_text("an earlier ensemble")
    monkeypatch.setattr(store, "write_whole", full)
    shown = setdown("disperse", heron, "-n", 64, "-o", "out.nc", "--workers", 1)
    assert shown.exit_code == 1
    assert "is full" in shown.stderr
    assert "32 of 64 flights are safe" in shown.stderr
    assert "Traceback" not in shown.stderr
    assert (here / "out.nc").read_text() == "an earlier ensemble"
    monkeypatch.setattr(store, "write_whole", write)
    again = setdown("disperse", heron, "-n", 64, "-o", "out.nc", "--workers", 1)
    assert again.exit_code == 0
    assert "going on: 32 of 64" in again.stderr


def test_full_disk__the_trace_of_a_flight(setdown, heron, stubbed, here, monkeypatch):
    from sim.ensemble import fly_one

    def full(path, traces, about):
        path.write_text("half")
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    monkeypatch.setattr(fly_one, "write_trace_file", full)
    shown = setdown("fly", heron, "-o", "one")
    assert shown.exit_code == 1
    assert "No space left" in shown.stderr
    assert list(here.iterdir()) == []


def test_flight_that_is_no_number__counts_as_a_failure(setdown, heron, stubbed, here):
    shown = setdown("disperse", heron, "-n", 32, "-o", "out.nc")
    assert shown.exit_code == 0
    line = next(line for line in shown.stdout.splitlines() if "failed numerically" in line)
    assert line.split()[2] == "1"
    assert "of 32)" in shown.stdout  # in the denominator still


def test_flight_that_is_no_number__alone(setdown, heron, stubbed):
    shown = setdown("fly", heron, "--run", stubbed.FAILS_AT, "-o", "one")
    assert shown.exit_code == 1
    assert "failed numerically at 1.50 s" in shown.stdout


def test_not_an_ensemble(setdown, here):
    (here / "out.nc").write_text("no netCDF")
    is_mistake(setdown("landing-box", "out.nc"), "out.nc", "cannot be read")


def test_no_ensemble_there(setdown):
    is_mistake(setdown("landing-box", "out.nc"), "does not exist", "setdown disperse")
