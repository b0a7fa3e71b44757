"""`setdown gains`: attitude gains, why and what."""

from __future__ import annotations

import click

from sim.cli import options


@click.command(
    "gains",
    epilog=options.examples(
        "setdown gains scenarios/heron.toml",
        "setdown gains scenarios/heron.toml --bandwidth 5 --bandwidth 9 --damping 0.7 -n 1000",
    ),
)
@options.scenario_file
@click.option(
    "--bandwidth", "bandwidths", type=click.FloatRange(0.0, min_open=True), multiple=True,
    metavar="RAD/S", help="May be repeated. From half to twice its own if not given.",
)  # fmt: skip
@click.option(
    "--damping", "dampings", type=click.FloatRange(0.0, min_open=True), multiple=True,
    metavar="Z", help="May be repeated. 0.5, 0.8 and 1.2 if not given.",
)  # fmt: skip
@click.option(
    "--integral", "integrals", type=click.FloatRange(0.0), multiple=True,
    metavar="1/S", help="May be repeated. From none to four times its own if not given.",
)  # fmt: skip
@options.flights(500, "Flights at each point.")
@options.seed
@options.sets
@options.workers
@options.confidence
@options.out("Picture to write; results/NAME_gains.png by default.")
@options.as_json
def verb(
    scenario: str, bandwidths: tuple[float, ...], dampings: tuple[float, ...],
    integrals: tuple[float, ...], flights: int, seed: int, sets: tuple[str, ...],
    workers: int | None, confidence: float, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Fly a grid of attitude gains of the scenario FILE, beside the margins of the linear loop.

    The integral gain is varied by itself. The gains of the scenario are always among them; all
    points share their draws.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    target = options.output(out, scenario, "_gains.png")

    from sim.cli.progress import progress
    from sim.ensemble.gains import fly_gains
    from sim.report import gains_answer
    from sim.report.gains_picture import draw_gains

    with progress(screen, "Gains") as report:
        found = fly_gains(
            loaded, bandwidths=bandwidths, dampings=dampings, integrals=integrals,
            flights=flights, confidence=confidence, seed=seed, workers=workers, progress=report,
        )  # fmt: skip
    draw_gains(target, found)
    if as_json:
        screen.put_json(gains_answer.as_object(found, target))
        return
    screen.say(*gains_answer.parts(found, scenario), "", f"Written: {target}")
