"""Options that every verb has: quiet, verbose, CSV; examples, completion."""

import csv
import io
import shlex

import click
import pytest

from sim.cli.main import VERBS, main


@pytest.mark.parametrize("name", VERBS)
def test_verb__help_has_an_example_that_the_verb_understands(name):
    verb = main.get_command(None, name)
    lines = [line.strip() for line in verb.epilog.splitlines() if "setdown " in line]
    assert lines
    for line in lines:
        words = shlex.split(line.split(">")[0])
        assert words[:2] == ["setdown", name], line
        with click.Context(verb, info_name=name, resilient_parsing=False) as context:
            parser = verb.make_parser(context)
            parser.parse_args(args=words[2:])  # an unknown option raises


@pytest.mark.parametrize("name", VERBS)
def test_verb__options_of_manner_stand_once(name):
    for _ in range(2):
        spelled = [o for p in main.get_command(None, name).params for o in p.opts]
        assert len(spelled) == len(set(spelled))
    assert {"--quiet", "--verbose"} <= set(spelled)
    assert ("--csv" in spelled) == ("--json" in spelled)


def tables_of(text):
    """Tables of the CSV by name; each row as long as the heads."""
    found = {}
    for block in text.strip().split("\n\n"):
        name, _, rest = block.partition("\n")
        heads, *rows = csv.reader(io.StringIO(rest if name.startswith("#") else block))
        assert all(len(row) == len(heads) for row in rows)
        found[name.lstrip("# ")] = (heads, rows)
    return found


def test_csv__is_nothing_but_the_tables(setdown, heron, stubbed, here):
    shown = setdown("disperse", heron, "-n", 100, "--csv", "-o", "out.nc")
    found = tables_of(shown.stdout)
    box = next(name for name in found if name.startswith("Landing box"))
    assert found[box][1][0][0].startswith("50 %")
    assert len(found) >= 4
    assert setdown("landing-box", "out.nc", "--csv").stdout == shown.stdout


def test_csv__howmany(setdown):
    shown = setdown("howmany", "--success", 0.95, "--csv")
    (heads, rows), *_ = tables_of(shown.stdout).values()
    assert len(heads) > 1
    assert rows


def test_csv__and_json_exclude_each_other(setdown):
    shown = setdown("howmany", "--success", 0.95, "--csv", "--json")
    assert shown.exit_code == 2
    assert "exclude each other" in shown.stderr
    assert shown.stdout == ""


def test_quiet__and_verbose(setdown, heron, stubbed, here):
    quiet = setdown("disperse", heron, "-n", 100, "-q", "-o", "a.nc")
    assert quiet.stderr == ""
    assert "of flights succeed" in quiet.stdout
    told = setdown("disperse", heron, "-n", 100, "-v", "-o", "b.nc")
    assert "compiled kernels:" in told.stderr
    assert told.stderr.rstrip().endswith("done")
    assert setdown("disperse", heron, "-q", "-v").exit_code == 2


def test_completion__scripts_name_the_command(setdown):
    for shell in ("bash", "zsh", "fish"):
        shown = setdown("completion", shell)
        assert shown.exit_code == 0
        assert "_SETDOWN_COMPLETE" in shown.stdout
    assert setdown("completion", "other").exit_code == 2


def test_completion__keys_of_a_scenario(setdown):
    from sim.cli.options import keys_begun

    assert "launch_pad.tilt=" in keys_begun(None, None, "launch_pad.t")
    assert keys_begun(None, None, "nothing.like") == []
