"""What all tests share: the width they fly at, and the table of checks against the outside."""

import os
from pathlib import Path

# one width, so that the suite compiles the flight kernel once; the bits are the same at any
os.environ.setdefault("SETDOWN_WIDTH", "8")

import pytest


def pytest_addoption(parser):
    parser.addoption(
        "--checks", metavar="FILE", help="write every check against the outside that ran, as JSON"
    )


@pytest.hookimpl(tryfirst=True)  # before tests are chosen by their marks
def pytest_collection_modifyitems(items):
    """Mark what calls `outside_check`, so that nobody has to remember it."""
    for item in items:
        code = getattr(getattr(item, "function", None), "__code__", None)
        if code is not None and "outside_check" in code.co_names:
            item.add_marker("outside")


def pytest_configure(config):
    target = config.getoption("--checks")
    if target and not Path(target).absolute().parent.is_dir():
        raise pytest.UsageError(f"--checks: the folder of {target} does not exist")


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node):
    """Gather what a process of pytest-xdist checked."""
    from tests.outside import ROWS

    ROWS.extend(getattr(node, "workeroutput", {}).get("outside", []))


def pytest_sessionfinish(session):
    config = session.config
    if config.option.collectonly:
        return
    from tests.outside import ROWS, write_rows

    if hasattr(config, "workeroutput"):  # a process of pytest-xdist hands its rows on
        config.workeroutput["outside"] = ROWS
    elif config.getoption("--checks"):
        write_rows(Path(config.getoption("--checks")))
