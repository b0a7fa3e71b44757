"""`setdown drop`: the touchdown alone, as on a drop rig in the workshop."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sim.cli import options
from sim.cli.drop_options import check_modes, load_dropped, read_speeds
from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.cli.screen import Screen
    from sim.ensemble.drop import Rig
    from sim.ensemble.drop_release import Release
    from sim.scenario import Scenario

STRUTS = ("rigid", "spring", "gas", "crush", "friction")
LEVEL_DROPS = 200  # at each level of --vary, if not told
DIRECTION = "An angle east of north, or leg, between, any."


@click.command(
    "drop",
    epilog=options.examples(
        'setdown drop scenarios/heron.toml --height "0.2 m" --tilt "5 deg" --surface grass',
        'setdown drop scenarios/heron.toml --sink-rate "1.5 m/s +/- 0.3 m/s" -n 1000',
        "setdown drop scenarios/heron.toml --map --struts crush",
        'setdown drop scenarios/heron.toml --sink-rate "2 m/s" '
        '--vary "legs.damping=20..120 N s/m/6"',
    ),
)
@options.scenario_file
@click.option("--height", metavar="H", help="Of the lowest foot above the ground, let go at rest.")
@click.option("--sink-rate", metavar="V", help="At first contact, in place of a height.")
@click.option("--tilt", metavar="A", help="Of the long axis from the vertical; 0 if not given.")
@click.option("--tilt-direction", metavar="D", help=f"Where the nose leans. {DIRECTION}")
@click.option("--side-speed", metavar="V", help="Over the ground; 0 if not given.")
@click.option("--side-direction", metavar="D", help=f"Where it drifts to. {DIRECTION}")
@click.option("--turn-rate", metavar="W", help="At which the tilt grows as it is let go.")
@click.option("--surface", metavar="KIND", help="grass, dirt or pad: what the feet come down on.")
@click.option("--slope", metavar="A", help="Of the ground, in place of the scenario's.")
@click.option("--slope-direction", metavar="D", help="Where the ground falls to, east of north.")
@click.option("--struts", type=click.Choice(STRUTS), help="In place of the scenario's legs.strut.")
@click.option(
    "--motor", type=click.Choice(["spent", "full"]), default="spent", show_default=True,
    help="Landing motor burnt out, or unlit with all its propellant.",
)  # fmt: skip
@click.option("--settle-longest", metavar="T", help="How long it is followed after the touch.")
@click.option(
    "-n", "--flights", type=click.IntRange(1), metavar="N",
    help="Drops, all laws of chance drawn anew; without it the nominal drop on even ground "
    f"(--vary: {LEVEL_DROPS} at each level).",
)  # fmt: skip
@click.option("--run", type=click.IntRange(0), metavar="I", help="Drop I of those alone, traced.")
@click.option("--map", "mapped", is_flag=True, help="Where it stands: sink rate by side speed.")
@click.option("--sink-rates", metavar="LEVELS", help='Of the map, as "0..4 m/s/17".')
@click.option("--side-speeds", metavar="LEVELS", help='Of the map, as "0..2.4 m/s/17".')
@click.option(
    "--vary", metavar="NAME=LEVELS",
    help='One number of legs or ground at several levels, as "legs.damping=20..120 N s/m/6".',
)  # fmt: skip
@options.seed
@options.sets
@options.workers
@options.confidence
@options.out("Begin the names of the files with this; results/NAME_drop by default.")
@options.as_json
def verb(
    scenario: str, flights: int | None, run: int | None, mapped: bool, vary: str | None,
    sink_rates: str | None, side_speeds: str | None, seed: int, sets: tuple[str, ...],
    workers: int | None, confidence: float, out: str | None, as_json: bool, motor: str,
    **given: str | None,
) -> int:  # fmt: skip
    """Drop the vehicle of the scenario FILE: whether it stands, and what the legs bear.

    The vehicle is as it lands: stage gone, legs and petals open, landing motor burnt out, nobody at
    the controls, still air. Height, speeds and tilt may be laws of chance ("5 deg +/- 2 deg").
    Directions that are not given lie between two legs, where it tips most easily; with -n they are
    drawn.
    """
    from sim.cli.screen import Screen
    from sim.ensemble.drop import make_rig

    screen = Screen(as_json=as_json)
    check_modes(mapped, vary, run, flights, sink_rates, side_speeds)
    loaded = load_dropped(scenario, sets, given)
    task = _Task(
        screen, scenario, loaded, make_rig(loaded, motor), given, flights, seed, workers,
        confidence, out,
    )  # fmt: skip
    if mapped:
        return _map(task, sink_rates, side_speeds)
    if vary is not None:
        return _vary(task, vary)
    return _one(task, run) if flights is None else _many(task)


@dataclass(frozen=True)
class _Task:
    """What was asked for."""

    screen: Screen
    file: str
    scenario: Scenario
    rig: Rig
    given: dict[str, str | None]
    flights: int | None
    seed: int
    workers: int | None
    confidence: float
    out: str | None

    def release(self, *, drawn: bool, **instead: str | None) -> Release:
        from sim.ensemble.drop_release import read_release

        return read_release(self.given | instead, self.scenario, drawn=drawn)

    def paths(self, ending: str, *suffixes: str) -> list[Path]:
        prefix = options.output(self.out, self.file, ending)
        found = [prefix.with_name(prefix.name + suffix) for suffix in suffixes]
        for path in found:
            options.check_output(path)
        return found


# ---- the four things that can be asked -----------------------------------------------------------


def _one(task: _Task, run: int | None) -> int:
    release = task.release(drawn=run is not None)
    ending = "_drop" if run is None else f"_drop_{run}"
    trace, picture = task.paths(ending, ".nc", ".png")

    from sim.cli.progress import say_if_cold
    from sim.ensemble.drop import drop_one
    from sim.ensemble.fly_one import write_trace
    from sim.report import drop_answer
    from sim.report.drop_picture import draw_drop

    say_if_cold(task.screen)
    flight = drop_one(task.rig, release, run=run, seed=task.seed)
    write_trace(trace, flight)
    draw_drop(picture, flight, task.scenario)
    if task.screen.as_json:
        task.screen.put_json(drop_answer.as_object(flight, task.scenario, trace, picture))
    task.screen.say(*drop_answer.parts(flight, task.scenario))
    task.screen.say("", f"Written: {trace} and {picture}", *drop_answer.next_steps(task.file))
    return 1 if drop_answer.failed(flight) else 0


def _many(task: _Task) -> int:
    release = task.release(drawn=True)
    table, picture = task.paths("_drops", ".nc", ".png")

    from sim.cli.progress import progress
    from sim.ensemble.drop import drop_many, write_drops
    from sim.ensemble.drop_summary import drop_summary
    from sim.report import drop_many_answer
    from sim.report.drop_many_picture import draw_drops

    assert task.flights is not None
    with progress(task.screen, "Dropping") as report:
        ds = drop_many(
            task.rig, release, task.flights, seed=task.seed, workers=task.workers, progress=report
        )
    write_drops(table, ds)
    summary = drop_summary(ds, confidence=task.confidence)
    draw_drops(picture, ds, summary, task.scenario)
    if task.screen.as_json:
        task.screen.put_json(drop_many_answer.as_object(summary, table, picture))
    task.screen.say(*drop_many_answer.parts(ds, summary, task.scenario, task.file))
    task.screen.say("", f"Written: {table} and {picture}")
    return 0


def _map(task: _Task, sink_rates: str | None, side_speeds: str | None) -> int:
    from sim.ensemble.drop_map import SIDE_SPEEDS, SINK_RATES, fly_map

    for name in ("height", "sink_rate", "side_speed"):
        if task.given.get(name) is not None:
            raise UserMistake(
                f"--map goes over sink rate and side speed: leave --{name.replace('_', '-')} out, "
                "and choose the ranges with --sink-rates and --side-speeds"
            )
    release = task.release(drawn=task.flights is not None, sink_rate="0 m/s")
    sinks = read_speeds("--sink-rates", sink_rates or SINK_RATES)
    sides = read_speeds("--side-speeds", side_speeds or SIDE_SPEEDS)
    (picture,) = task.paths("_drop_map", ".png")

    from sim.cli.progress import progress
    from sim.report import drop_map_answer
    from sim.report.drop_map_picture import draw_map

    with progress(task.screen, "Dropping") as report:
        found = fly_map(
            task.rig, release, sinks, sides, flights=task.flights, seed=task.seed,
            direction_given=task.given.get("side_direction") not in (None, "any"),
            tilt_direction_given=task.given.get("tilt_direction") is not None,
            confidence=task.confidence, workers=task.workers, progress=report,
        )  # fmt: skip
    draw_map(picture, found, task.scenario)
    if task.screen.as_json:
        task.screen.put_json(drop_map_answer.as_object(found, picture))
    task.screen.say(*drop_map_answer.parts(found, task.scenario), "", f"Written: {picture}")
    return 0


def _vary(task: _Task, text: str) -> int:
    from sim.ensemble.drop_vary import fly_vary
    from sim.ensemble.vary import parse_vary

    release = task.release(drawn=True)
    vary = parse_vary(text)
    if len(vary.levels) < 2:
        raise UserMistake(f'--vary "{text}": give two levels or more')
    (picture,) = task.paths("_drop_vary", ".png")

    from sim.cli.progress import progress
    from sim.report import drop_vary_answer
    from sim.report.drop_vary_picture import draw_vary

    arguments: dict[str, Any] = {
        "flights": task.flights or LEVEL_DROPS, "confidence": task.confidence, "seed": task.seed,
        "workers": task.workers,
    }  # fmt: skip
    with progress(task.screen, "Dropping") as report:
        found = fly_vary(task.scenario, task.rig.motor, release, vary, progress=report, **arguments)
    draw_vary(picture, found)
    if task.screen.as_json:
        task.screen.put_json(drop_vary_answer.as_object(found, picture))
    task.screen.say(*drop_vary_answer.parts(found), "", f"Written: {picture}")
    return 0
