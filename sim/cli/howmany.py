"""`setdown howmany`: flights that a claim needs, and failures allowed among them."""

from __future__ import annotations

import click

from sim.cli import options

SHARE = click.FloatRange(0.0, 1.0, min_open=True, max_open=True)


@click.command(
    "howmany",
    epilog=options.examples(
        "setdown howmany --success 0.95 --confidence 0.95",
        "setdown howmany --success 0.9 --confidence 0.95 -n 2000 --failed 171",
    ),
)
@click.option(
    "--success", type=SHARE, default=0.95, show_default=True, metavar="P",
    help="Success to be claimed, at least.",
)  # fmt: skip
@click.option(
    "--confidence", type=SHARE, default=0.95, show_default=True, metavar="C",
    help="With which it is to be claimed.",
)  # fmt: skip
@click.option(
    "--expected", type=SHARE, metavar="P",
    help="Success that you believe in: adds the chance that the claim comes out.",
)  # fmt: skip
@click.option(
    "-n", "--flights", type=click.IntRange(1), metavar="N",
    help="Flights at hand: adds the failures allowed among them.",
)  # fmt: skip
@click.option(
    "--failed", type=click.IntRange(0), metavar="K",
    help="Failures among these flights: adds what they show.",
)  # fmt: skip
@options.as_json
def verb(
    success: float, confidence: float, expected: float | None, flights: int | None,
    failed: int | None, as_json: bool,
) -> None:  # fmt: skip
    """Say how many flights show a success, and how many of them may fail.

    The number of flights is fixed beforehand. Flying on until the claim comes out would spoil it;
    `pad-size` and `tolerance` use bounds that allow for that.
    """
    from sim.analysis.howmany import howmany
    from sim.cli.screen import Screen
    from sim.report import howmany_answer
    from sim.report.as_json import dataset_object

    screen = Screen(as_json=as_json)
    found = howmany(
        success=success, confidence=confidence, expected=expected, runs=flights, failed=failed
    )
    if as_json:
        screen.put_json(dataset_object(found))
        return
    screen.say(*howmany_answer.parts(found))
