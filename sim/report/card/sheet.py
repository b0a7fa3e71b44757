"""What a card is made of: panels of plain data, without a word of HTML or PDF."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

BLANK = ""
"""A value to be written in by hand: both layouts leave a ruled line for it."""


@dataclass(frozen=True)
class Pairs:
    """What, and its value with unit; a `BLANK` value is left to write in."""

    kind: ClassVar[str] = "pairs"
    rows: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Grid:
    """A table; `widths` are shares of the panel's width, `roomy` rows have room to write in."""

    kind: ClassVar[str] = "grid"
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    widths: Sequence[float]
    roomy: bool = False


@dataclass(frozen=True)
class Steps:
    """A list; each entry begins with a few words that stand out. Numbered if in an order."""

    kind: ClassVar[str] = "steps"
    steps: Sequence[tuple[str, str]]
    numbered: bool = True


@dataclass(frozen=True)
class Note:
    """A line of small print."""

    kind: ClassVar[str] = "note"
    text: str


Item = Pairs | Grid | Steps | Note


@dataclass(frozen=True)
class Panel:
    """A part of the card under a heading of its own."""

    title: str
    items: Sequence[Item]


@dataclass(frozen=True)
class Sheet:
    """A whole card: cautions over the whole width, panels over it, and two columns."""

    title: str
    about: str
    cautions: Sequence[tuple[str, str]]
    wide: Sequence[Panel]
    left: Sequence[Panel]
    right: Sequence[Panel]
    foot: str
