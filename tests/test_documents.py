"""Documents are tests: what the README says is what the program does."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")


def commands():
    """The two single-line commands, indented in the README."""
    return re.findall(r"^    (.*\.venv/bin/.*)$", README, re.M)


def test_readme__two_commands_do_all_the_set_up():
    first, second = commands()
    assert first.endswith("setdown disperse scenarios/heron.toml")
    assert second.endswith("pytest -n auto")


def test_check_script__runs_the_command_of_the_readme_word_for_word():
    assert commands()[1] in (TOP / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_readme__names_every_verb():
    from sim.cli.main import VERBS

    told = set(re.findall(r"^\| `setdown ([a-z-]+)", README, re.M))
    assert told == set(VERBS)


def test_documents__pictures_and_files_that_are_named_exist():
    for name in re.findall(r"\]\(([^)#:]+)\)", README):
        assert (TOP / name).exists(), name
    for name in re.findall(r"`((?:sim|scenarios|tests)/[a-z_./-]+)`", README):
        assert (TOP / name).exists(), name


def test_contributors_guide__is_short():
    assert len((TOP / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()) < 300


@pytest.mark.slow
def test_readme__shows_what_the_command_prints(tmp_path):
    block = re.search(r"<!-- printed by: disperse -->\n```text\n(.*?)```", README, re.S)
    assert block is not None
    (tmp_path / "results").mkdir()
    plain = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    done = subprocess.run(
        [
            sys.executable, "-c", "from sim.cli import main; main()",
            "disperse", str(TOP / "scenarios" / "heron.toml"),
        ],
        cwd=tmp_path, env=plain, capture_output=True, text=True, check=True,
    )  # fmt: skip
    # the same bits on every machine, so the same figures
    told = [line.rstrip() for line in block[1].splitlines() if line.strip()]
    printed = [line.rstrip() for line in done.stdout.splitlines() if line.strip()]
    assert told[:30] == printed[:30]
