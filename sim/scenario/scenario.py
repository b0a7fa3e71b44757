"""A scenario as the rest of the program sees it."""

from __future__ import annotations

import copy
import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import ScenarioMistakes, UserMistake
from sim.scenario.amounts import AmountProblem, read_amount, read_quantity, write_law
from sim.scenario.catalogue import PARTS, spec_for
from sim.scenario.correlated import Correlated, correlation_matrix
from sim.scenario.declare import ChoiceSpec, Curve, QuantitySpec, axis_table
from sim.scenario.fault_chances import Chance
from sim.scenario.faults import FAULTS
from sim.scenario.laws import Law
from sim.scenario.layers import Merged, Place, read_layers
from sim.scenario.numbers import Number
from sim.scenario.resolve import OFF, Resolved, resolve
from sim.scenario.success import Limit
from sim.scenario.toml_write import write_toml

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FROM_CODE = "with_values"
"""Named in place of a file for what was set from Python."""


@dataclass(frozen=True, eq=False)
class Scenario:
    """Everything that flights of one scenario share; never changed, only replaced.

    Parameters
    ----------
    title : str
    path : Path
        The file it was read from.
    numbers : mapping of str to Number
        Every number by dotted name, given or defaulted, in SI.
    choices : mapping
        Every word, whole number and flag.
    curves : mapping of str to ndarray (n, columns)
        Tables, SI, read-only: thrust curves as logged (s, N), wind profile (m, m/s, rad),
        coefficients (rad, 1, 1, m).
    correlated : tuple of Correlated
    success : tuple of Limit
    parts : frozenset of str
        Sections that are present; see `has`.
    chances : mapping of str to Chance
        Of the faults that the scenario has, by name.
    """

    title: str
    path: Path
    numbers: Mapping[str, Number]
    choices: Mapping[str, str | int | bool]
    curves: Mapping[str, NDArray[np.float64]]
    correlated: tuple[Correlated, ...]
    success: tuple[Limit, ...]
    parts: frozenset[str]
    chances: Mapping[str, Chance]
    _merged: Merged = field(repr=False)
    _curves: Mapping[str, Curve] = field(repr=False)

    def has(self, part: str) -> bool:
        """Whether a part is present; the numbers of an absent one are there but do nothing.

        Parts that every flight has (site, vehicle, aerodynamics, launch_pad, flight) are always
        present.

        Raises
        ------
        KeyError
            If no part has that name.
        """
        if part not in PARTS:
            raise KeyError(part)
        return part in self.parts

    @cached_property
    def text(self) -> str:
        """TOML that gives this scenario alone: base and settings merged, curves written out."""
        tree = {key: value for key, value in self._merged.tree.items() if value != OFF}
        tree.pop("correlated", None)
        tree = {"title": self.title, **tree}
        if self.correlated:
            tree["correlated"] = [
                {"numbers": list(group.names), "correlation": group.correlation}
                for group in self.correlated
            ]
        # plain keys before the first section
        return write_toml(dict(sorted(tree.items(), key=lambda item: isinstance(item[1], dict))))

    @cached_property
    def digest(self) -> str:
        """SHA-256, in hexadecimal, of all that decides how flights go.

        Comments, blanks, the order of keys, the unit in which a number was written, file names,
        times and title leave it as it is.
        """
        content = {
            "numbers": {
                name: [number.value, _law_key(number.law), number.believed]
                for name, number in self.numbers.items()
            },
            "choices": dict(self.choices),
            "parts": sorted(self.parts),
            "curves": {
                name: hashlib.sha256(curve.astype("<f8").tobytes()).hexdigest()
                for name, curve in self.curves.items()
            },
            "success": sorted(
                [s.variable, s.low, s.high, s.flag, s.low_included, s.high_included]
                for s in self.success
            ),
            "correlated": _correlation_key(self.correlated),
        }
        text = json.dumps(content, sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()

    def correlation_matrix(self) -> tuple[tuple[str, ...], NDArray[np.float64]]:
        """Names that are drawn together and their matrix; see `correlated.correlation_matrix`."""
        return correlation_matrix(self.correlated)

    def with_faults(self, forced: Sequence[str], mixed: bool = False) -> Scenario:
        """Make the same scenario with these faults happening in every flight, and no others.

        Parameters
        ----------
        forced : sequence of str
            Names of `sim.scenario.faults.FAULTS`, whether the scenario has a section for them or
            not.
        mixed : bool
            The others happen by their chances.

        Raises
        ------
        UserMistake
            For an unknown fault, with the nearest known one.
        ScenarioMistakes
            For a fault of a part that the vehicle does not have.
        """
        tree = copy.deepcopy(_without_curves(self._merged.tree))
        merged = Merged(tree, dict(self._merged.places))
        for name, curve in self._curves.items():
            _put(merged.tree, tuple(name.split(".")), curve.rows)
        for name in forced:
            if name not in FAULTS:
                near = get_close_matches(name, FAULTS, n=1, cutoff=0.3)
                raise UserMistake(f'there is no fault "{name}"; did you mean "{near[0]}"?' if near
                                  else f'no fault "{name}"; known are {", ".join(FAULTS)}')
        for name in FAULTS:
            if name in forced or self.has(f"faults.{name}"):
                _write(merged, ("faults", name, "forced"), name in forced)
        _write(merged, ("faults", "mixed"), mixed)
        return _build(self.path, merged, self._curves)

    def with_values(self, values: Mapping[str, float | int | bool | str]) -> Scenario:
        """Make the same scenario with some values replaced.

        Parameters
        ----------
        values : mapping
            By name: a number in SI, or text as a scenario has it ("0.3 deg"). "NAME.spread" sets
            the standard deviation of the law of NAME (see `Law.with_spread`). A vector's name
            gives each axis plus or minus the value, the sign drawn per flight. A word, whole
            number or flag may be replaced too. What the vehicle believes changes only with a
            number that it can know and for which no belief was given.

        Raises
        ------
        UserMistake
            For an unknown name, with the nearest known one, or a value that is not allowed.
        """
        tree = copy.deepcopy(_without_curves(self._merged.tree))
        merged = Merged(tree, dict(self._merged.places))
        for name, curve in self._curves.items():
            _put(merged.tree, tuple(name.split(".")), curve.rows)
        spreads = {name: v for name, v in values.items() if name.endswith(".spread")}
        for name, value in values.items():
            if name not in spreads:
                _set_value(self, merged, name, value)
        for name, value in spreads.items():
            _set_spread(self, merged, name, value)
        return _build(self.path, merged, self._curves)


def load_scenario(path: str | os.PathLike[str], sets: Sequence[str] = ()) -> Scenario:
    """Read and check a scenario.

    Parameters
    ----------
    path : path-like
        TOML file; it may build on another (`base = "other.toml"`, relative to it).
    sets : sequence of str
        "KEY=VALUE" each, as from the command line; they override the file. A key may also be
        "NAME.spread", as in `Scenario.with_values`.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioMistakes
        With all mistakes at once, each with file, line, key, what was found, what would be right.
    """
    spreads = dict(filter(None, map(_spread_setting, sets)))
    merged = read_layers(path, [text for text in sets if _spread_setting(text) is None])
    if merged.mistakes:
        raise ScenarioMistakes(merged.mistakes)
    scenario = _build(Path(path), merged, {})
    return scenario.with_values(spreads) if spreads else scenario


def _spread_setting(text: str) -> tuple[str, str] | None:
    """Name and value of a setting that concerns a spread ("launch_pad.tilt.spread=1 deg")."""
    key, _, value = text.partition("=")
    known = spec_for(key.strip().removesuffix(".spread"))
    if not key.strip().endswith(".spread") or known is None:
        return None
    return key.strip(), value.strip().strip("\"'")


def _build(path: Path, merged: Merged, known: Mapping[str, Curve]) -> Scenario:
    found: Resolved = resolve(merged, str(path), known)
    if found.mistakes:
        ordered = sorted(found.mistakes, key=lambda m: (m.file != str(path), m.file, m.line or 0))
        raise ScenarioMistakes(ordered)
    for name, curve in found.curves.items():
        _put(merged.tree, tuple(name.split(".")), curve.rows)
    arrays = {name: curve.array for name, curve in found.curves.items()}
    return Scenario(
        found.title, path, found.numbers, found.choices, arrays, found.correlated, found.success,
        found.parts, found.chances, merged, found.curves,
    )  # fmt: skip


def _law_key(law: Law) -> list[Any]:
    return [law.kind, list(law.parameters), list(law.weights)]


def _correlation_key(groups: Sequence[Correlated]) -> list[Any]:
    names, matrix = correlation_matrix(groups)
    return [list(names), matrix.tolist()]


def _without_curves(tree: dict[str, Any]) -> dict[str, Any]:
    """Leave out tables, which are large and need no copy."""
    return {
        key: {inner: item for inner, item in value.items() if not _is_rows(item)}
        if isinstance(value, dict)
        else value
        for key, value in tree.items()
    }


def _is_rows(item: object) -> bool:
    return isinstance(item, list) and bool(item) and isinstance(item[0], list)


def _put(tree: dict[str, Any], path: tuple[str, ...], value: object) -> None:
    for name in path[:-1]:
        tree = tree.setdefault(name, {})
    tree[path[-1]] = value


def _get(tree: Any, path: tuple[str, ...]) -> Any:
    for name in path:
        tree = tree.get(name) if isinstance(tree, dict) else None
    return tree


def _target(scenario: Scenario, name: str) -> tuple[str, str, QuantitySpec | ChoiceSpec]:
    """Part, axis and declaration of a name, or a mistake with the nearest one."""
    known = spec_for(name)
    if known is None or not isinstance(known[3], (QuantitySpec, ChoiceSpec)):
        names = [*scenario.numbers, *scenario.choices]
        near = get_close_matches(name, names, n=1, cutoff=0.4)
        same = [full for full in names if full.endswith("." + name.rpartition(".")[2])]
        hint = f'; did you mean "{(near or same)[0]}"?' if near or same else ""
        raise UserMistake(f'the scenario has no number "{name}"{hint}')
    part, axis, spec = known[0], known[2], known[3]
    if not scenario.has(part):
        raise UserMistake(f'"{name}" cannot be set: the scenario has no [{part}]; add that section')
    return part, axis, spec


def _set_value(scenario: Scenario, merged: Merged, name: str, value: float | bool | str) -> None:
    _, axis, spec = _target(scenario, name)
    if isinstance(spec, ChoiceSpec):
        _write(merged, tuple(name.split(".")), value)
        return
    if spec.axes and not axis:
        magnitude = abs(_number(name, spec, value, difference=False))
        for each in spec.axes:
            _replace(merged, f"{name}.{each}", spec, write_law(_sign(magnitude), _unit(spec)))
        return
    raw: object = value
    if not isinstance(value, str):
        raw = write_law(Law("fixed", (_number(name, spec, value, difference=False),)), _unit(spec))
    _replace(merged, name, spec, raw)


def _set_spread(scenario: Scenario, merged: Merged, name: str, value: float | bool | str) -> None:
    name = name.removesuffix(".spread")
    _, axis, spec = _target(scenario, name)
    if isinstance(spec, ChoiceSpec):
        raise UserMistake(f'"{name}" is no quantity and has no spread')
    spread = _number(name + ".spread", spec, value, difference=True)
    if spread < 0:
        raise UserMistake(f'"{name}.spread" is below zero: write a spread of zero or more')
    for full in [f"{name}.{each}" for each in spec.axes] if spec.axes and not axis else [name]:
        raw = _written(merged, full, spec)
        law = scenario.numbers[full].law if raw is None else read_amount(raw, spec.dimension).law
        try:
            wider = law.with_spread(spread)
        except ValueError as error:
            raise UserMistake(f'"{full}.spread" cannot be set: {error}') from None
        _replace(merged, full, spec, write_law(wider, _unit(spec)))


def _sign(magnitude: float) -> Law:
    return Law("sign", (magnitude,)) if magnitude else Law("fixed", (0.0,))


def _unit(spec: QuantitySpec) -> str:
    return spec.dimension.unit


def _number(name: str, spec: QuantitySpec, value: float | bool | str, difference: bool) -> float:
    """Read a number in SI, or text with a unit."""
    if isinstance(value, str):
        try:
            return read_quantity(value, spec.dimension, difference).value
        except AmountProblem as problem:
            raise UserMistake(f"{name}: {problem}") from None
    return float(value)


def _written(merged: Merged, name: str, spec: QuantitySpec) -> Any:
    """Return what the tree holds for a number, or None if it is a default."""
    path = tuple(name.split("."))
    raw = _get(merged.tree, path)
    if raw is None and spec.axes:
        whole = _get(merged.tree, path[:-1])
        raw = None if axis_table(spec, whole) else whole
    return raw


def _replace(merged: Merged, name: str, spec: QuantitySpec, raw: Any) -> None:
    """Put a value in the tree, beside the belief that was given with the old one."""
    old = _written(merged, name, spec)
    told = isinstance(raw, dict) and "believed" in raw
    if isinstance(old, dict) and "believed" in old and not told:
        raw = {"value": raw, "believed": old["believed"]}
    path = tuple(name.split("."))
    if spec.axes:
        whole = _get(merged.tree, path[:-1])
        if whole is not None and not axis_table(spec, whole):
            _put(merged.tree, path[:-1], dict.fromkeys(spec.axes, whole))
    _write(merged, path, raw)


def _write(merged: Merged, path: tuple[str, ...], raw: object) -> None:
    _put(merged.tree, path, raw)
    merged.places[path] = Place(FROM_CODE, None, Path())
