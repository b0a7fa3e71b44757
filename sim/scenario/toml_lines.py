"""Where each key of a TOML text stands.

The standard reader of TOML tells values, not places. This scanner walks over a text that the
reader has accepted and notes the line of every key, section and element of an array; it does not
read values and need not judge them.
"""

from __future__ import annotations

import re

Path = tuple[str | int, ...]


_BLANKS = re.compile(r"(?:[ \t\r]|#[^\n]*)*")
_BLANKS_AND_LINES = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SCALAR = re.compile(r"[^,\]}#\n]*")
_NUMBERS = re.compile(r"\[[^\[\]{}\"'#]*\]")
_BARE_KEY = re.compile(r"[\w-]+")


def key_lines(text: str) -> dict[Path, int]:
    """Line of every key of a valid TOML text.

    Parameters
    ----------
    text : str
        A TOML document that `tomllib` accepts.

    Returns
    -------
    dict
        From the path of a key (names, and indices inside arrays) to its line, counted from 1.
    """
    return _Scanner(text).document()


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text + "\n"
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def note(self, path: Path) -> None:
        for depth in range(1, len(path) + 1):
            self.lines.setdefault(path[:depth], self.line)

    def peek(self) -> str:
        return self.text[self.at] if self.at < len(self.text) else ""

    def step(self, count: int = 1) -> None:
        self.line += self.text.count("\n", self.at, self.at + count)
        self.at += count

    def skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        if match:
            self.step(match.end() - self.at)

    def blank(self, newlines: bool) -> None:
        """Skip blanks and comments, and line ends if told so."""
        self.skip(_BLANKS_AND_LINES if newlines else _BLANKS)

    def document(self) -> dict[Path, int]:
        table: Path = ()
        while True:
            self.blank(newlines=True)
            if self.at >= len(self.text):
                return self.lines
            if self.peek() == "[":
                table = self.header()
            else:
                self.pair(table)

    def header(self) -> Path:
        """Read `[a.b]` or `[[a.b]]`; the path gets the index of the newest array element."""
        array = self.text.startswith("[[", self.at)
        self.step(2 if array else 1)
        names = self.key()
        self.step(2 if array else 1)
        path: Path = ()
        for depth, name in enumerate(names):
            path = (*path, name)
            if array and depth == len(names) - 1:
                self.counts[path] = self.counts.get(path, -1) + 1
            if path in self.counts:
                path = (*path, self.counts[path])
        self.note(path)
        return path

    def pair(self, table: Path) -> None:
        line = self.line
        path = (*table, *self.key())
        self.note(path)
        self.lines[path] = line
        self.step()  # the equals sign
        self.value(path)

    def key(self) -> list[str]:
        names = []
        while True:
            self.blank(newlines=False)
            if self.peek() in "\"'":
                start = self.at
                self.string()
                names.append(self.text[start + 1 : self.at - 1])
            else:
                start = self.at
                self.skip(_BARE_KEY)
                names.append(self.text[start : self.at])
                if start == self.at:  # not valid TOML: move on rather than stand still
                    self.step()
            self.blank(newlines=False)
            if self.peek() != ".":
                return names
            self.step()

    def value(self, path: Path) -> None:
        self.blank(newlines=True)
        c = self.peek()
        if c and c in "\"'":
            self.string()
        elif c == "[":
            self.array(path)
        elif c == "{":
            self.inline_table(path)
        else:
            self.skip(_SCALAR)

    def array(self, path: Path) -> None:
        self.step()
        index = 0
        while True:
            self.blank(newlines=True)
            if self.peek() in ("]", ""):
                self.step()
                return
            if _NUMBERS.match(self.text, self.at):  # a row of a table: nothing to tell inside it
                self.skip(_NUMBERS)
            else:
                self.note((*path, index))
                self.value((*path, index))
            index += 1
            self.blank(newlines=True)
            if self.peek() == ",":
                self.step()

    def inline_table(self, path: Path) -> None:
        self.step()
        while True:
            self.blank(newlines=True)
            if self.peek() in ("}", ""):
                self.step()
                return
            self.pair(path)
            self.blank(newlines=True)
            if self.peek() == ",":
                self.step()

    def string(self) -> None:
        """Skip a string of any of the four kinds."""
        quote = self.peek()
        triple = self.text.startswith(quote * 3, self.at)
        end = quote * 3 if triple else quote
        self.step(len(end))
        while self.at < len(self.text) and not self.text.startswith(end, self.at):
            self.step(2 if quote == '"' and self.peek() == "\\" else 1)
        self.step(len(end))
        while triple and self.peek() == quote:  # up to two quotes may stand before the closing ones
            self.step()
