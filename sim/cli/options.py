"""Arguments and options that several verbs share, and how they are read."""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from sim.errors import UserMistake

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

scenario_file = click.argument("scenario", metavar="FILE")
sets = click.option(
    "--set", "sets", metavar="KEY=VALUE", multiple=True,
    help='Set a value of the scenario, as launch_pad.tilt="0.3 deg"; may be repeated.',
)  # fmt: skip
seed = click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, metavar="S",
    help="Flight i of a seed is always the same flight.",
)  # fmt: skip
as_json = click.option(
    "--json", "as_json", is_flag=True,
    help="Print one JSON object, SI units, and nothing else on standard output.",
)  # fmt: skip
confidence = click.option(
    "--confidence", type=click.FloatRange(0.0, 1.0, min_open=True, max_open=True), default=0.95,
    show_default=True, metavar="C", help="Of every bound by itself.",
)  # fmt: skip
workers = click.option(
    "--workers", type=click.IntRange(1), metavar="K", help="Threads; all processors by default."
)
method = click.option(
    "--method", type=click.Choice(["random", "latin_hypercube", "sobol"]), default="random",
    show_default=True, help="How the laws of chance are filled.",
)  # fmt: skip


def examples(*lines: str) -> str:
    """Make the end of a verb's help: examples, each on a line of its own."""
    return "\b\nExample:\n" + "\n".join(f"  {line}" for line in lines)


def flights(default: int, what: str) -> Callable[[Decorated], Decorated]:
    """Make the option for the number of flights."""
    return click.option(
        "-n", "--flights", type=click.IntRange(1), default=default, show_default=True,
        metavar="N", help=what,
    )  # fmt: skip


def out(what: str) -> Callable[[Decorated], Decorated]:
    """Make the option for the output."""
    return click.option("-o", "--out", metavar="OUT", help=what)


def output(given: str | None, scenario: str, ending: str) -> Path:
    """Path of an output: as given, or in `results` by the name of the scenario.

    Raises
    ------
    UserMistake
        It is a folder, or its folder is missing or cannot be written.
    """
    if given is None:
        folder = Path("results")
        path = folder / (Path(scenario).stem + ending)
        try:
            folder.mkdir(exist_ok=True)
        except OSError as problem:
            raise UserMistake(
                f"the folder {folder} cannot be made here ({problem.strerror}); give an output "
                "with -o"
            ) from problem
    else:
        path = Path(given)
    check_output(path)
    return path


def check_output(path: Path) -> None:
    """Find out before the flights whether an output can be written."""
    if path.is_dir():
        raise UserMistake(f"{path} is a folder; give the name of a file in it")
    folder = path.parent
    if not folder.is_dir():
        raise UserMistake(f"the folder {folder} does not exist; make it, or give another with -o")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise UserMistake(
            f"the folder {folder} may not be written; change its permissions, or give another "
            "with -o"
        )


def typed() -> str:
    """Return the command as typed, for the record, without the folder that setdown lies in."""
    return shlex.join(["setdown", *sys.argv[1:]])
