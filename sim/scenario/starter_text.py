"""How the rows of a first scenario are written: a comment above every number, then the number."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sim.scenario.catalogue import spec_for

WIDTH = 96  # columns of a comment


@dataclass(frozen=True)
class Row:
    """One key of a scenario.

    Parameters
    ----------
    key : str
        Dotted.
    value : object
        As a scenario has it.
    origin : str
        "given", "chosen", "assumed", with a word on why.
    measure : str
        How to find the true one; empty for a choice.
    """

    key: str
    value: Any
    origin: str
    measure: str = ""


def sections(rows: Iterable[Row], headings: dict[str, str]) -> list[str]:
    """Lines of all sections, in the order of the rows.

    Parameters
    ----------
    rows : iterable of Row
        Those of a section together.
    headings : dict
        What a section is, by its name.
    """
    lines: list[str] = []
    current = ""
    for row in rows:
        part, _, key = row.key.rpartition(".")
        if part != current:
            current = part
            lines += ["", *comment(headings.get(part, "")), f"[{part}]"]
        lines += [*comment(_about(row)), f"{key} = {toml_value(row.value)}"]
    return lines


def _about(row: Row) -> str:
    known = spec_for(row.key)
    what = known[3].doc if known is not None else ""
    text = f"{what[:1].upper()}{what[1:]}. {row.origin[:1].upper()}{row.origin[1:]}."
    return f"{text} To measure: {row.measure}." if row.measure else text


def comment(text: str) -> list[str]:
    """Comment lines of a text; none for an empty one."""
    return [f"# {line}" for line in textwrap.wrap(text, WIDTH - 2)]


def toml_value(value: Any) -> str:
    """Write a value as TOML, laws of chance in place."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {toml_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)
