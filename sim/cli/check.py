"""`setdown check`: every number that will be used, and what follows from them."""

from __future__ import annotations

import click

from sim.cli import options


@click.command(
    "check",
    epilog=options.examples(
        'setdown check scenarios/heron.toml --set launch_pad.tilt="0.3 deg"',
    ),
)
@options.scenario_file
@options.sets
@options.as_json
def verb(scenario: str, sets: tuple[str, ...], as_json: bool) -> None:
    """Check the scenario FILE and print every number that will be used.

    First what follows from the numbers: thrust to weight, burn times, stability going up and
    coming down, gimbal authority, loop margins, and what the landing motor can do. Then each
    number with its spread, 95 % range, what the vehicle believes where that differs, and where it
    comes from.
    """
    from sim.cli.screen import Screen
    from sim.ensemble.derived import derive
    from sim.report import numbers
    from sim.scenario import load_scenario

    screen = Screen(as_json=as_json)
    loaded = load_scenario(scenario, sets)
    derived = derive(loaded)
    if as_json:
        screen.put_json(numbers.as_object(loaded, derived))
        return
    screen.say(*numbers.derived_parts(loaded, derived))
    screen.say(*numbers.number_parts(loaded))
    screen.say(f"\nNext:  setdown fly {scenario}")
