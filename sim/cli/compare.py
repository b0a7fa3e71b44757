"""`setdown compare`: two designs, flight by flight."""

from __future__ import annotations

from pathlib import Path

import click

from sim.cli import options


@click.command(
    "compare",
    epilog=options.examples(
        "setdown compare scenarios/heron.toml scenarios/heron.toml "
        '--set-b flight_computer.ignition_margin="0.8 m"',
        "setdown compare results/monday.nc results/tuesday.nc",
    ),
)
@click.argument("a", metavar="A", type=options.file_name)
@click.argument("b", metavar="B", type=options.file_name)
@options.flights(4_000, "Pairs of flights, where neither is an ensemble.")
@options.seed
@options.sets
@click.option(
    "--set-b", "sets_b", metavar="KEY=VALUE", multiple=True,
    help="Set a value of B alone; may be repeated.",
)  # fmt: skip
@options.workers
@options.confidence
@options.out("Picture to write; results/NAME_compare.png by default, NAME that of B.")
@options.as_json
def verb(
    a: str, b: str, flights: int, seed: int, sets: tuple[str, ...], sets_b: tuple[str, ...],
    workers: int | None, confidence: float, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Compare two designs on the same draws and the same noise, flight by flight.

    A and B are scenarios, or ensembles (.nc) of the same seed that disperse wrote. It says when the
    difference cannot be told from noise.
    """
    from sim.cli.screen import Screen
    from sim.ensemble.comparing import fly_pair, read_design

    screen = Screen(as_json=as_json)
    sides = read_design(a, sets), read_design(b, (*sets, *sets_b))
    target = options.output(out, b, "_compare.png")

    from sim.analysis.compare import compare
    from sim.analysis.flights import successes
    from sim.cli.progress import progress
    from sim.report import compare_answer
    from sim.report.compare_picture import draw_compare

    if all(side.ensemble is not None for side in sides):
        flown = fly_pair(*sides)
    else:
        with progress(screen, "Flying both") as report:
            flown = fly_pair(
                *sides, flights=flights, seed=seed, workers=workers, progress=report
            )
    found = compare(*flown, confidence=confidence)
    found.attrs |= {
        f"success_{side}": float(successes(ds).mean())
        for side, ds in zip("ab", flown, strict=True)
    }
    draw_compare(target, found, *flown, [side.label for side in sides])
    if as_json:
        screen.put_json(compare_answer.as_object(found, *sides, Path(target)))
        return
    screen.say(*compare_answer.parts(found, *sides), "", f"Written: {target}")
