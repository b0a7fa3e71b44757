"""How a part of a scenario declares its keys, and how pydantic is made to read them.

A part is a class of fields; each field says what it is in one line:

    mass: Quantity = quantity("mass", sign="positive", doc="without propellant")
    law: Literal["power", "log"] = choice("power", doc="how the wind grows with height")
    curve: Curve = curve_file(("time", "s"), ("thrust", "N"), doc="as logged")

The same declarations feed the checks, the defaults, the documentation and the tests.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

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
    spec = QuantitySpec(DIMENSIONS[dimension], default, absent, sign, believed, axes, doc, source)
    return _field(spec, spec.required)


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
    return _field(ChoiceSpec(default, off, doc, source), default is None)


def curve_file(*columns: tuple[str, str], required: bool = False, doc: str) -> Any:
    """Declare a table of numbers kept in a CSV file: names and units of its columns."""
    return _field(CurveSpec(columns, required, doc), required)


def _field(spec: Spec, required: bool) -> Any:
    extra: dict[str, Any] = {"spec": spec}
    if required:
        return Field(..., json_schema_extra=extra)
    default = spec.default if isinstance(spec, ChoiceSpec) else None
    return Field(default=default, json_schema_extra=extra)


def spec_of(field: FieldInfo) -> Spec:
    """Return the declaration behind a pydantic field."""
    extra = field.json_schema_extra
    assert isinstance(extra, dict)
    spec = extra["spec"]
    assert isinstance(spec, (QuantitySpec, ChoiceSpec, CurveSpec))
    return spec


class Part(BaseModel):
    """Base of all parts: strict types, no unknown keys, nothing changes afterwards."""

    model_config = ConfigDict(
        strict=True, extra="forbid", frozen=True, arbitrary_types_allowed=True
    )

    optional: ClassVar[bool] = True

    @classmethod
    def specs(cls) -> dict[str, Spec]:
        """Return the declarations by key, in the order in which they are written."""
        return {name: spec_of(field) for name, field in cls.model_fields.items()}

    @field_validator("*", mode="before")
    @classmethod
    def _read(cls, raw: Any, info: ValidationInfo) -> Any:
        """Turn what was written into a `Quantity` or a `Curve`; leave choices to pydantic."""
        name = str(info.field_name)
        spec = spec_of(cls.model_fields[name])
        if isinstance(spec, CurveSpec):
            assert info.context is not None
            found = info.context["read_curve"](name, spec, raw)
            if isinstance(found, AmountProblem):
                raise _problems([("", found)])
            return found
        if isinstance(spec, QuantitySpec):
            return read_quantity_field(spec, raw)
        return raw


def axis_table(spec: QuantitySpec, raw: object) -> bool:
    """Whether `raw` gives each axis of a vector apart."""
    return bool(spec.axes) and isinstance(raw, dict) and any(key in spec.axes for key in raw)


def read_quantity_field(spec: QuantitySpec, raw: object) -> Quantity:
    """Read what was written for a quantity.

    Raises
    ------
    PydanticCustomError
        Whose context holds a list of (axis, problem) under "problems".
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
        raise _problems(problems)
    return Quantity(amounts)


def _problems(problems: list[tuple[str, AmountProblem]]) -> PydanticCustomError:
    return PydanticCustomError("scenario", "not understood", {"problems": problems})
