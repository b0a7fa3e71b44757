"""Reading a scenario's layers: its base, the file itself, and what was set from outside.

A later layer overrides an earlier one, key by key. Each key remembers which layer it came from,
so that a mistake can be shown where it was made.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sim.errors import Mistake
from sim.scenario.catalogue import spec_for
from sim.scenario.declare import QuantitySpec, axis_table
from sim.scenario.toml_lines import Path as KeyPath
from sim.scenario.toml_lines import key_lines

SET_OPTION = "--set"
"""Named in place of a file for what was set from outside."""


@dataclass(frozen=True)
class Place:
    """Where a key was written: file as the user named it, line, folder for files it names."""

    file: str
    line: int | None
    folder: Path


@dataclass
class Merged:
    """All layers in one tree, with the place of every key."""

    tree: dict[str, Any] = field(default_factory=dict)
    places: dict[KeyPath, Place] = field(default_factory=dict)
    mistakes: list[Mistake] = field(default_factory=list)

    def place(self, path: KeyPath) -> Place | None:
        """Place of a key, or of the nearest table around it."""
        for depth in range(len(path), 0, -1):
            if path[:depth] in self.places:
                return self.places[path[:depth]]
        return None


@dataclass
class _Layer:
    tree: dict[str, Any]
    file: str
    folder: Path
    lines: dict[KeyPath, int]


def read_layers(path: str | os.PathLike[str], sets: Sequence[str]) -> Merged:
    """Read a scenario file, the files it is built on, and the settings from outside.

    Parameters
    ----------
    path : path-like
        The scenario file.
    sets : sequence of str
        "KEY=VALUE" each, a later one overriding an earlier one.

    Returns
    -------
    Merged
        With `mistakes` for files that cannot be read and settings that cannot be understood; if
        there are any the tree is not complete.
    """
    merged = Merged()
    for layer in _file_layers(Path(path), merged.mistakes):
        _merge(merged, layer)
    for text in sets:
        layer_or_mistake = _set_layer(text)
        if isinstance(layer_or_mistake, Mistake):
            merged.mistakes.append(layer_or_mistake)
        else:
            _merge(merged, layer_or_mistake)
    merged.tree.pop("base", None)
    return merged


def _file_layers(path: Path, mistakes: list[Mistake]) -> list[_Layer]:
    """Layers of a file, its deepest base first."""
    layers: list[_Layer] = []
    seen: list[Path] = []
    asked: tuple[str, int | None, str] | None = None  # file, line and name that led here
    while True:
        real = path.resolve()
        if real in seen:
            assert asked is not None
            chain = " -> ".join([*(p.name for p in seen), real.name])
            mistakes.append(Mistake(
                asked[0], asked[1], "base", f"the files build on one another in a ring: {chain}",
                "take base out of one of them",
            ))  # fmt: skip
            break
        seen.append(real)
        layer = _read_file(path, asked, mistakes)
        if layer is None:
            break
        layers.insert(0, layer)
        base = layer.tree.get("base")
        if base is None:
            break
        line = layer.lines.get(("base",))
        if not isinstance(base, str) or not base:
            mistakes.append(Mistake(
                layer.file, line, "base", f"{base!r} is no file name", 'write base = "other.toml"'
            ))  # fmt: skip
            break
        asked = (layer.file, line, base)
        path = layer.folder / base
    return layers


def _read_file(
    path: Path, asked: tuple[str, int | None, str] | None, mistakes: list[Mistake]
) -> _Layer | None:
    """Read and parse one file; a mistake in a base's name is shown where it was named."""
    text = read_text(path)
    if isinstance(text, FileTrouble):
        file, line, key = asked[0] if asked else str(path), asked[1] if asked else None, "base"
        found = f"{asked[2]}: {text.found}" if asked else text.found
        mistakes.append(Mistake(file, line, key if asked else "file", found, text.right))
        return None
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        mistakes.append(_toml_mistake(str(path), text, str(error)))
        return None
    return _Layer(tree, str(path), path.parent, key_lines(text))


@dataclass(frozen=True)
class FileTrouble:
    """Why a file could not be read, and what to do."""

    found: str
    right: str


def read_text(path: Path) -> str | FileTrouble:
    """Text of a file, or what is wrong with it."""
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except FileNotFoundError:
        return FileTrouble("there is no such file", _nearby(path))
    except IsADirectoryError:
        return FileTrouble("this is a folder", "name a file inside it")
    except UnicodeDecodeError as error:
        return FileTrouble(
            f"the file is not UTF-8 text (byte {error.start + 1})", "save it as UTF-8 plain text"
        )
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        return FileTrouble(
            f"the file cannot be read: {reason.lower()}", "check its name and your right to read it"
        )


