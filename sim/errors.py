"""The few kinds of error that setdown shows to a person.

A library function raises; only the command line prints and chooses the exit status.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class UserMistake(Exception):
    """Something the person at the keyboard can mend; the message says how. Exit status 2."""


class RunFailure(Exception):
    """Something went wrong that is not the user's doing: disk full, file damaged. Exit status 1."""


@dataclass(frozen=True)
class Mistake:
    """One mistake in a scenario: where it stands, what was found, what would be right."""

    file: str
    line: int | None
    key: str
    found: str
    right: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        return f"{place}: {self.key}: {self.found}; {self.right}"


class ScenarioMistakes(UserMistake):
    """All mistakes of a scenario, reported at once."""

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = list(mistakes)
        count = len(self.mistakes)
        head = "1 mistake" if count == 1 else f"{count} mistakes"
        super().__init__("\n".join([f"{head} in the scenario:", *map(str, self.mistakes)]))
