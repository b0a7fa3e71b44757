"""Writing a resolved scenario as TOML."""

from __future__ import annotations

import json
import re
from typing import Any

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+\Z")


def write_toml(tree: dict[str, Any]) -> str:
    """TOML text of a tree of tables, strings, numbers, flags and lists.

    Tables become sections; a table inside a list, or one that holds no table and stands for a
    number (`{ uniform = [...] }`), is written inline. Reading the text gives the same tree.
    """
    lines: list[str] = []
    _section(tree, (), lines)
    return "\n".join(lines).strip("\n") + "\n"


def _section(table: dict[str, Any], path: tuple[str, ...], lines: list[str]) -> None:
    inner = {key: value for key, value in table.items() if _is_section(path, key, value)}
    plain = {key: value for key, value in table.items() if key not in inner}
    if path and (plain or not inner):
        lines += ["", f"[{'.'.join(map(_key, path))}]"]
    for key, value in plain.items():
        lines.append(f"{_key(key)} = {_value(value)}")
    for key, value in inner.items():
        _section(value, (*path, key), lines)


def _is_section(path: tuple[str, ...], key: str, value: object) -> bool:
    """Whether a table is written as a section: those at the top and the parts inside a part."""
    if not isinstance(value, dict):
        return False
    from sim.scenario.catalogue import PARTS

    return not path or ".".join((*path, key)) in PARTS


def _key(key: str) -> str:
    return key if _BARE_KEY.match(key) else json.dumps(key)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        inside = ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, (list, tuple)):
        items = [_value(item) for item in value]
        if items and isinstance(value[0], (list, dict)):  # rows of a table, one a line
            return "[\n" + "".join(f"  {item},\n" for item in items) + "]"
        return "[" + ", ".join(items) + "]"
    if isinstance(value, str):
        # JSON's escapes are TOML's, but for the solidus, which it does not use, and DEL
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    return repr(value)
