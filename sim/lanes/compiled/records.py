"""Code for records: the rows of a work array by name."""

from typing import Any

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

from sim.lanes import records
from sim.lanes.compiled.arrays import read_lanes, write_lanes
from sim.lanes.compiled.building import compiled_by
from sim.lanes.compiled.types import Family, lane_type
from sim.lanes.records import field_error

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


@infer_getattr
class _RecordFields(AttributeTemplate):
    key = Record

    def generic_resolve(self, record: Record, name: str) -> Any:  # type: ignore[override]
        if name not in record._rows:
            raise errors.TypingError(field_error(record.title, record.fields, name))
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


# ---- the functions that look at an array as a record ---------------------------------------------


def declare(view: Any) -> None:
    """Give what `lane_record` returned its compiled form."""
    title, fields = view.title, view.fields

    @compiled_by(view)
    def _rule(lanes: Any, array: Any) -> Any:
        if not isinstance(lanes, Family) or array != WORK:
            return None
        record = Record(title, fields, lanes.width)

        def generate(context: Any, builder: Any, _family: Any, work: Any) -> Any:
            _check_shape(context, builder, record, work)
            return context.make_array(WORK)(context, builder, work).data

        return signature(record, lanes, array), generate


records.declare_to(declare)
