"""The end of the process: its status, and that nothing printed or registered is lost."""

import subprocess
import sys

import pytest
from cli_places import ENVIRONMENT

PROGRAM = "from sim.cli import program\nprogram()\n"


def run(code, *arguments, **options):
    return subprocess.run(
        [sys.executable, "-c", code, *arguments], env=ENVIRONMENT, capture_output=True, text=True,
        check=False, timeout=60, **options,
    )  # fmt: skip


def leaving(body, status):
    """A process that ends early, after `body`."""
    return run(
        "import atexit, sys, threading, time\n"
        "from sim.cli.leaving import leave_early, leave_with\n"
        f"leave_early()\n{body}\nleave_with({status})\n"
    )


@pytest.mark.parametrize(
    ("arguments", "status"),
    [(["--help"], 0), (["howmany", "--success", "0.95"], 0), (["fly", "no_such_file.toml"], 2)],
)
def test_program__exit_status(arguments, status):
    assert run(PROGRAM, *arguments).returncode == status


@pytest.mark.parametrize("status", [0, 1, 2, 130])
def test_leave_with__all_that_was_printed_arrives(status):
    done = leaving("for i in range(100_000):\n    print('line', i)", status)
    assert done.returncode == status
    assert done.stdout.splitlines() == [f"line {i}" for i in range(100_000)]


def test_leave_with__does_what_was_registered_for_the_end_and_waits_for_threads():
    done = leaving(
        "atexit.register(print, 'registered')\n"
        "threading.Thread(target=lambda: (time.sleep(0.3), print('thread'))).start()",
        0,
    )
    assert done.returncode == 0
    assert done.stdout == "thread\nregistered\n"


def test_leave_with__takes_nothing_apart():
    body = (
        "import os\nclass Slow:\n    def __del__(self):\n        os.write(1, b'taken apart')\n"
        "slow = Slow()"
    )
    assert leaving(body, 0).stdout == ""
    usual = run(f"{body}\n")
    assert usual.stdout == "taken apart"


def test_leave_with__an_error_of_python_is_not_hidden():
    done = run(
        "from sim.cli.leaving import leave_early\nleave_early()\nraise ValueError('not ours')\n"
    )
    assert done.returncode == 1
    assert "not ours" in done.stderr


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="/dev/full")
def test_program__output_that_cannot_be_written_is_a_failure():
    with open("/dev/full", "w") as full:  # noqa: PTH123
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM, "howmany", "--success", "0.95"], env=ENVIRONMENT,
            stdout=full, stderr=subprocess.PIPE, text=True, check=False, timeout=60,
        )  # fmt: skip
    assert done.returncode != 0
    assert "full" in done.stderr or "space" in done.stderr
