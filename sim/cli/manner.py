"""How a verb speaks: options that every verb has, added in one place and read by the screen."""

from __future__ import annotations

from typing import Any, NamedTuple

import click

_KEY = "sim.cli.manner"


class Manner(NamedTuple):
    """What was asked of the screen.

    Attributes
    ----------
    quiet : bool
        Neither progress nor notes: the answer, and what is wrong.
    verbose : bool
        What is being done, from where, and how long it took.
    csv : bool
        Tables only, as comma-separated values.
    """

    quiet: bool = False
    verbose: bool = False
    csv: bool = False


def given() -> Manner:
    """Return what was asked of the verb that runs; the usual manner outside of one."""
    context = click.get_current_context(silent=True)
    return Manner() if context is None else context.meta.get(_KEY, Manner())


def add_to(verb: click.Command) -> click.Command:
    """Give a verb the options, once."""
    if not any(option.name == "quiet" for option in verb.params):
        verb.params += [
            _flag("quiet", "-q", "--quiet", what="No progress and no notes."),
            _flag("verbose", "-v", "--verbose", what="Say what is done, and how long it takes."),
        ]
        if any(option.name == "as_json" for option in verb.params):
            verb.params.append(_flag(
                "csv", "--csv", what="Print the tables of the answer and nothing else, as CSV; the "
                "name of each in a line that begins with #.",
            ))  # fmt: skip
    return verb


def _flag(name: str, *spelled: str, what: str) -> click.Option:
    return click.Option(
        [*spelled, name], is_flag=True, expose_value=False, callback=_remember, help=what,
    )  # fmt: skip


def _remember(context: click.Context, option: click.Parameter, wanted: bool) -> Any:
    if not wanted:
        return wanted
    now: Manner = context.meta.get(_KEY, Manner())
    asked = now._replace(**{str(option.name): True})
    if asked.quiet and asked.verbose:
        raise click.UsageError("--quiet and --verbose exclude each other")
    context.meta[_KEY] = asked
    return wanted
