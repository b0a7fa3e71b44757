"""Where words go: answers to standard output, progress and notes to standard error."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sim.cli import manner
from sim.errors import UserMistake

if TYPE_CHECKING:
    from rich.console import Console

WIDTH_OF_FILES = 100  # columns, where there is no terminal that says


class Screen:
    """Two consoles; with `as_json` or `--csv` the answers for people are left out.

    Parameters
    ----------
    as_json : bool
        Nothing but what `put_json` is given goes to standard output.

    Raises
    ------
    UserMistake
        JSON and CSV are both asked for.
    """

    def __init__(self, *, as_json: bool = False) -> None:
        self.as_json = as_json
        self.manner = manner.given()
        if as_json and self.manner.csv:
            raise UserMistake("--csv and --json exclude each other; give one of them")
        self.answers = _console(stderr=False)
        self.notes = _console(stderr=True)
        self._begun = time.monotonic()
        if self.manner.verbose:
            self._introduce()

    def _introduce(self) -> None:
        import platform

        from sim.lanes.cache import keyed_folders

        version = platform.python_version()
        self.tell(f"Python {version}, {os.cpu_count()} processors, in {Path.cwd()}")
        self.tell(f"compiled kernels: {keyed_folders()[0]}")
        context = click.get_current_context(silent=True)
        if context is not None:
            context.call_on_close(lambda: self.tell("done"))

    def say(self, *parts: Any) -> None:
        """Print part of the answer: text or tables of rich."""
        if self.as_json:
            return
        for part in parts:
            if self.manner.csv:
                self._put_csv(part)
            else:
                self.answers.print(part)

    def note(self, text: str) -> None:
        """Say something that is no answer."""
        if not self.manner.quiet:
            self.notes.print(text, style="dim")

    def tell(self, text: str) -> None:
        """Say what is being done, with the seconds since the start, if that is wanted."""
        if self.manner.verbose:
            self.notes.print(f"{time.monotonic() - self._begun:6.2f} s  {text}", style="dim")

    def log(self, line: str) -> None:
        """Print one line of a log at once, however long it is."""
        click.echo(line)

    def put_json(self, content: dict[str, Any]) -> None:
        """Print the one JSON object."""
        click.echo(json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False))

    def _put_csv(self, part: Any) -> None:
        from sim.report.as_csv import csv_of

        text = csv_of(part)
        if text:
            click.echo(text, nl=False)


def _console(*, stderr: bool) -> Console:
    from rich.console import Console

    console = Console(stderr=stderr, highlight=False, markup=False, emoji=False)
    if not console.is_terminal and "COLUMNS" not in os.environ:
        console = Console(
            stderr=stderr, highlight=False, markup=False, emoji=False, width=WIDTH_OF_FILES
        )
    return console
