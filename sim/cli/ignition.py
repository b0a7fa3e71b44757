"""`setdown ignition`: when to light the landing motor, and how much throttle is enough."""

from __future__ import annotations

import click

from sim.cli import options


@click.command(
    "ignition",
    epilog=options.examples(
        "setdown ignition scenarios/heron.toml",
        "setdown ignition scenarios/heron.toml -n 2000 --authority 0 --authority 0.2",
    ),
)
@options.scenario_file
@click.option(
    "--authority", "authorities", type=click.FloatRange(0.0, 1.0, max_open=True), multiple=True,
    metavar="SHARE", help="Largest share of thrust taken away; may be repeated. "
    "0, 0.1, 0.2 and 0.3 if not given.",
)  # fmt: skip
@options.flights(500, "Flights at each point.")
@options.seed
@options.sets
@options.workers
@options.confidence
@options.out("Picture to write; results/NAME_ignition.png by default.")
@options.as_json
def verb(
    scenario: str, authorities: tuple[float, ...], flights: int, seed: int, sets: tuple[str, ...],
    workers: int | None, confidence: float, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Fly the scenario FILE over ignition height and throttle authority.

    It also says which apogee, ballast or height makes the landing impulse end at the ground.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    target = options.output(out, scenario, "_ignition.png")

    from sim.cli.progress import progress
    from sim.ensemble.burn_match import match_burn
    from sim.ensemble.ignition import AUTHORITIES, fly_ignition
    from sim.report import ignition_answer
    from sim.report.ignition_picture import draw_ignition

    with progress(screen, "Ignition") as report:
        found = fly_ignition(
            loaded, authorities=authorities or AUTHORITIES, flights=flights, confidence=confidence,
            seed=seed, workers=workers, progress=report,
        )  # fmt: skip
    match = match_burn(loaded)
    draw_ignition(target, found)
    if as_json:
        screen.put_json(ignition_answer.as_object(found, match, target))
        return
    screen.say(*ignition_answer.parts(found, match, scenario), "", f"Written: {target}")
