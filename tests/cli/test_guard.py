import errno
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest
from cli_places import ENVIRONMENT

from sim.cli.guard import guarded
from sim.errors import RunFailure, UserMistake


def status_of(problem, capsys):
    def run():
        if problem is not None:
            raise problem

    with pytest.raises(SystemExit) as left:
        guarded(run)
    return left.value.code, capsys.readouterr().err


@pytest.mark.parametrize(
    ("problem", "status"),
    [
        (None, 0),
        (UserMistake("mend this"), 2),
        (RunFailure("went wrong"), 1),
        (KeyboardInterrupt(), 130),
        (click.UsageError("no such option"), 2),
        (OSError(errno.ENOSPC, "No space left on device", "a.nc"), 1),
        (OSError(errno.EROFS, "Read-only file system", "a.nc"), 1),
        (ZeroDivisionError("oops"), 1),
    ],
)
def test_guarded__exit_status(problem, status, capsys):
    found, error = status_of(problem, capsys)
    assert found == status
    assert "Traceback" not in error


def test_guarded__full_disk_says_what_to_do(capsys):
    _, error = status_of(OSError(errno.ENOSPC, "No space left on device", "a.nc"), capsys)
    assert "disk is full" in error
    assert "a.nc" in error
    assert "Make room" in error


def test_guarded__unexpected_keeps_the_details_in_a_file(capsys):
    _, error = status_of(ZeroDivisionError("oops"), capsys)
    assert error.count("\n") == 1  # one paragraph
    path = Path(re.search(r"(\S+setdown-details-\S+\.txt)", error)[1])
    assert "ZeroDivisionError: oops" in path.read_text()
    path.unlink()


def test_guarded__stopped_run_leaves_as_ctrl_c_does(capsys):
    stopped = RunFailure("Stopped. 32 of 64 flights are safe.")
    stopped.__cause__ = KeyboardInterrupt()
    assert status_of(stopped, capsys)[0] == 130


def started(body):
    code = f"import time\nfrom sim.cli.guard import guarded\ndef run():\n{body}\nguarded(run)\n"
    child = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=ENVIRONMENT,
    )  # fmt: skip
    assert child.stdout.readline() == "ready\n"
    return child


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_guarded__second_ctrl_c_leaves_at_once():
    body = (
        "    try:\n        print('ready', flush=True)\n        time.sleep(30)\n"
        "    except KeyboardInterrupt:\n        print('finishing', flush=True)\n"
        "        time.sleep(30)\n"
    )
    child = started(body)
    child.send_signal(signal.SIGINT)
    assert child.stdout.readline() == "finishing\n"
    begun = time.monotonic()
    child.send_signal(signal.SIGINT)
    _, error = child.communicate(timeout=20)
    assert child.returncode == 130
    assert time.monotonic() - begun < 10.0
    assert "Traceback" not in error


@pytest.mark.skipif(sys.platform == "win32", reason="pipes")
def test_guarded__a_broken_pipe_is_quiet():
    body = (
        "    print('ready', flush=True)\n    time.sleep(0.5)\n"
        "    for _ in range(10000):\n        print('x' * 100)\n"
    )
    child = started(body)
    child.stdout.close()
    error = child.stderr.read()
    child.stderr.close()
    assert child.wait(timeout=20) == 1
    assert error == ""


def test_guarded__restores_the_handler(capsys):
    before = signal.getsignal(signal.SIGINT)
    status_of(None, capsys)
    assert signal.getsignal(signal.SIGINT) is before
