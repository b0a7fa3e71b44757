"""`setdown hazard`: where everything comes down, all faults and all scatter."""

from __future__ import annotations

import click

from sim.cli import options
from sim.errors import UserMistake


@click.command(
    "hazard",
    epilog=options.examples(
        "setdown hazard scenarios/heron_faults.toml",
        "setdown hazard scenarios/heron.toml --chance 0.005 -n 40000",
    ),
)
@options.scenario_file
@click.option(
    "--chance", type=click.FloatRange(0.0, 0.5), metavar="P",
    help="Of every fault that the vehicle can have, for a scenario that gives none.",
)  # fmt: skip
@options.flights(16_000, "Flights in all, shared out over the sets of faults.")
@options.seed
@options.sets
@options.workers
@options.confidence
@options.out("Picture to write; results/NAME_hazard.png by default.")
@options.as_json
def verb(
    scenario: str, chance: float | None, flights: int, seed: int, sets: tuple[str, ...],
    workers: int | None, confidence: float, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Show where vehicle and dropped stage of the scenario FILE come down, whatever fails.

    The radius that holds 99 % and 99.9 % of flights, with its upper bound, beside distances that
    published codes ask for. The range safety officer and the local law decide.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    if chance is not None and loaded.chances:
        raise UserMistake(
            f"{scenario} gives chances of its own; leave --chance out, or set one with --set "
            '"faults.NAME.happens=0.02"'
        )
    target = options.output(out, scenario, "_hazard.png")

    from sim.cli.progress import progress
    from sim.ensemble.hazard import points_by_kind, solve_hazard
    from sim.report import hazard_answer
    from sim.report.hazard_picture import draw_hazard

    with progress(screen, "Flying") as report:
        found, flown = solve_hazard(
            loaded, flights=flights, confidence=confidence, assumed=chance, seed=seed,
            workers=workers, progress=report,
        )  # fmt: skip
    draw_hazard(target, found, points_by_kind(flown))
    if as_json:
        screen.put_json(hazard_answer.as_object(found, target))
        return
    screen.say(*hazard_answer.parts(found, scenario), "", f"Written: {target}")
