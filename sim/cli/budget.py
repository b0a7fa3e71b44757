"""`setdown budget`: what each source of error costs."""

from __future__ import annotations

import click

from sim.cli import options


@click.command(
    "budget",
    epilog=options.examples(
        "setdown budget scenarios/heron.toml",
        'setdown budget scenarios/heron.toml --base 512 --set wind.speed="0 m/s"',
    ),
)
@options.scenario_file
@click.option(
    "--base", type=click.IntRange(1), default=2_048, show_default=True, metavar="N",
    help="Flights of each set; there are two sets and one for each source.",
)  # fmt: skip
@click.option(
    "--follow", type=click.IntRange(0), default=1_000, show_default=True, metavar="N",
    help="Flights of each of the largest sources alone, taken away, halved; 0 for none.",
)  # fmt: skip
@options.seed
@options.sets
@options.workers
@options.confidence
@options.out("Picture to write; results/NAME_budget.png by default.")
@options.as_json
def verb(
    scenario: str, base: int, follow: int, seed: int, sets: tuple[str, ...], workers: int | None,
    confidence: float, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Share out miss, touchdown speed and failure of the scenario FILE among their sources.

    Noise in flight is a source; the axes of a sensor error, an error and its direction, and
    correlated numbers are one source each.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    target = options.output(out, scenario, "_budget.png")

    from sim.cli.progress import progress
    from sim.ensemble.error_budget import fly_budget
    from sim.report import budget_answer
    from sim.report.budget_picture import draw_budget

    with progress(screen, "Budget") as report:
        shares, followed = fly_budget(
            loaded, base=base, follow=follow, confidence=confidence, seed=seed, workers=workers,
            progress=report,
        )  # fmt: skip
    draw_budget(target, shares)
    if as_json:
        screen.put_json(budget_answer.as_object(shares, followed, target))
        return
    screen.say(*budget_answer.parts(shares, followed, scenario), "", f"Written: {target}")
