"""`setdown landing-box`: the statistics of an ensemble again, from its file."""

from __future__ import annotations

from pathlib import Path

import click

from sim.cli import options


@click.command(
    "landing-box",
    epilog=options.examples(
        'setdown landing-box results/heron.nc --confidence 0.99',
    ),
)
@click.argument("ensemble", metavar="OUT.nc", type=options.file_name)
@options.confidence
@click.option("--unfinished", is_flag=True, help="Read what is finished of a run that goes on.")
@options.as_json
def verb(ensemble: str, confidence: float, unfinished: bool, as_json: bool) -> None:
    """Print landing box and touchdown statistics of the ensemble OUT.nc."""
    from sim.cli import answer
    from sim.cli.screen import Screen
    from sim.ensemble.opening import open_ensemble

    screen = Screen(as_json=as_json)
    with open_ensemble(ensemble, unfinished=unfinished) as dataset:
        answer.give(screen, dataset, confidence, path=Path(ensemble), picture=False)
