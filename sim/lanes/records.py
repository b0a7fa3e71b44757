"""Records: the rows of a work array by name, `p.mass`."""

import difflib
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from llvmlite import ir
from numba import types
from numba.core import errors
from numba.core.typing.templates import AttributeTemplate, infer_getattr, signature
from numba.extending import (
    lower_getattr_generic,
    lower_setattr_generic,
    models,
    register_model,
)

from sim.lanes.arrays import read_lanes, write_lanes
from sim.lanes.building import compiled_by
from sim.lanes.types import Family, lane_type

WORK = types.Array(types.float64, 2, "C")


class Record(types.Type):
    """A work array of shape (fields, width) whose rows are read and written as p.name."""

    def __init__(self, title: str, fields: tuple[str, ...], width: int) -> None:
        self.title, self.fields, self.width = title, fields, width
        self._rows = {name: row for row, name in enumerate(fields)}
        super().__init__(name=f"{title}[{width}]")

    def offset(self, name: str) -> int:
        """Where the row of a field begins, in numbers."""
        return self._rows[name] * self.width

    @property
    def key(self) -> tuple[str, tuple[str, ...], int]:
        """What makes two records the same type."""
        return self.title, self.fields, self.width


@register_model(Record)
class _RecordModel(models.PrimitiveModel):
    def __init__(self, manager: Any, record: Record) -> None:
        # a bare pointer: a counted reference would be counted at every call (see lane_record)
        super().__init__(manager, record, ir.PointerType(ir.DoubleType()))


def lane_record(title: str, fields: Iterable[str]) -> Callable[[Any, Any], Any]:
    """Return a function view(lanes, array) that gives the rows of an array their names.

    The array is float64, C-ordered, of shape (len(fields), lanes.width); `p = view(lanes, array)`
    then reads and writes `p.name`. A name that is no field is an error that names it. `p` cannot
    be passed between Python and a kernel: pass the array, and look through it inside. It does not
    keep the array alive: the array must come into the kernel as an argument.

    Parameters
    ----------
    title : str
        What error messages call it.
    fields : iterable of str
        Names of the rows, in order; valid identifiers, no two alike.

    Raises
    ------
    ValueError
        If a name is no identifier or stands twice.
    """
    fields = tuple(fields)
    for name in fields:
        if not name.isidentifier() or fields.count(name) > 1:
            raise ValueError(f"{title}: field {name!r} stands twice or is no identifier")

    def view(lanes: Any, array: Any) -> Any:  # noqa: ARG001
        return _PythonRecord(title, fields, array)

    @compiled_by(view)
    def _rule(lanes: Any, array: Any) -> Any:
        if not isinstance(lanes, Family) or array != WORK:
            return None
        record = Record(title, fields, lanes.width)

        def generate(context: Any, builder: Any, _family: Any, work: Any) -> Any:
            _check_shape(context, builder, record, work)
            return context.make_array(WORK)(context, builder, work).data

        return signature(record, lanes, array), generate

    view.fields = fields  # type: ignore[attr-defined]
    return view


def _check_shape(context: Any, builder: Any, record: Record, work: Any) -> None:
    shape = context.make_array(WORK)(context, builder, work).shape
    wanted = (len(record.fields), record.width)
    wrong = [
        builder.icmp_unsigned("!=", builder.extract_value(shape, i), ir.Constant(ir.IntType(64), n))
        for i, n in enumerate(wanted)
    ]
    with builder.if_then(builder.or_(*wrong), likely=False):
        message = f"{record.title}: the array must have shape {wanted}"
        context.call_conv.return_user_exc(builder, ValueError, (message,))


def _field_error(title: str, fields: tuple[str, ...], name: str) -> str:
    near = difflib.get_close_matches(name, fields, 1)
    return f"{title} has no field '{name}'" + (f"; did you mean '{near[0]}'?" if near else "")


class _PythonRecord:
    """The same view in plain Python, at width 1."""

    _title: str
    _rows: dict[str, int]
    _array: np.ndarray[Any, np.dtype[np.float64]]

    def __init__(self, title: str, fields: tuple[str, ...], array: Any) -> None:
        if array.shape != (len(fields), 1):
            raise ValueError(f"{title}: the array must have shape ({len(fields)}, 1)")
        rows = {name: row for row, name in enumerate(fields)}
        self.__dict__.update(_title=title, _rows=rows, _array=array)

    def _row(self, name: str) -> int:
        if name not in self._rows:
            raise AttributeError(_field_error(self._title, tuple(self._rows), name))
        return self._rows[name]

    def __getattr__(self, name: str) -> Any:
        return self._array[self._row(name), 0]

    def __setattr__(self, name: str, value: Any) -> None:
        self._array[self._row(name), 0] = value


@infer_getattr
class _RecordFields(AttributeTemplate):
    key = Record

    def generic_resolve(self, record: Record, name: str) -> Any:  # type: ignore[override]
        if name not in record._rows:
            raise errors.TypingError(_field_error(record.title, record.fields, name))
        return lane_type("F", record.width)


def _field_address(builder: Any, record: Record, value: Any, name: str) -> Any:
    return builder.gep(value, [ir.Constant(ir.IntType(64), record.offset(name))])


@lower_getattr_generic(Record)
def _read_field(_context: Any, builder: Any, record: Record, value: Any, name: str) -> Any:
    address = _field_address(builder, record, value, name)
    return read_lanes(builder, address, lane_type("F", record.width))


@lower_setattr_generic(Record)
def _write_field(context: Any, builder: Any, sig: Any, args: Any, name: str) -> None:
    value = context.cast(builder, args[1], sig.args[1], lane_type("F", sig.args[0].width))
    write_lanes(builder, _field_address(builder, sig.args[0], args[0], name), value)
