"""`setdown report`: an ensemble, or two, as one page to read, print and keep."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.cli import options

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.cli.screen import Screen

TRACES = 150


@click.command(
    "report",
    epilog=options.examples(
        "setdown report results/heron.nc",
        "setdown report results/monday.nc results/tuesday.nc -o results/both.html",
    ),
)
@click.argument(
    "ensembles", metavar="OUT.nc [OTHER.nc]", type=options.file_name, nargs=-1, required=True
)
@options.confidence
@click.option(
    "--traces", type=click.IntRange(0), default=TRACES, show_default=True, metavar="N",
    help="Flights to fly again, to show how they go; 0 for none.",
)  # fmt: skip
@options.out("Page to write; beside the ensemble, with the ending .html, by default.")
@click.option("--replace", is_flag=True, help="Write over a page that is there.")
@click.option("--unfinished", is_flag=True, help="Report what is finished of a run that goes on.")
@options.as_json
def verb(
    ensembles: tuple[str, ...], confidence: float, traces: int, out: str | None, replace: bool,
    unfinished: bool, as_json: bool,
) -> None:  # fmt: skip
    """Write the ensemble OUT.nc as one HTML page with everything in it; it needs no network.

    With two ensembles of the same draws, the page compares them flight by flight.
    """
    from sim.cli.screen import Screen

    screen = Screen(as_json=as_json)
    paths = [Path(name) for name in ensembles]
    target = _target(paths, out)
    _check(paths, target, replace=replace, unfinished=unfinished)
    with ExitStack() as stack:
        opened = [stack.enter_context(_open(path, unfinished)) for path in paths]
        text, answer = _written(screen, paths, opened, confidence, traces)
    from sim.report.page.render import write

    write(target, text)
    size = len(text.encode())
    if as_json:
        screen.put_json({
            "page": str(target), "ensembles": [str(path) for path in paths], "answer": answer,
            "bytes": size,
        })  # fmt: skip
        return
    screen.say(answer, "", f"Written: {target} ({size / 1e6:.1f} MB, complete in itself)")


def _target(paths: list[Path], out: str | None) -> Path:
    if out is not None:
        return Path(out)
    name = "_and_".join(path.stem for path in paths)
    return paths[0].with_name(f"{name}.html")


def _check(paths: list[Path], target: Path, *, replace: bool, unfinished: bool) -> None:
    """Find all that is wrong before anything is read; raise UserMistake with all of it."""
    from sim.ensemble.store import parts_folder
    from sim.errors import UserMistake

    wrong = []
    if len(paths) > 2:
        wrong.append(f"{len(paths)} ensembles; a page is about one, or compares two")
    if len({path.resolve() for path in paths}) < len(paths):
        wrong.append(f"{paths[0]} is given twice; give two ensembles, or one of them once")
    for path in dict.fromkeys(paths):
        if not path.exists() and parts_folder(path).is_dir() and not unfinished:
            wrong.append(
                f"{path} is not finished: give the command that began it again to go on, or add "
                "--unfinished to report what is there so far"
            )
    try:
        options.check_output(target)
    except UserMistake as mistake:
        wrong.append(str(mistake))
    else:
        if target.exists() and target.resolve() in {path.resolve() for path in paths}:
            wrong.append(f"{target} is the ensemble itself; give another name with -o")
        elif target.exists() and not replace:
            wrong.append(f"{target} is there already; add --replace, or give another with -o")
    if wrong:
        raise UserMistake("\n".join(wrong))


def _open(path: Path, unfinished: bool) -> Dataset:
    from sim.ensemble.opening import open_ensemble

    return open_ensemble(path, unfinished=unfinished)


def _written(
    screen: Screen, paths: list[Path], opened: list[Dataset], confidence: float, traces: int
) -> tuple[str, str]:
    """Analyse, draw, and return the page and its first sentence."""
    from sim.cli.progress import progress
    from sim.errors import UserMistake
    from sim.report.page import comparing, contents
    from sim.report.page.facts import gather
    from sim.report.page.render import html

    compared = len(paths) == 2
    try:
        with progress(screen, "Flying some again") as told:
            facts = [
                gather(path, ds, confidence=confidence, traces=0 if compared else traces,
                       progress=told)
                for path, ds in zip(paths, opened, strict=True)
            ]  # fmt: skip
        page = comparing.page(facts[0], facts[1]) if compared else contents.page(facts[0])
    except RuntimeError as problem:  # from the netCDF library, when a block cannot be read
        if "NetCDF" not in str(problem) and "HDF" not in str(problem):
            raise
        named = " or ".join(str(path) for path in paths)
        raise UserMistake(
            f"{named} is damaged: part of it cannot be read ({problem}). Copy it again from where "
            "it came, or fly it again with disperse or sweep"
        ) from problem
    return html(page), page.answer
