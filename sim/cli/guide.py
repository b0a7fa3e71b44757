"""`setdown guide`: what the words, the keys and the numbers mean."""

from __future__ import annotations

import click

from sim.cli import options
from sim.errors import UserMistake

TOPICS = {
    "scenario": "every key of a scenario file; one section if it is named too",
    "outcomes": "every result in an ensemble's file",
    "frames": "axes, angles and heights",
    "sure": "how sure is sure: which bound stands where, and what it promises",
    "glossary": "terms as they are used here",
    "cautions": "before anything flies",
}


@click.command(
    "guide",
    epilog=options.examples(
        "setdown guide scenario landing_motor", "setdown guide sure",
    ),
)  # fmt: skip
@click.argument("topic", required=False, metavar="[TOPIC]", shell_complete=lambda *_: list(TOPICS))
@click.argument("section", required=False, metavar="[SECTION]")
@options.as_json
def verb(topic: str | None, section: str | None, as_json: bool) -> None:
    """Explain a TOPIC: scenario, outcomes, frames, sure, glossary or cautions.

    Keys and results are read from the program itself, so that what is said of them is so.
    """
    from sim.cli.screen import Screen
    from sim.report import guide

    screen = Screen(as_json=as_json)
    if topic is None:
        screen.say(guide.topics(TOPICS))
        return
    if topic not in TOPICS:
        from sim.report.guide import nearest

        raise UserMistake(nearest("topic", topic, TOPICS))
    if as_json:
        screen.put_json(guide.as_object(topic, section))
        return
    screen.say(*guide.parts(topic, section))
