"""Pages of the guide: what can be read off the program is read off it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from rich.table import Table
from rich.text import Text

from sim.errors import UserMistake
from sim.report.guide_pages import (
    BOUNDS,
    CAUTIONS,
    FRAMES,
    GLOSSARY,
    SURE,
    SURE_OF_WHAT,
    WRITTEN,
)
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from sim.scenario import KeyRow


def topics(found: Mapping[str, str]) -> Text:
    """List the topics."""
    return steps([(f"setdown guide {topic}", what) for topic, what in found.items()])


def nearest(kind: str, given: str, known: Iterable[str]) -> str:
    """Say that something is not known, and what may have been meant."""
    names = list(known)
    near = get_close_matches(given, names, n=1, cutoff=0.5)
    hint = f'did you mean "{near[0]}"?' if near else f"known are {', '.join(names)}"
    return f'there is no {kind} "{given}"; {hint}'


def parts(topic: str, section: str | None) -> Iterator[Any]:
    """Text and tables of one topic.

    Raises
    ------
    UserMistake
        An unknown section, or a section where there are none.
    """
    if section is not None and topic != "scenario":
        raise UserMistake(f'"{topic}" has no sections; leave out "{section}"')
    if topic == "scenario":
        yield from _scenario(section)
    elif topic == "outcomes":
        yield from _outcomes()
    elif topic == "glossary":
        yield _two_columns("term", "what is meant", GLOSSARY)
    elif topic == "sure":
        yield Text(flowing(SURE))
        yield ""
        yield _two_columns("bounds of", "are those of", BOUNDS)
        yield ""
        yield Text(flowing(SURE_OF_WHAT))
    elif topic == "frames":
        yield Text(flowing(FRAMES), no_wrap=False)
    else:
        yield Text(flowing(CAUTIONS))


def flowing(text: str) -> str:
    """Join the lines of each paragraph, so that the screen's width breaks them; drawings stay."""
    joined: list[str] = []
    for block in text.split("\n\n"):
        lines = block.splitlines()
        if any("   " in line for line in lines):
            joined.append(block)
            continue
        whole: list[str] = []
        for line in lines:
            if whole and line.startswith("  "):
                whole[-1] += " " + line.strip()
            elif whole and not line.startswith("- "):
                whole[-1] += " " + line
            else:
                whole.append(line)
        joined.append("\n".join(whole))
    return "\n\n".join(joined)


def _two_columns(one: str, other: str, rows: Mapping[str, str]) -> Table:
    table = new_table([one, other], left=2)
    table.columns[1].no_wrap = False
    for name, meaning in rows.items():
        table.add_row(name, meaning)
    return table


def as_object(topic: str, section: str | None) -> dict[str, Any]:
    """Return the same for scripts."""
    if topic == "scenario":
        return {"keys": [asdict(row) for row in _keys(section)]}
    if topic == "outcomes":
        from sim.ensemble.registry import OUTCOMES

        return {"outcomes": [
            {"name": v.name, "units": v.units, "meaning": v.long_name} for v in OUTCOMES.values()
        ]}  # fmt: skip
    if topic == "glossary":
        return dict(GLOSSARY)
    if topic == "sure":
        return {"text": flowing(SURE), "bounds": dict(BOUNDS), "of_what": flowing(SURE_OF_WHAT)}
    return {"text": {"frames": FRAMES, "cautions": flowing(CAUTIONS)}[topic]}


def _keys(section: str | None) -> list[KeyRow]:
    from sim.scenario import describe_keys

    rows = describe_keys()
    if section is None:
        return rows
    chosen = [row for row in rows if row.key.rpartition(".")[0] == section]
    if not chosen:
        raise UserMistake(nearest("section", section, _sections(rows)))
    return chosen


def _sections(rows: Iterable[KeyRow]) -> list[str]:
    return list(dict.fromkeys(row.key.rpartition(".")[0] for row in rows))


def _scenario(section: str | None) -> Iterator[Any]:
    rows = _keys(section)
    if section is None:
        yield Text(WRITTEN)
    for name in _sections(rows):
        inside = [row for row in rows if row.key.rpartition(".")[0] == name]
        yield ""
        yield titled(f"[{name}]", _table(inside))
    yield ""
    yield Text("* has to be given. Any number may be a law of chance.", style="dim")


def _table(rows: Iterable[KeyRow]) -> Table:
    table = new_table(["key", "unit", "default", "meaning"], left=4)
    for place in (2, 3):
        table.columns[place].no_wrap = False
    for row in rows:
        name = row.key.rpartition(".")[2] + (" *" if row.required else "")
        axes = f" Axes {', '.join(row.axes)}." if row.axes else ""
        allowed = f" {row.allowed[0].upper()}{row.allowed[1:]}." if row.allowed else ""
        default = "" if row.required or row.default is None else _written(row.default)
        table.add_row(name, row.unit, default, f"{row.doc}{_stop(row.doc)}{allowed}{axes}")
    return table


def _written(value: Any) -> str:
    """A default as a scenario has it, without the braces."""
    if isinstance(value, Mapping):
        return "; ".join(f"{kind}: {_written(given)}" for kind, given in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(map(_written, value))
    return str(value)


def _stop(text: str) -> str:
    return "" if text.endswith(".") else "."


def _outcomes() -> Iterator[Any]:
    from sim.ensemble.registry import OUTCOMES

    table = new_table(["variable", "unit", "meaning"], left=3)
    table.columns[2].no_wrap = False
    for variable in OUTCOMES.values():
        flags = f": {', '.join(variable.flags)}" if variable.flags else ""
        table.add_row(variable.name, variable.units, f"{variable.long_name}{flags}")
    yield titled("Results of each flight", table)
    yield ""
    yield Text("NaN where a result does not apply. Inputs stand beside, as drawn.", style="dim")
