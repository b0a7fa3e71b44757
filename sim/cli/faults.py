"""`setdown faults`: what each fault does and costs, and what noticing it is worth."""

from __future__ import annotations

import click

from sim.cli import options
from sim.errors import UserMistake

ASSUMED = 0.02


@click.command(
    "faults",
    epilog=options.examples(
        "setdown faults scenarios/heron_faults.toml",
        'setdown faults scenarios/heron.toml --chance 0.01 -n 100 --lost-above "6 m/s"',
    ),
)
@options.scenario_file
@click.option(
    "--chance", type=click.FloatRange(0.0, 0.5), metavar="P",
    help="Of every fault that the vehicle can have, for a scenario that gives none; "
    f"{ASSUMED:g} is assumed then, if not told.",
)  # fmt: skip
@click.option(
    "--lost-above", default="8 m/s", show_default=True, metavar="SPEED",
    help="A vehicle that first touches the ground faster is lost.",
)  # fmt: skip
@options.flights(300, "Flights of each fault.")
@options.seed
@options.sets
@options.workers
@options.confidence
@options.out("Picture to write; results/NAME_faults.png by default.")
@options.as_json
def verb(
    scenario: str, chance: float | None, lost_above: str, flights: int, seed: int,
    sets: tuple[str, ...], workers: int | None, confidence: float, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Fly each fault of the scenario FILE by itself and in pairs: what it does and what it costs.

    With a parachute, each is flown with and without the flight computer's checks: what noticing is
    worth, on the same draws. Figures over all faults are weighted by their chances.
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
    above = _speed(lost_above)
    target = options.output(out, scenario, "_faults.png")

    from sim.cli.progress import progress
    from sim.ensemble.faults import solve_faults
    from sim.report import faults_answer
    from sim.report.faults_picture import draw_faults

    with progress(screen, "Flying") as report:
        found = solve_faults(
            loaded, flights=flights, confidence=confidence, lost_above=above,
            assumed=ASSUMED if chance is None else chance, seed=seed, workers=workers,
            progress=report,
        )  # fmt: skip
    draw_faults(target, found)
    if as_json:
        screen.put_json(faults_answer.as_object(found, target))
        return
    screen.say(*faults_answer.parts(found, scenario), "", f"Written: {target}")


def _speed(text: str) -> float:
    from sim.scenario.amounts import AmountProblem, read_quantity
    from sim.scenario.dimensions import DIMENSIONS

    try:
        value = float(read_quantity(text, DIMENSIONS["speed"]).value)
    except AmountProblem as problem:
        raise UserMistake(f"--lost-above: {problem}") from None
    if value <= 0.0:
        raise UserMistake(f'--lost-above "{text}": write a speed above zero, as "8 m/s"')
    return value
