"""`setdown disperse`: an ensemble, its landing box and its touchdown statistics."""

from __future__ import annotations

import click

from sim.cli import options

_FOR_THE_ANSWER = ("xarray", "sim.cli.answer", "sim.report.landing_picture")


@click.command(
    "disperse",
    epilog=options.examples(
        "setdown disperse scenarios/heron.toml",
        'setdown disperse scenarios/heron.toml -n 2000 --seed 7 --set wind.speed="0.5 m/s"',
        "setdown disperse scenarios/heron.toml -n 1000000 --cluster tcp://workshop:8786",
    ),
)
@options.scenario_file
@options.flights(10_000, "Flights to fly.")
@options.seed
@options.sets
@options.faults
@options.mixed
@options.method
@click.option(
    "--traces", type=click.IntRange(0), default=0, metavar="M",
    help="Keep the traces of the first M flights too.",
)  # fmt: skip
@options.workers
@options.cluster
@options.other_version
@options.confidence
@options.out("netCDF file to write; results/NAME.nc by default. A picture is written beside it.")
@options.as_json
def verb(
    scenario: str, flights: int, seed: int, sets: tuple[str, ...], faults: tuple[str, ...],
    mixed: bool, method: str, traces: int,
    workers: int | None, cluster: str | None, allow_other_version: bool, confidence: float,
    out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Fly an ensemble of the scenario FILE: landing box and touchdown, with their confidence.

    Each finished part is safe on disk: after Ctrl-C, the same command goes on.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = options.with_faults(load_scenario(scenario, sets), faults, mixed)
    execute = options.executor(cluster, workers, screen.note)
    target = options.output(out, scenario, ".nc")
    options.check_output(target.with_suffix(".png"))

    from sim.cli.ahead import loading_ahead
    from sim.cli.progress import progress
    from sim.ensemble.run import disperse
    from sim.lanes import cache

    with (
        progress(screen, "Flying") as shown,
        loading_ahead(shown, _FOR_THE_ANSWER) as report,
    ):
        dataset = disperse(
            loaded, flights=flights, seed=seed, out=target, workers=workers, method=method,
            trace_runs=range(min(traces, flights)), progress=report, tell=screen.note,
            command=options.typed(), kernel=cache.key(), execute=execute,
            allow_other_version=allow_other_version,
        )  # fmt: skip
    from sim.cli import answer

    with dataset:
        answer.give(screen, dataset, confidence, path=target, scenario=scenario)
