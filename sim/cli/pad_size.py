"""`setdown pad-size`: the smallest landing pad."""

from __future__ import annotations

import click

from sim.cli import options
from sim.errors import UserMistake

SHARE = click.FloatRange(0.0, 1.0, min_open=True, max_open=True)


@click.command(
    "pad-size",
    epilog=options.examples(
        'setdown pad-size scenarios/heron.toml --probability 0.95 --within "5 cm"',
    ),
)
@options.scenario_file
@click.option(
    "--probability", type=SHARE, default=0.95, show_default=True, metavar="P",
    help="Share of flights whose feet must all be on it.",
)  # fmt: skip
@options.confidence
@click.option(
    "--within", default="10 cm", show_default=True, metavar="LENGTH",
    help="Fly on until the bound is no farther than this above what the flights show.",
)  # fmt: skip
@options.flights(40_000, "Most flights.")
@options.seed
@options.sets
@options.workers
@options.out("Picture to write; results/NAME_pad_size.png by default.")
@options.as_json
def verb(
    scenario: str, probability: float, confidence: float, within: str, flights: int, seed: int,
    sets: tuple[str, ...], workers: int | None, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Find the smallest round and rectangular landing pads for the scenario FILE.

    Where to put them and how to turn the rectangle is found too. It flies on until the size is
    known as tightly as asked, or says that it cannot within the flights allowed.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    tight = _length(within)
    target = options.output(out, scenario, "_pad_size.png")

    from sim.cli.progress import progress
    from sim.ensemble.pad_size import solve_pad_size
    from sim.report import pad_size_answer
    from sim.report.pad_size_picture import draw_pad_size

    with progress(screen, "Flying") as report:
        sizes, flown = solve_pad_size(
            loaded, probability=probability, confidence=confidence, within=tight, flights=flights,
            seed=seed, workers=workers, progress=report,
        )  # fmt: skip
    draw_pad_size(target, sizes, flown)
    if as_json:
        screen.put_json(pad_size_answer.as_object(sizes, target))
        return
    screen.say(*pad_size_answer.parts(sizes, scenario), "", f"Written: {target}")


def _length(text: str) -> float:
    from sim.scenario.amounts import AmountProblem, read_quantity
    from sim.scenario.dimensions import DIMENSIONS

    try:
        return float(read_quantity(text, DIMENSIONS["length"]).value)
    except AmountProblem as problem:
        raise UserMistake(f"--within: {problem}") from None
