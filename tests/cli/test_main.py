import subprocess
import sys

import pytest
from cli_places import ENVIRONMENT

from sim.cli.main import VERBS

SLOW = ("numba", "numpy", "scipy", "xarray", "matplotlib", "netCDF4", "pydantic", "rich")


@pytest.mark.parametrize("arguments", [["--help"], *([verb, "--help"] for verb in VERBS)])
def test_help__imports_nothing_slow(arguments):
    code = (
        "import sys\n"
        "from sim.cli import main\n"
        "try:\n"
        f"    main({arguments!r})\n"
        "except SystemExit as left:\n"
        "    assert left.code == 0, left.code\n"
        f"found = [name for name in {SLOW!r} if name in sys.modules]\n"
        "assert not found, found\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False,
        env=ENVIRONMENT,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("verb", list(VERBS))
def test_help__every_verb_has_an_example(setdown, verb):
    shown = setdown(verb, "--help")
    assert shown.exit_code == 0
    assert "Example:" in shown.stdout
    assert f"setdown {verb} " in shown.stdout.partition("Example:")[2]


def test_help__names_every_verb(setdown):
    shown = setdown("--help")
    assert shown.exit_code == 0
    assert all(verb in shown.stdout for verb in VERBS)


def test_main__unknown_verb_gets_the_nearest(setdown):
    shown = setdown("dispers", "x.toml")
    assert shown.exit_code == 2
    assert 'did you mean "disperse"?' in shown.stderr


def test_main__nothing_to_do_shows_the_help(setdown):
    shown = setdown()
    assert shown.exit_code == 2
    assert "Verbs:" in shown.stdout + shown.stderr
