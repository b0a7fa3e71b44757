"""Where words go: answers to standard output, progress and notes to standard error."""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from rich.console import Console

WIDTH_OF_FILES = 100  # columns, where there is no terminal that says


class Screen:
    """Two consoles; with `as_json` the answers for people are left out.

    Parameters
    ----------
    as_json : bool
        Nothing but what `put_json` is given goes to standard output.
    """

    def __init__(self, *, as_json: bool = False) -> None:
        self.as_json = as_json
        self.answers = _console(stderr=False)
        self.notes = _console(stderr=True)

    def say(self, *parts: Any) -> None:
        """Print part of the answer: text or tables of rich."""
        if not self.as_json:
            for part in parts:
                self.answers.print(part)

    def note(self, text: str) -> None:
        """Say something that is no answer."""
        self.notes.print(text, style="dim")

    def put_json(self, content: dict[str, Any]) -> None:
        """Print the one JSON object."""
        click.echo(json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False))


def _console(*, stderr: bool) -> Console:
    from rich.console import Console

    console = Console(stderr=stderr, highlight=False, markup=False, emoji=False)
    if not console.is_terminal and "COLUMNS" not in os.environ:
        console = Console(
            stderr=stderr, highlight=False, markup=False, emoji=False, width=WIDTH_OF_FILES
        )
    return console
