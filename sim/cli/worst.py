"""`setdown worst`: the likeliest way to lose it."""

from __future__ import annotations

import click

from sim.cli import options


@click.command(
    "worst",
    epilog=options.examples(
        "setdown worst scenarios/heron.toml",
        'setdown worst scenarios/heron.toml --stories 5 --set wind.speed="1 m/s"',
    ),
)
@options.scenario_file
@click.option(
    "--stories", type=click.IntRange(1), default=3, show_default=True, metavar="N",
    help="Most stories to tell.",
)  # fmt: skip
@options.flights(500, "Flights at each step of a search.")
@click.option(
    "--base", type=click.IntRange(1), default=4_000, show_default=True, metavar="N",
    help="Flights that show where to begin.",
)  # fmt: skip
@options.seed
@options.sets
@options.workers
@options.out("Picture to write; results/NAME_worst.png by default.")
@options.as_json
def verb(
    scenario: str, stories: int, flights: int, base: int, seed: int, sets: tuple[str, ...],
    workers: int | None, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Find the most probable combinations of inputs of the scenario FILE that fail.

    Each is told as a story: what comes together, how far that is from the mean, one such flight
    replayed, and the one change that would have saved most of them.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    target = options.output(out, scenario, "_worst.png")

    from sim.cli.progress import progress
    from sim.ensemble.worst import find_worst, replay
    from sim.report import worst_answer
    from sim.report.worst_picture import draw_worst

    with progress(screen, "Searching") as report:
        found, shares = find_worst(
            loaded, stories=stories, base=base, flights=flights, seed=seed, workers=workers,
            progress=report,
        )  # fmt: skip
    for story in found:
        replay(loaded, story, seed)
    draw_worst(target, found, shares, loaded)
    if as_json:
        screen.put_json(worst_answer.as_object(found, shares, loaded, target))
        return
    screen.say(*worst_answer.parts(found, shares, loaded, scenario), "", f"Written: {target}")
