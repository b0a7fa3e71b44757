"""Arguments and options that several verbs share, and how they are read."""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from sim.errors import UserMistake

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

def keys_begun(_context: click.Context, _option: click.Parameter, begun: str) -> list[str]:
    """Keys of numbers that a shell may complete."""
    from sim.scenario.catalogue import specs

    keys = [f"{section}.{key}=" for section, key, _ in specs()]
    return [key for key in keys if key.startswith(begun)]


# a string, but one that shells complete; the verbs say what is wrong with it
file_name = click.Path(readable=False)
scenario_file = click.argument("scenario", metavar="FILE", type=file_name)
sets = click.option(
    "--set", "sets", metavar="KEY=VALUE", multiple=True, shell_complete=keys_begun,
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
cluster = click.option(
    "--cluster", metavar="ADDRESS",
    help="Fly on a Dask cluster, as tcp://host:8786; 'local' starts one on this machine.",
)  # fmt: skip
other_version = click.option(
    "--allow-other-version", is_flag=True,
    help="Go on with what another version of setdown has flown; the file will say so.",
)  # fmt: skip
faults = click.option(
    "--fault", "faults", metavar="NAME", multiple=True,
    help="Let this fault happen in every flight, as landing-no-light; may be repeated.",
)  # fmt: skip
mixed = click.option(
    "--faults", "mixed", is_flag=True,
    help="Let each flight draw its own faults, by their chances in the scenario.",
)  # fmt: skip
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


def with_faults(scenario: Any, faults: Sequence[str], mixed: bool) -> Any:
    """Make the scenario with the faults that were asked for; itself where none was.

    Raises
    ------
    UserMistake
        Unknown faults, all of them, each with the nearest known one; or chances of none.
    """
    if not faults and not mixed:
        return scenario
    from difflib import get_close_matches

    from sim.scenario.faults import FAULTS

    names = list(dict.fromkeys(name.replace("-", "_") for name in faults))
    wrong = []
    for name in names:
        if name not in FAULTS:
            near = get_close_matches(name, FAULTS, n=1, cutoff=0.3)
            hint = f'did you mean "{near[0]}"?' if near else f"known are {', '.join(FAULTS)}"
            wrong.append(f'--fault: there is no fault "{name}"; {hint}')
    if wrong:
        raise UserMistake("\n".join(wrong))
    if mixed and not scenario.chances:
        raise UserMistake(
            "--faults: the scenario gives no chances; write a section [faults.NAME] with happens = "
            "0.02, or force one with --fault NAME"
        )
    return scenario.with_faults(names, mixed=mixed)


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


def executor(cluster: str | None, workers: int | None, tell: Callable[[str], None]) -> Any:
    """Make what flies: None for the threads of this process, else an executor.

    Raises
    ------
    UserMistake
        Dask is not installed, or the options contradict one another.
    """
    if cluster is None:
        return None
    from sim.ensemble.cluster import on_cluster

    return on_cluster(cluster, workers=workers, tell=tell)


def typed() -> str:
    """Return the command as typed, for the record, without the folder that setdown lies in."""
    return shlex.join(["setdown", *sys.argv[1:]])
