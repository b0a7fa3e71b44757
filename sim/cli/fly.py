"""`setdown fly`: one flight, its events, its trace and its picture."""

from __future__ import annotations

import shlex
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.cli import options
from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.cli.screen import Screen
    from sim.ensemble.first_flight import FirstFlight
    from sim.ensemble.fly_one import Flight
    from sim.scenario import Scenario

FIRST_RUN = "First run: the flight is flown in plain Python while the flight kernel compiles ..."
KERNEL_COMPILES = (
    "The flight kernel is still compiling, about half a minute in all; Ctrl-C leaves that to the "
    "next run."
)


@click.command(
    "fly",
    epilog=options.examples(
        "setdown fly scenarios/heron.toml --run 17 --seed 1 -o results/heron_17",
        "setdown fly scenarios/heron.toml --animate results/heron.gif",
    ),
)
@options.scenario_file
@options.sets
@options.faults
@options.mixed
@options.seed
@click.option(
    "--run", type=click.IntRange(0), metavar="I",
    help="Flight I of the seed's ensemble instead of the nominal flight.",
)  # fmt: skip
@click.option(
    "--width", type=click.Choice(["1", "4", "8"]), default=None,
    help="Flights in lock step; 1 is the plain kernel, the default what ensembles use. Same bits.",
)  # fmt: skip
@options.out("Begin the names of the two files with this; results/NAME_fly by default.")
@click.option("--picture/--no-picture", default=True, help="Draw the flight, or save that time.")
@click.option(
    "--animate", metavar="FILE", help="Write a moving picture too: FILE.gif, .html, or .mp4 where "
    "ffmpeg is installed.",
)  # fmt: skip
@click.option(
    "--pace", type=click.FloatRange(0.05, 20.0), default=1.0, show_default=True, metavar="X",
    help="Seconds of flight a second of the moving picture.",
)  # fmt: skip
@options.as_json
def verb(
    scenario: str, sets: tuple[str, ...], faults: tuple[str, ...], mixed: bool, seed: int,
    run: int | None, width: str | None,
    out: str | None, picture: bool, animate: str | None, pace: float, as_json: bool,
) -> int:  # fmt: skip
    """Fly one flight of the scenario FILE: events, outcome, trace (netCDF) and picture.

    The nominal flight has every number at its nominal value, with sensor noise and turbulence.
    """
    from sim.cli.screen import Screen
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    if mixed and run is None:
        raise UserMistake(
            "--faults: the nominal flight draws nothing, so no fault would happen in it; give "
            "--run I for a flight that draws its own, or force a fault with --fault NAME"
        )
    loaded = options.with_faults(load_scenario(scenario, sets), faults, mixed)
    ending = "_fly" if run is None else f"_fly_{run}"
    prefix = options.output(_bare(out), scenario, ending)
    trace_path = prefix.with_name(prefix.name + ".nc")
    picture_path = prefix.with_name(prefix.name + ".png")
    film = Path(animate) if animate else None
    for path in (trace_path, picture_path, *([film] if film else [])):
        options.check_output(path)
    if film:
        from sim.report import flight_animation

        flight_animation.make_writer(film)  # before the flight, that it can be written

    from sim.report.flight_sheet import Artist, make_sheet

    with ExitStack() as helpers:
        artist = helpers.enter_context(Artist()) if picture else None  # gets ready meanwhile
        from sim.ensemble import fly_one
        from sim.ensemble.fly_runs import WIDTH
        from sim.report import flight_tables

        flight, first = _flown(screen, helpers, loaded, run, seed, int(width or WIDTH))
        flown = fly_one.events(flight)
        screen.say(*flight_tables.parts(flight, loaded.success, flown))
        sheet = make_sheet(loaded, flight, flown)
        fly_one.write_trace(trace_path, flight)  # the answer does not wait for files
        if artist:
            artist.draw(picture_path, sheet)
        if as_json:
            drawn = picture_path if picture else None
            screen.put_json(flight_tables.as_object(flight, flown, trace_path, drawn))
        if film:
            screen.note("Drawing the moving picture, about twenty seconds ...")
            flight_animation.animate(film, sheet, pace)
        written = [trace_path, *([picture_path] if picture else []), *([film] if film else [])]
        screen.say(f"\nWritten: {_listed(written)}", *_next(scenario, sets))
        if first and first.still_compiles():
            screen.note(KERNEL_COMPILES)
            first.wait_for_kernel()
    return 1 if flight_tables.failed(flight) else 0


def _flown(
    screen: Screen, helpers: ExitStack, scenario: Scenario, run: int | None, seed: int, width: int
) -> tuple[Flight, FirstFlight | None]:
    """Fly; on the first run in plain Python, if that is quicker, while the kernel compiles."""
    from sim.cli.progress import say_if_cold
    from sim.ensemble import first_flight, fly_one

    first = None
    if first_flight.pays(width):
        screen.note(FIRST_RUN)
        first = helpers.enter_context(
            first_flight.FirstFlight(scenario, run=run, seed=seed, width=width)
        )
        flight = first.flight()
        if flight is not None:
            return flight, first
    say_if_cold(screen, width)
    return fly_one.fly_arrays(scenario, run=run, seed=seed, width=width), first


def _listed(paths: list[Path]) -> str:
    *before, last = map(str, paths)
    return f"{', '.join(before)} and {last}" if before else last


def _bare(out: str | None) -> str | None:
    """Take the ending off a name that was meant for one of the two files."""
    ends = out is not None and Path(out).suffix in (".nc", ".png")
    return str(Path(out).with_suffix("")) if out and ends else out


def _next(scenario: str, sets: tuple[str, ...]) -> list[str]:
    given = " ".join(f"--set {shlex.quote(text)}" for text in sets)
    return [f"Next:    setdown disperse {Path(scenario)} {given}".rstrip()]
