"""`setdown sweep`: the same flights at each level of one or two inputs."""

from __future__ import annotations

import click

from sim.cli import options


@click.command(
    "sweep",
    epilog=options.examples(
        'setdown sweep scenarios/heron.toml --vary "launch_pad.tilt=0..1 deg/11" -n 500',
        'setdown sweep scenarios/heron.toml --vary "wind.speed=0..8 m/s/5" '
        '--vary "inertial.accelerometer.bias=0, 10 mg"',
    ),
)
@options.scenario_file
@click.option(
    "--vary", multiple=True, required=True, metavar="NAME=LEVELS",
    help='As "launch_pad.tilt=0..1 deg/11" or "wind.speed=0, 2, 4 m/s"; once or twice.',
)  # fmt: skip
@options.flights(1_000, "Flights at each level.")
@options.seed
@options.sets
@options.faults
@options.mixed
@options.method
@options.workers
@options.cluster
@options.other_version
@options.confidence
@options.out("netCDF file to write; results/NAME_sweep.nc by default, a picture beside it.")
@options.as_json
def verb(
    scenario: str, vary: tuple[str, ...], flights: int, seed: int, sets: tuple[str, ...],
    faults: tuple[str, ...], mixed: bool,
    method: str, workers: int | None, cluster: str | None, allow_other_version: bool,
    confidence: float, out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Fly the scenario FILE at each level of one or two inputs, with the same draws at each.

    Any number of the scenario can be varied, or its spread (NAME.spread), or all axes of a sensor
    error at once (inertial.accelerometer.bias).
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = options.with_faults(load_scenario(scenario, sets), faults, mixed)
    execute = options.executor(cluster, workers, screen.note)
    target = options.output(out, scenario, "_sweep.nc")
    drawn = target.with_suffix(".png")
    options.check_output(drawn)

    from sim.analysis.sweep import sweep_summary
    from sim.cli.progress import progress
    from sim.ensemble.run import sweep
    from sim.lanes import cache
    from sim.report import sweep_answer
    from sim.report.sweep_picture import draw_sweep

    with progress(screen, "Sweeping") as report:
        dataset = sweep(
            loaded, vary, flights=flights, seed=seed, out=target, workers=workers, method=method,
            progress=report, tell=screen.note, command=options.typed(), kernel=cache.key(),
            execute=execute, allow_other_version=allow_other_version,
        )  # fmt: skip
    with dataset:
        summary = sweep_summary(dataset, confidence=confidence)
        draw_sweep(drawn, summary, loaded.title)
        if as_json:
            screen.put_json(sweep_answer.as_object(dataset, summary, target, drawn))
            return
        screen.say(*sweep_answer.parts(summary))
    screen.say("", f"Written: {target} and {drawn}")
