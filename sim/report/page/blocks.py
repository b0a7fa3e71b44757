"""What a page is made of: sections of blocks, as plain data without a word of HTML."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar


@dataclass(frozen=True)
class Words:
    """A paragraph; `manner` is plain, lead (the answer), warning or small."""

    kind: ClassVar[str] = "words"
    text: str
    manner: str = "plain"


@dataclass(frozen=True)
class Tile:
    """One number to see at a glance: what it is, the number with its unit, its bounds."""

    what: str
    number: str
    note: str


@dataclass(frozen=True)
class Tiles:
    """A row of numbers."""

    kind: ClassVar[str] = "tiles"
    tiles: Sequence[Tile]


@dataclass(frozen=True)
class Table:
    """A table; the first column heads its rows.

    Attributes
    ----------
    caption : str
    heads : sequence of str
        One for each column.
    rows : sequence of sequences of str
        A cell may be a `Bars`.
    left : int
        So many columns, from the first, hold words and not numbers; -1: all.
    note : str
        Below the table.
    """

    kind: ClassVar[str] = "table"
    caption: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str | Bars]]
    left: int = 1
    note: str = ""


@dataclass(frozen=True)
class Bars:
    """A small histogram within a table, and what it says in words."""

    heights: Sequence[float]
    words: str


@dataclass(frozen=True)
class Sign:
    """One entry of a figure's key: how it is drawn, and what it is.

    `marker` is a marker of matplotlib or "", `dashes` lengths on and off or (), `fill` whether the
    colour fills an area.
    """

    label: str
    colour: str
    marker: str = ""
    dashes: Sequence[float] = ()
    line: bool = False
    fill: bool = False
    opacity: float = 1.0


@dataclass(frozen=True)
class Figure:
    """A drawing.

    Attributes
    ----------
    name : str
        For links, of letters and hyphens.
    title : str
    svg : str
        The drawing itself, from `drawing.draw`.
    alt : str
        What it shows, for those who cannot see it.
    caption : str
        Sample size, confidence, what is left out.
    key : sequence of Sign
    wide : bool
        Over the whole width.
    """

    kind: ClassVar[str] = "figure"
    name: str
    title: str
    svg: str
    alt: str
    caption: str
    key: Sequence[Sign] = ()
    wide: bool = False


@dataclass(frozen=True)
class Figures:
    """Figures, or a table among them, that stand side by side where there is room."""

    kind: ClassVar[str] = "figures"
    figures: Sequence[Figure | Table]


@dataclass(frozen=True)
class Points:
    """A list; each point may begin with a few words that stand out."""

    kind: ClassVar[str] = "points"
    points: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Commands:
    """Commands to give next, and what each is for."""

    kind: ClassVar[str] = "commands"
    commands: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Text:
    """Text as it stands, kept folded: a file, say."""

    kind: ClassVar[str] = "text"
    summary: str
    text: str


@dataclass(frozen=True)
class Folded:
    """A table that is folded away under its caption until it is wanted or printed."""

    kind: ClassVar[str] = "folded"
    table: Table


@dataclass(frozen=True)
class Living:
    """A form for today's readings, and the flights with which the page answers them.

    `inputs` and `data` come from `living.carried`; `kept` says what the page does not change,
    `method` how it answers.
    """

    kind: ClassVar[str] = "living"
    inputs: Sequence[Mapping[str, Any]]
    data: str
    kept: str
    method: str


Block = Words | Tiles | Table | Figures | Points | Commands | Text | Folded | Living


@dataclass(frozen=True)
class Section:
    """A part of the page with a heading of its own; `name` is for links."""

    name: str
    title: str
    blocks: Sequence[Block] = field(default_factory=tuple)


@dataclass(frozen=True)
class Page:
    """A whole page: title, the line below it, warnings before all else, sections in order."""

    title: str
    about: str
    warnings: Sequence[str]
    sections: Sequence[Section]

    @property
    def answer(self) -> str:
        """The one sentence that the page begins with; empty if it has none."""
        blocks = self.sections[0].blocks if self.sections else ()
        found = (block for block in blocks if isinstance(block, Words) and block.manner == "lead")
        return next((block.text for block in found), "")
