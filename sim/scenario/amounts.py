"""One number as a person writes it: a quantity, its law of chance, and what the vehicle believes.

What is understood, for a key whose dimension is a length:

    "0.56 m"                                    fixed
    "0.56 m +/- 3 mm"   "0.56 m +/- 2 %"        normal, one standard deviation
    { normal = ["0.56 m", "3 mm"] }             and the other laws of `sim.scenario.laws`
    { value = "0.56 m +/- 3 mm", believed = "0.57 m" }

A per cent spread of a quantity with a unit is of its value. For a plain number it is of the value
when that was written without per cent and is not zero ("1.2 +/- 5 %"), and an amount in its own
right otherwise ("0 +/- 1 %", "30 % +/- 2 %").
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from sim.scenario.dimensions import DIMENSIONS, Dimension
from sim.scenario.laws import Law
from sim.scenario.units import UnitProblem, conversion, with_article

SIGNS = {
    "any": "",
    "positive": "above zero",
    "non_negative": "zero or more",
    "share": "between 0 and 1",
}
"""Constraint on a quantity, and how a message says it."""


class AmountProblem(ValueError):
    """A number that is not understood; what was found and what would be right, for one key."""

    def __init__(self, found: str, right: str) -> None:
        super().__init__(f"{found}; {right}")
        self.found = found
        self.right = right


@dataclass(frozen=True)
class Amount:
    """A number in SI: its law, its nominal value, and the belief if one is given."""

    law: Law
    value: float
    believed: float | None = None


@dataclass(frozen=True)
class Reading:
    """One quantity as read from text: SI value and whether it was written in per cent."""

    value: float
    percent: bool
    unit: str


_QUANTITY = re.compile(
    r"\s*(?P<number>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
    r"(?P<unit>\s*[^\d\s.].*|\s+1/.*)?\s*$"
)
_BARE_UNITS = {"%", "percent", "ppm"}


def read_amount(raw: object, dimension: Dimension, sign: str = "any") -> Amount:
    """Read one number of a scenario.

    Parameters
    ----------
    raw : object
        As it stands in TOML: a string, a bare number, or a table that names a law.
    dimension : Dimension
        What the key expects.
    sign : str
        One of `SIGNS`.

    Raises
    ------
    AmountProblem
        With what was found and what would be right.
    """
    if isinstance(raw, dict) and ("value" in raw or "believed" in raw):
        return _with_belief(raw, dimension, sign)
    if isinstance(raw, dict):
        law = _law_table(raw, dimension)
    elif isinstance(raw, str) and ("+/-" in raw or "±" in raw):
        law = _plus_minus(raw, dimension)
    else:
        law = Law("fixed", (read_quantity(raw, dimension).value,))
    amount = Amount(law, law.nominal())
    _check_sign(raw, amount.law, sign)
    return amount


def _with_belief(raw: dict[str, Any], dimension: Dimension, sign: str) -> Amount:
    right = f'write {{ value = "{dimension.examples[0]}", believed = "{dimension.examples[0]}" }}'
    if set(raw) != {"value", "believed"}:
        raise AmountProblem(f"a table with {_listing(raw)}", right)
    if isinstance(raw["value"], dict) and "value" in raw["value"]:
        raise AmountProblem("a value inside a value", right)
    truth = read_amount(raw["value"], dimension, sign)
    belief = read_amount(raw["believed"], dimension, sign)
    if belief.law.varies:
        raise AmountProblem(
            f"believed = {_show(raw['believed'])} is uncertain",
            "the vehicle believes one number: write it without a spread",
        )
    return Amount(truth.law, truth.value, belief.value)


def read_quantity(raw: object, dimension: Dimension, difference: bool = False) -> Reading:
    """Read one quantity without a spread, such as "74 mm".

    Parameters
    ----------
    raw : object
        A string, or a bare number where the dimension is a plain number.
    dimension : Dimension
        What is expected.
    difference : bool
        A spread: for a temperature "3 degC" then means 3 K.

    Raises
    ------
    AmountProblem
        With what was found and what would be right.
    """
    examples = " or ".join(f'"{text}"' for text in dimension.examples)
    expected = with_article(dimension.name)
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        raise AmountProblem(_show(raw), f"write {expected}, such as {examples}")
    if not isinstance(raw, str):
        return Reading(_bare(float(raw), dimension), False, "")
    match = _QUANTITY.match(raw)
    if match is None:
        found = f"{_show(raw)} is not a number"
        raise AmountProblem(found, f"write {expected}, such as {examples}")
    number = float(match["number"])
    unit = (match["unit"] or "").strip()
    if not unit:
        return Reading(_bare(number, dimension), False, "")
    try:
        factor, offset = conversion(unit, dimension.unit, difference)
    except UnitProblem as problem:
        right = f"{expected} is expected here, such as {examples}"
        if problem.right:
            raise AmountProblem(
                f"{_show(raw)}: {problem.found}", f"{problem.right} ({right})"
            ) from None
        raise AmountProblem(f"{_show(raw)}: {problem.found}", right) from None
    value = number * factor + offset
    if not math.isfinite(value):
        raise AmountProblem(_show(raw), f"write a finite number, such as {examples}")
    return Reading(value, unit in _BARE_UNITS, unit)


def _bare(number: float, dimension: Dimension) -> float:
    if not math.isfinite(number):
        example = dimension.examples[0]
        raise AmountProblem(str(number), f'write a finite number, such as "{example}"')
    if dimension.unit == "1":
        return number
    unit = dimension.examples[0].split(" ", 1)[1]
    expected = with_article(dimension.name)
    raise AmountProblem(
        f"{number:g} has no unit",
        f'write {expected} with its unit: "{number:g} {unit}" if {unit} is meant',
    )


def _plus_minus(raw: str, dimension: Dimension) -> Law:
    parts = re.split(r"\+/-|±", raw)
    if len(parts) != 2 or not all(part.strip() for part in parts):
        example = "15 degC +/- 3 K" if dimension.unit == "K" else f"{dimension.examples[0]} +/- 2 %"
        raise AmountProblem(_show(raw), f'write a value and one spread, such as "{example}"')
    centre = read_quantity(parts[0], dimension)
    if re.search(r"(%|percent)\s*$", parts[1]) and dimension.unit != "1":
        if centre.value == 0 or dimension.name == "temperature":
            what = "a scale's zero" if dimension.name == "temperature" else "zero"
            raise AmountProblem(
                f"{_show(raw)}: a share of {what} says nothing",
                f'write the spread with its unit, such as "{dimension.examples[0]}"',
            )
        spread = abs(centre.value) * read_quantity(parts[1], DIMENSIONS["number"]).value
    else:
        reading = read_quantity(parts[1], dimension, difference=True)
        of_value = reading.percent and not centre.percent and centre.value != 0
        spread = abs(centre.value) * reading.value if of_value else reading.value
    return Law("normal", (centre.value, _spread(raw, spread)))


def _spread(raw: object, spread: float) -> float:
    if spread < 0:
        raise AmountProblem(f"{_show(raw)} has a negative spread", "write a spread of zero or more")
    return spread


_SHAPES = {
    "normal": ("mean", "standard deviation"),
    "truncated_normal": ("mean", "standard deviation", "low", "high"),
    "half_normal": ("standard deviation",),
    "uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
    "lognormal": ("median", "standard deviation of the logarithm"),
    "chance": ("probability",),
    "tests": ('"0 of 25"',),
    "sign": ("magnitude",),
    "choice": ("values",),
    "empirical": ("values",),
}
"""Laws that a table may name, with their parameters."""


def _law_table(raw: dict[str, Any], dimension: Dimension) -> Law:
    names = [name for name in raw if name != "weights"]
    if len(names) != 1 or names[0] not in _SHAPES:
        raise AmountProblem(f"a table with {_listing(raw)}", _nearest_law(names))
    kind = names[0]
    if "weights" in raw and kind != "choice":
        raise AmountProblem(f"weights beside {kind}", "weights belong to a choice only")
    if kind in ("choice", "empirical"):
        return _value_list(kind, raw, dimension)
    if kind == "tests":
        return _tested(raw, dimension)
    shape = _SHAPES[kind]
    given = raw[kind]
    items = given if isinstance(given, list) else [given]
    if len(items) != len(shape) or (isinstance(given, list) and len(shape) == 1):
        raise AmountProblem(f"{kind} = {_show(given)}", f"write {_template(kind)}")
    p = tuple(_parameter(item, role, dimension) for item, role in zip(items, shape, strict=True))
    wrong = _wrong_parameters(kind, p)
    if wrong:
        raise AmountProblem(f"{_show(raw)} has {wrong}", f"write {_template(kind)}")
    if kind == "chance" and dimension.unit != "1":
        raise AmountProblem(
            f"{_show(raw)}: a chance draws 0 or 1", f"this key is {with_article(dimension.name)}"
        )
    return Law(kind, p)


def _tested(raw: dict[str, Any], dimension: Dimension) -> Law:
    """Chance from tests: mean of the posterior of a chance of which nothing was known before.

    With a flat prior it is Laplace's (failures + 1) / (tests + 2): none seen is not never.
    """
    if dimension.unit != "1":
        raise AmountProblem(
            f"{_show(raw)}: tests give a chance", f"this key is {with_article(dimension.name)}"
        )
    found = re.fullmatch(r"\s*(\d+)\s+of\s+(\d+)\s*", str(raw["tests"]))
    right = 'write { tests = "0 of 25" }: how many failed, of how many'
    if found is None:
        raise AmountProblem(_show(raw), right)
    failures, tests = int(found[1]), int(found[2])
    if failures > tests or tests == 0:
        raise AmountProblem(f"{_show(raw)}: more failed than were made", right)
    return Law("chance", ((failures + 1) / (tests + 2), float(failures), float(tests)))


def _parameter(item: object, role: str, dimension: Dimension) -> float:
    if role in ("standard deviation of the logarithm", "probability"):
        return read_quantity(item, DIMENSIONS["number"]).value
    return read_quantity(item, dimension, role == "standard deviation").value


def _wrong_parameters(kind: str, p: tuple[float, ...]) -> str:
    """Say what keeps the parameters from making a law; an empty string if nothing does."""
    if kind in ("normal", "truncated_normal", "lognormal") and p[1] < 0:
        return "a negative spread"
    if kind in ("half_normal", "sign") and p[0] < 0:
        return "a negative spread"
    if kind == "truncated_normal":
        return "no spread" if p[1] == 0 else "low not below high" if p[2] >= p[3] else ""
    if kind == "uniform" and p[0] >= p[1]:
        return "low not below high"
    if kind == "triangular" and not (p[0] <= p[1] <= p[2] and p[0] < p[2]):
        return "values out of order"
    if kind == "lognormal" and p[0] <= 0:
        return "a median not above zero"
    if kind == "chance" and not 0 <= p[0] <= 1:
        return "a probability outside 0 to 1"
    return ""


def _value_list(kind: str, raw: dict[str, Any], dimension: Dimension) -> Law:
    items = raw[kind]
    example = f'write {{ {kind} = ["{dimension.examples[0]}", "{dimension.examples[-1]}"] }}'
    if not isinstance(items, list) or not items:
        raise AmountProblem(f"{kind} = {_show(items)}", example)
    values = tuple(read_quantity(item, dimension).value for item in items)
    if kind == "empirical":
        return Law(kind, tuple(sorted(values)))
    weights = raw.get("weights", [1] * len(values))
    numeric = isinstance(weights, list) and all(
        isinstance(w, (int, float)) and not isinstance(w, bool) and 0 <= w < math.inf
        for w in weights
    )
    if not numeric or len(weights) != len(values) or sum(weights) <= 0:
        raise AmountProblem(
            f"weights = {_show(weights)}",
            f"write one weight of zero or more for each of {len(values)} values",
        )
    total = sum(weights)
    return Law(kind, values, tuple(w / total for w in weights))


def _nearest_law(names: list[str]) -> str:
    from difflib import get_close_matches

    known = ", ".join(_SHAPES)
    if len(names) == 1:
        near = get_close_matches(names[0], _SHAPES, n=1, cutoff=0.5)
        if near:
            return f'did you mean "{near[0]}"? Known laws: {known}'
    return f"write one law, one of {known}"


def _template(kind: str) -> str:
    shape = _SHAPES[kind]
    inside = ", ".join(shape)
    body = inside if len(shape) == 1 else f"[{inside}]"
    return f"{{ {kind} = {body} }} with the numbers in order"


def _check_sign(raw: object, law: Law, sign: str) -> None:
    """Refuse a number, or a law, that reaches outside what the key allows."""
    if sign == "any":
        return
    low, high = _range(law)
    # an end of a continuous range is never drawn, so zero may be the end of a positive one
    touches = sign == "positive" and low == 0 and law.kind not in _CONTINUOUS
    if low < 0 or touches or (sign == "share" and high > 1):
        fixed = law.kind in ("fixed", "normal", "lognormal")
        found = f"is not {SIGNS[sign]}" if fixed else f"reaches from {low:g} to {high:g} in SI"
        raise AmountProblem(f"{_show(raw)} {found}", f"it must be {SIGNS[sign]}")
    if law.kind == "normal" and law.parameters[0] - 4 * law.parameters[1] < -1e-12:
        raise AmountProblem(
            f"{_show(raw)} is below zero within four standard deviations",
            f"it must be {SIGNS[sign]}: write a smaller spread, or "
            "{ truncated_normal = [mean, standard deviation, low, high] }",
        )


_CONTINUOUS = ("truncated_normal", "half_normal", "uniform", "triangular", "lognormal")


def _range(law: Law) -> tuple[float, float]:
    """Least and largest draw; of a normal or lognormal law the middle, its tails being long."""
    p = law.parameters
    if law.kind in ("normal", "lognormal"):
        return p[0], p[0]
    if law.kind == "half_normal":
        return 0.0, 0.0
    if law.kind == "sign":
        return -p[0], p[0]
    if law.kind == "truncated_normal":
        return p[2], p[3]
    if law.kind == "chance":
        return 0.0, 1.0
    return min(p), max(p)


def write_law(law: Law, unit: str) -> str | dict[str, Any]:
    """Write a law as a scenario states it, in SI; `read_amount` gives back the same law."""

    def say(x: float) -> str:
        return f"{x!r} {unit}" if unit != "1" else repr(x)

    p = law.parameters
    if law.kind == "fixed":
        return say(p[0])
    if law.kind == "chance":
        return {"tests": f"{p[1]:.0f} of {p[2]:.0f}"} if len(p) == 3 else {"chance": p[0]}
    if law.kind == "lognormal":
        return {"lognormal": [say(p[0]), repr(p[1])]}
    if law.kind in ("half_normal", "sign"):
        return {law.kind: say(p[0])}
    table: dict[str, Any] = {law.kind: [say(x) for x in p]}
    if law.kind == "choice":
        table["weights"] = list(law.weights)
    return table


def _show(raw: object) -> str:
    """Say what was found, short enough for a message."""
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, dict):
        text = "{ " + ", ".join(f"{key} = {_show(value)}" for key, value in raw.items()) + " }"
    elif isinstance(raw, list):
        text = "[" + ", ".join(map(_show, raw)) + "]"
    else:
        text = f'"{raw}"' if isinstance(raw, str) else str(raw)
    return text if len(text) <= 70 else text[:66] + " ..."


def _listing(raw: dict[str, Any]) -> str:
    return ", ".join(f'"{key}"' for key in raw) if raw else "nothing in it"
