"""`setdown tolerance`: how far an input may go, and how to align before flight."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from sim.cli import options
from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.scenario import Scenario

SHARE = click.FloatRange(0.0, 1.0, min_open=True, max_open=True)


@click.command(
    "tolerance",
    epilog=options.examples(
        "setdown tolerance scenarios/heron.toml launch_pad.tilt --success 0.8",
        "setdown tolerance scenarios/heron.toml landing_motor.impulse_factor --of spread",
        'setdown tolerance scenarios/heron.toml wind.speed --to "8 m/s"',
        "setdown tolerance scenarios/heron.toml --levelling",
    ),
)
@options.scenario_file
@click.argument("key", metavar="[KEY]", required=False)
@click.option(
    "--success", type=SHARE, default=0.90, show_default=True, metavar="P",
    help="Success that is wanted.",
)  # fmt: skip
@options.confidence
@click.option(
    "--of", type=click.Choice(["magnitude", "value", "spread"]),
    help="Solve for the size of the error (its sign or direction drawn), for the value, or for "
         "the standard deviation; by the law of KEY if not given.",
)  # fmt: skip
@click.option("--from", "low", metavar="LEVEL", help='Where to begin, as "0 deg".')
@click.option("--to", "high", metavar="LEVEL", help='Where to end, as "2 deg".')
@click.option("--within", metavar="WIDTH", help="Width of the bracket to stop at.")
@click.option(
    "--levelling", is_flag=True,
    help="Instead of one input: the nine ways to align and to zero before flight.",
)  # fmt: skip
@click.option(
    "-n", "--flights", type=click.IntRange(1), metavar="N",
    help="Most flights in all (60000), or of each combination for --levelling (2000).",
)  # fmt: skip
@options.seed
@options.sets
@options.workers
@options.out("Picture to write; results/NAME_tolerance.png by default.")
@options.as_json
def verb(
    scenario: str, key: str | None, success: float, confidence: float, of: str | None,
    low: str | None, high: str | None, within: str | None, levelling: bool, flights: int | None,
    seed: int, sets: tuple[str, ...], workers: int | None, out: str | None, as_json: bool,
) -> int:  # fmt: skip
    """Find the largest KEY of the scenario FILE at which success stays above a level.

    KEY is any number of the scenario. Its law is replaced by a fixed size; the direction is still
    drawn. For wind.speed this is the wind limit for flying today. The exit status is 2 if the
    bracket holds no crossing.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    if (key is None) != levelling:
        raise UserMistake("give a KEY of the scenario, or --levelling without one")
    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    shared: dict[str, Any] = {"confidence": confidence, "seed": seed, "workers": workers}
    if levelling:
        _level(screen, loaded, scenario, flights or 2_000, shared)
        return 0
    target = options.output(out, scenario, "_tolerance.png")
    ends: dict[str, Any] = {
        name: _read(loaded, str(key), text, of, difference=name == "within")
        for name, text in (("low", low), ("high", high), ("within", within))
    }

    from sim.cli.progress import progress
    from sim.ensemble.tolerance import solve_tolerance
    from sim.report import tolerance_answer
    from sim.report.tolerance_picture import draw_tolerance

    with progress(screen, "Searching") as report:
        found = solve_tolerance(
            loaded, str(key), success=success, of=of, **ends, flights=flights or 60_000,
            progress=report, **shared,
        )  # fmt: skip
    draw_tolerance(target, found)
    if as_json:
        screen.put_json(tolerance_answer.as_object(found, target))
    else:
        screen.say(*tolerance_answer.parts(found, scenario), "", f"Written: {target}")
    return 0 if tolerance_answer.crossed(found) else 2


def _level(
    screen: Any, loaded: Scenario, scenario: str, flights: int, shared: dict[str, Any]
) -> None:
    from sim.cli.progress import progress
    from sim.ensemble.levelling import fly_levelling
    from sim.report import tolerance_answer
    from sim.report.as_json import dataset_object

    with progress(screen, "Nine combinations") as report:
        found = fly_levelling(loaded, flights=flights, progress=report, **shared)
    if screen.as_json:
        answer = tolerance_answer.levelling_answer(found)
        screen.put_json({"answer": answer, "levelling": dataset_object(found)})
        return
    screen.say(*tolerance_answer.levelling_parts(found, scenario))


def _read(
    loaded: Scenario, key: str, text: str | None, of: str | None, *, difference: bool
) -> float | None:
    """Read a level in SI, with the unit of the input."""
    if text is None:
        return None
    from sim.ensemble.knob import make_knob
    from sim.scenario.amounts import AmountProblem, read_quantity
    from sim.scenario.catalogue import spec_for

    knob = make_knob(loaded, key, of)
    known = spec_for(knob.names[0])
    dimension: Any = known[3].dimension if known else None  # type: ignore[union-attr]
    try:
        size = difference or knob.meaning != "value"
        return float(read_quantity(text, dimension, size).value)
    except AmountProblem as problem:
        raise UserMistake(f"{key}: {problem}") from None