def _nearby(path: Path) -> str:
    from difflib import get_close_matches

    try:
        names = [entry.name for entry in path.parent.iterdir() if entry.suffix == path.suffix]
    except OSError:
        return f"there is no folder {path.parent} either; check the path"
    near = get_close_matches(path.name, names, n=1, cutoff=0.6)
    return f'did you mean "{near[0]}"?' if near else "check the name and the folder"


_AT = re.compile(r"\s*\((?:at line (\d+), column (\d+)|at end of document)\)\s*$")


def _toml_mistake(file: str, text: str, message: str) -> Mistake:
    """Rewrite the TOML reader's complaint with its line and column."""
    match = _AT.search(message)
    if match is None:
        return Mistake(file, None, "TOML", message, "mend the TOML")
    what = message[: match.start()]
    if match[1] is None:
        line, where = text.rstrip("\n").count("\n") + 1, "at the end of the file"
    else:
        line, where = int(match[1]), f"at column {match[2]}"
    quoted = 'text and numbers with a unit stand in quotes: "0.3 deg"'
    hints = {
        "Invalid value": quoted,
        "Expected newline or end of document": quoted,
        "Expected ']'": "close the bracket",
        "Unclosed": "close the bracket",
        "Cannot overwrite a value": "the key is given twice: keep one",
        "Cannot declare": "the section is opened twice: join the two",
    }
    right = next((hint for start, hint in hints.items() if what.startswith(start)), "mend the TOML")
    return Mistake(file, line, "TOML", f"{what[0].lower()}{what[1:]} {where}", right)


def _set_layer(text: str) -> _Layer | Mistake:
    key, equals, value = text.partition("=")
    names = [name.strip() for name in key.split(".")]
    if not equals or not all(names):
        return Mistake(
            SET_OPTION, None, text or '""', "this is no setting",
            "write KEY=VALUE, such as launch_pad.tilt=0.3 deg",
        )  # fmt: skip
    tree: Any = _set_value(value.strip())
    for name in reversed(names):
        tree = {name: tree}
    return _Layer(tree, SET_OPTION, Path(), {})


def _set_value(text: str) -> Any:
    """Read a TOML value if it is one, else take the text itself."""
    if "\n" in text:
        return text
    try:
        value = tomllib.loads(f"value = {text}")
    except tomllib.TOMLDecodeError:
        return text
    plain = isinstance(value["value"], (str, int, float, bool, list, dict))
    return value["value"] if plain and set(value) == {"value"} else text


def _merge(merged: Merged, layer: _Layer) -> None:
    def place(path: KeyPath, index: KeyPath) -> None:
        merged.places[path] = Place(layer.file, layer.lines.get(index), layer.folder)

    def descend(old: dict[str, Any], new: dict[str, Any], path: KeyPath) -> None:
        for key, value in new.items():
            here: KeyPath = (*path, key)
            if key == "correlated" and not path and isinstance(value, list):
                group = old.setdefault(key, [])
                shift = len(group) if isinstance(group, list) else 0
                old[key] = [*(group if isinstance(group, list) else []), *value]
                for index in range(len(value)):
                    place((*here, shift + index), (*here, index))
                for inner in layer.lines:
                    if len(inner) > 2 and inner[0] == key and isinstance(inner[1], int):
                        place((key, shift + inner[1], *inner[2:]), inner)
                continue
            place(here, here)
            if isinstance(value, dict) and _is_table(here, value):
                _open_axes(old, key, here)
                if not isinstance(old.get(key), dict):
                    old[key] = {}
                descend(old[key], value, here)
            else:
                if key in old:  # what stood inside is gone
                    depth = len(here)
                    inside = [p for p in merged.places if p[:depth] == here and p != here]
                    for stale in inside:
                        del merged.places[stale]
                old[key] = value
                if isinstance(value, (list, dict)):
                    for inner in layer.lines:
                        if inner[: len(here)] == here and inner != here:
                            place(inner, inner)

    descend(merged.tree, layer.tree, ())


def _is_table(path: KeyPath, value: dict[str, Any]) -> bool:
    """Whether a table is merged key by key: a section, or the axes of a vector; not a law."""
    known = spec_for(".".join(map(str, path)))
    if known is None:
        return True
    spec = known[3]
    return isinstance(spec, QuantitySpec) and not known[2] and axis_table(spec, value)


def _open_axes(old: dict[str, Any], key: str, path: KeyPath) -> None:
    """Turn a vector given at once into its axes, so that one of them can be overridden."""
    known = spec_for(".".join(map(str, path)))
    if known is None or key not in old or not isinstance(known[3], QuantitySpec):
        return
    if not axis_table(known[3], old[key]):
        old[key] = dict.fromkeys(known[3].axes, old[key])
