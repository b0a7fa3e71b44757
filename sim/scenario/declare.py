"""How a part of a scenario declares its keys, and how what was written for a key is read.

A part is a class of fields; each field says what it is in one line:

    mass: Quantity = quantity("mass", sign="positive", doc="without propellant")
    law: Literal["power", "log"] = choice("power", doc="how the wind grows with height")
    curve: Curve = curve_file(("time", "s"), ("thrust", "N"), doc="as logged")

The same declarations feed the checks, the defaults, the documentation and the tests.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, get_args, get_type_hints

from sim.scenario.amounts import Amount, AmountProblem, read_amount
from sim.scenario.dimensions import DIMENSIONS, Dimension

CHOSEN = "chosen"
"""Source of a default that is a matter of taste."""

Raw = str | float | dict[str, Any] | None


class Quantity:
    """What a quantity field holds once read: one amount, or one for each axis that was given."""

    def __init__(self, amounts: Mapping[str, Amount]) -> None:
        self.amounts = dict(amounts)


class Curve:
    """What a curve field holds once read: the rows as written and the rows in SI."""

    def __init__(self, rows: list[list[float]], array: Any, source: str) -> None:
        self.rows = rows
        self.array = array
        self.source = source


@dataclass(frozen=True)
class QuantitySpec:
    """Declaration of a quantity.

    Parameters
    ----------
    dimension : Dimension
        What it measures.
    default : str, dict or None
        As a scenario would write it; None if the key must be given.
    absent : str, dict or None
        What holds when the whole part is absent, so that it has no effect; None takes the nominal
        value of the default.
    sign : str
        See `sim.scenario.amounts.SIGNS`.
    believed : str or None
        What the vehicle takes for true unless told: for errors that nobody on board can know.
        None: it knows the nominal value.
    axes : str
        "xyz" or "yz" for one number on each axis, else empty.
    doc, source : str
        One line of documentation; where the default comes from.
    """

    dimension: Dimension
    default: Raw
    absent: Raw
    sign: str
    believed: str | None
    axes: str
    doc: str
    source: str

    @property
    def required(self) -> bool:
        """Whether the key must be given when its part is present."""
        return self.default is None


@dataclass(frozen=True)
class ChoiceSpec:
    """Declaration of a setting that is no quantity: a word, a whole number, yes or no."""

    default: str | int | bool | None
    absent: str | int | bool
    doc: str
    source: str

    @property
    def required(self) -> bool:
        """Whether the key must be given when its part is present."""
        return self.default is None


@dataclass(frozen=True)
class CurveSpec:
    """Declaration of a table read from a file, or written in place as rows."""

    columns: tuple[tuple[str, str], ...]
    required: bool
    doc: str


Spec = QuantitySpec | ChoiceSpec | CurveSpec


def quantity(
    dimension: str,
    default: Raw = None,
    *,
    absent: Raw = None,
    sign: str = "any",
    believed: str | None = None,
    axes: str = "",
    doc: str,
    source: str = "",
) -> Any:
    """Declare a quantity; see `QuantitySpec`."""
    return QuantitySpec(DIMENSIONS[dimension], default, absent, sign, believed, axes, doc, source)


def choice(
    default: str | int | bool | None,
    *,
    absent: str | int | bool | None = None,
    doc: str,
    source: str = CHOSEN,
) -> Any:
    """Declare a word, whole number or flag; a default of None means that it must be given."""
    off = absent if absent is not None else default
    if off is None:
        raise TypeError("a required choice must say what holds when its part is absent")
    return ChoiceSpec(default, off, doc, source)


def curve_file(*columns: tuple[str, str], required: bool = False, doc: str) -> Any:
    """Declare a table of numbers kept in a CSV file: names and units of its columns."""
    return CurveSpec(columns, required, doc)


class Part:
    """Base of all parts: a class whose fields are declarations. It is read, never made."""

    optional: ClassVar[bool] = True
    _specs: ClassVar[dict[str, Spec]] = {}

    def __init_subclass__(cls) -> None:
        """Collect the declarations, those of a base first."""
        own = {name: spec for name, spec in vars(cls).items() if isinstance(spec, Spec)}
        cls._specs = cls._specs | own

    @classmethod
    def specs(cls) -> dict[str, Spec]:
        """Return the declarations by key, in the order in which they are written."""
        return cls._specs

    @classmethod
    def words(cls, key: str) -> tuple[str, ...]:
        """Return the words that a choice allows; none for a flag or a whole number."""
        return get_args(get_type_hints(cls)[key])

    @classmethod
    def is_flag(cls, key: str) -> bool:
        """Whether a choice is yes or no."""
        return get_type_hints(cls)[key] is bool

    @classmethod
    def allows(cls, key: str, raw: object) -> bool:
        """Whether a choice may be what was written: nothing is converted."""
        words = cls.words(key)
        if words:
            return isinstance(raw, str) and raw in words
        return isinstance(raw, bool) if cls.is_flag(key) else type(raw) is int


class FieldProblems(ValueError):
    """What was written for a key is not understood: a problem for each axis, or for axis ""."""

    def __init__(self, problems: list[tuple[str, AmountProblem]]) -> None:
        super().__init__(problems)
        self.problems = problems


def axis_table(spec: QuantitySpec, raw: object) -> bool:
    """Whether `raw` gives each axis of a vector apart."""
    return bool(spec.axes) and isinstance(raw, dict) and any(key in spec.axes for key in raw)


def read_quantity_field(spec: QuantitySpec, raw: object) -> Quantity:
    """Read what was written for a quantity.

    Raises
    ------
    FieldProblems
    """
    amounts: dict[str, Amount] = {}
    problems: list[tuple[str, AmountProblem]] = []
    items: dict[str, object] = {"": raw}
    if isinstance(raw, dict) and axis_table(spec, raw):
        items = dict(raw)
    for axis, item in items.items():
        try:
            if axis and axis not in tuple(spec.axes):
                known = ", ".join(spec.axes)
                raise AmountProblem(f'unknown axis "{axis}"', f"the axes are {known}")
            amounts[axis] = read_amount(item, spec.dimension, spec.sign)
        except AmountProblem as problem:
            problems.append((axis, problem))
    if problems:
        raise FieldProblems(problems)
    return Quantity(amounts)
