"""From the merged tree of what was written to every number that a flight uses.

All mistakes are collected, so that a person sees them at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Any

from sim.errors import Mistake
from sim.scenario.amounts import Amount, AmountProblem, read_amount
from sim.scenario.catalogue import PARTS, TOP_KEYS, nearest_key, sub_parts
from sim.scenario.correlated import Correlated, read_groups
from sim.scenario.crosschecks import View, crosschecks
from sim.scenario.curves import read_curve
from sim.scenario.declare import (
    Curve,
    CurveSpec,
    FieldProblems,
    Part,
    Quantity,
    QuantitySpec,
    Spec,
    read_quantity_field,
)
from sim.scenario.fault_chances import Chance, fault_mistakes, link_faults
from sim.scenario.layers import Merged, Place
from sim.scenario.linked import link_legs, link_surface
from sim.scenario.numbers import Number
from sim.scenario.success import Limit, read_limit

OFF = "none"
"""What a section is set to when it is to be absent, though its base has it."""


@dataclass
class Resolved:
    """Everything a scenario says, as far as it could be read, and all mistakes."""

    title: str
    numbers: dict[str, Number] = field(default_factory=dict)
    choices: dict[str, str | int | bool] = field(default_factory=dict)
    curves: dict[str, Curve] = field(default_factory=dict)
    correlated: tuple[Correlated, ...] = ()
    success: tuple[Limit, ...] = ()
    parts: frozenset[str] = frozenset()
    chances: dict[str, Chance] = field(default_factory=dict)
    mistakes: list[Mistake] = field(default_factory=list)


def resolve(merged: Merged, name: str, known_curves: Mapping[str, Curve] | None = None) -> Resolved:
    """Check a merged tree and fill in what is not given.

    Parameters
    ----------
    merged : Merged
        All layers in one tree.
    name : str
        The scenario file, for mistakes that stand nowhere in particular.
    known_curves : mapping, optional
        Curves that were read before, taken as they are if the tree holds their rows.
    """
    return _Resolver(merged, name, known_curves or {}).run()


class _Resolver:
    def __init__(self, merged: Merged, name: str, known_curves: Mapping[str, Curve]) -> None:
        self.merged = merged
        self.tree = merged.tree
        self.name = name
        self.known_curves = known_curves
        self.broken: set[str] = set()
        self.out = Resolved(title=Path(name).stem)

    def run(self) -> Resolved:
        self.top_level()
        self.out.parts = frozenset(part for part in PARTS if self.present(part))
        for part, model in PARTS.items():
            self.part(part, model)
        self.link_tick()
        if "legs" in self.out.parts:
            link_surface(self.out.numbers, self.out.choices)
            link_legs(self.out.numbers, self.out.choices)
        self.success()
        self.correlated()
        self.cross()
        out = self.out
        out.chances = link_faults(out.numbers, out.choices, out.parts)
        return self.out

    def report(self, path: tuple[str | int, ...], found: str, right: str, key: str = "") -> None:
        place = self.merged.place(path) or Place(self.name, None, Path())
        shown = key or ".".join(
            f"[{item + 1}]" if isinstance(item, int) else item for item in path
        ).replace(".[", "[")
        self.out.mistakes.append(Mistake(place.file, place.line, shown, found, right))

    # sections

    def top_level(self) -> None:
        for key, value in self.tree.items():
            if key not in TOP_KEYS and key not in PARTS:
                kind = "unknown section" if isinstance(value, dict) else "unknown key"
                self.report((key,), kind, nearest_key((key,)))
        title = self.tree.get("title", self.out.title)
        if isinstance(title, str):
            self.out.title = title
        else:
            self.report(("title",), f"{title!r} is no text", 'write title = "..."')
        stratum = self.tree.get("stratum", 0)
        if isinstance(stratum, bool) or not isinstance(stratum, int):
            self.report(("stratum",), f"{stratum!r}", "write a whole number")
        else:
            self.out.choices["stratum"] = stratum

    def raw(self, part: str) -> object:
        """Return what stands for a part, or None."""
        node: Any = self.tree
        for name in part.split("."):
            node = node.get(name) if isinstance(node, dict) else None
        return node

    def present(self, part: str) -> bool:
        raw = self.raw(part)
        return not PARTS[part].optional or (raw is not None and raw != OFF)

    def part(self, part: str, model: type[Part]) -> None:
        path = tuple(part.split("."))
        raw = self.raw(part)
        if raw == OFF and model.optional:
            raw = None
        if raw is None:
            kept = self.validate(part, model, {}) if not model.optional else {}
        elif isinstance(raw, dict):
            kept = self.validate(part, model, raw)
        else:
            right = f"write a section [{part}]"
            right += f', or "{OFF}" to take it out' if model.optional else ""
            self.report(path, f"{raw!r} is no section", right)
            return
        self.fill(part, model, kept, self.present(part))

    def validate(self, part: str, model: type[Part], raw: dict[str, Any]) -> dict[str, Any]:
        """Values of a section that could be read, by key; what could not is reported."""
        path = tuple(part.split("."))
        inner, specs = sub_parts(part), model.specs()
        kept: dict[str, Any] = {}
        for key, spec in specs.items():
            if key in raw:
                try:
                    kept[key] = self.read_key(part, model, key, spec, raw[key])
                except FieldProblems as wrong:
                    for axis, problem in wrong.problems:
                        here = (*path, key, axis) if axis else (*path, key)
                        self.report(here, problem.found, problem.right)
                    self.broken.add(f"{part}.{key}")
            elif spec.required:
                self.report((*path, key), "missing", _wanted(model, key))
                self.broken.add(f"{part}.{key}")
        for key in raw:
            if key not in specs and key not in inner:
                self.report((*path, key), "unknown key", nearest_key((*path, key)))
                self.broken.add(f"{part}.{key}")
        return kept

    def read_key(self, part: str, model: type[Part], key: str, spec: Spec, raw: object) -> Any:
        """Read what was written for one key.

        Raises
        ------
        FieldProblems
        """
        if isinstance(spec, QuantitySpec):
            return read_quantity_field(spec, raw)
        if isinstance(spec, CurveSpec):
            found = self.read_curve(f"{part}.{key}", spec, raw)
            if isinstance(found, AmountProblem):
                raise FieldProblems([("", found)])
            return found
        if not model.allows(key, raw):
            raise FieldProblems([("", AmountProblem(_say(raw), _allowed(model, key, raw)))])
        return raw

    def read_curve(self, name: str, spec: CurveSpec, raw: object) -> Curve | AmountProblem:
        known = self.known_curves.get(name)
        if known is not None and known.rows is raw:
            return known
        place = self.merged.place(tuple(name.split(".")))
        return read_curve(spec, raw, place.folder if place else Path())

    # numbers

    def fill(self, part: str, model: type[Part], kept: dict[str, Any], present: bool) -> None:
        """Numbers, choices and curves of a part, given or defaulted."""
        for key, spec in model.specs().items():
            name = f"{part}.{key}"
            if name in self.broken:
                continue
            if isinstance(spec, QuantitySpec):
                self.quantity(part, key, spec, kept.get(key), present)
            elif isinstance(spec, CurveSpec):
                if isinstance(kept.get(key), Curve):
                    self.out.curves[name] = kept[key]
            else:
                value = kept.get(key, spec.default if present else spec.absent)
                if value is not None:
                    self.out.choices[name] = value

    def quantity(
        self, part: str, key: str, spec: QuantitySpec, given: Quantity | None, present: bool
    ) -> None:
        default, believed = _defaults(part, key, present)
        path = (*part.split("."), key)
        for axis in spec.axes or ("",):
            amount = None
            if given is not None:
                amount = given.amounts.get(axis, given.amounts.get(""))
            place = self.merged.place((*path, axis) if axis else path) if amount else None
            source = spec.source if present else f"there is no [{part}]"
            used = amount or default
            if used is None:  # a required key that is missing, reported already
                continue
            name = ".".join((*path, axis) if axis else path)
            if used.believed is not None:
                belief = used.believed
            else:
                belief = used.value if believed is None else believed
            if place is not None:
                file = Path(place.file).name  # the same wherever the folder lies
                source = file if place.line is None else f"{file}, line {place.line}"
            self.out.numbers[name] = Number(
                name, spec.dimension.unit, used.value, used.law, belief, amount is not None,
                source, place.line if place else None, spec.doc,
            )  # fmt: skip

    def link_tick(self) -> None:
        """Make the tick one over the control rate: whichever is given sets the other."""
        numbers = self.out.numbers
        tick, rate = numbers.get("flight.tick"), numbers.get("flight_computer.control_rate")
        if tick is None or rate is None:
            return
        if not tick.given:
            numbers[tick.name] = _derived(tick, rate)
        elif not rate.given:
            numbers[rate.name] = _derived(rate, tick)

    # what concerns the whole

    def success(self) -> None:
        raw = self.tree.get("success")
        if raw is None:
            if "legs" in self.out.parts:  # without a word, success is feet first
                self.out.success = (read_limit("first_contact", "foot"),)
            return
        if not isinstance(raw, dict):
            self.report(("success",), f"{raw!r} is no section", "write a section [success]")
            return
        limits = []
        for variable, text in raw.items():
            if text == OFF and variable != "first_contact":
                continue
            try:
                limits.append(read_limit(variable, text))
            except AmountProblem as problem:
                self.report(("success", variable), problem.found, problem.right)
        self.out.success = tuple(limits)

    def correlated(self) -> None:
        groups = self.tree.get("correlated", [])

        def may_drop(name: str, index: int) -> bool:
            number = self.merged.place(tuple(name.split(".")))
            group = self.merged.place(("correlated", index))
            given = self.out.numbers[name].given
            return given and number is not None and group is not None and number.file != group.file

        self.out.correlated = read_groups(
            groups, self.out.numbers, self.broken, may_drop, self.report
        )

    def cross(self) -> None:
        out = self.out
        view = View(out.numbers, out.choices, out.curves, out.parts, out.success)
        for key, found, right in (*crosschecks(view), *fault_mistakes(view)):
            if key not in self.broken:
                self.report(tuple(key.split(".")), found, right)


@cache
def _defaults(part: str, key: str, present: bool) -> tuple[Amount | None, float | None]:
    """Default amount of a key, and what is believed of it unless told."""
    spec = PARTS[part].specs()[key]
    assert isinstance(spec, QuantitySpec)
    believed = None
    if spec.believed is not None:
        believed = read_amount(spec.believed, spec.dimension).value
    if present:
        if spec.default is None:
            return None, believed
        return read_amount(spec.default, spec.dimension, spec.sign), believed
    raw = spec.absent if spec.absent is not None else spec.default
    amount = read_amount(raw, spec.dimension)
    from sim.scenario.laws import Law

    return Amount(Law("fixed", (amount.value,)), amount.value), believed


def _derived(number: Number, other: Number) -> Number:
    from dataclasses import replace

    from sim.scenario.laws import Law

    value = 1 / other.value
    law = Law("fixed", (value,))
    return replace(number, value=value, law=law, believed=value, source=f"one over {other.name}")


def _wanted(model: type[Part], key: str) -> str:
    spec = model.specs()[key]
    if isinstance(spec, QuantitySpec):
        return f'write {key} = "{spec.dimension.examples[0]}" ({spec.doc})'
    if isinstance(spec, CurveSpec):
        return f'write {key} = "FILE.csv" ({spec.doc})'
    return f"write {key} = {_say(spec.default) if spec.default is not None else 4} ({spec.doc})"


def _allowed(model: type[Part], key: str, raw: object) -> str:
    words = model.words(key)
    if words:
        near = get_close_matches(str(raw), words, n=1, cutoff=0.6)
        hint = f'did you mean "{near[0]}"? ' if near else ""
        return f"{hint}write one of " + ", ".join(f'"{word}"' for word in words)
    return "write true or false" if model.is_flag(key) else "write a whole number"


def _say(raw: object) -> str:
    if isinstance(raw, bool):
        return "true" if raw else "false"
    return f'"{raw}"' if isinstance(raw, str) else str(raw)
