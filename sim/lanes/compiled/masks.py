"""Code for conditions."""

from typing import Any

from llvmlite import ir
from numba import types
from numba.core import errors
from numba.core.typing.templates import signature

from sim.lanes.compiled.building import compiled_by, items_of
from sim.lanes.compiled.types import LaneType, common_type, kind_of
from sim.lanes.masks import any_lane, not_, where


@compiled_by(where)
def _where_rule(mask: Any, if_true: Any, if_false: Any) -> Any:
    if kind_of(mask) != "M":
        raise errors.TypingError(f"where() needs a mask (a comparison), not {mask}")
    if isinstance(if_true, types.BaseTuple):
        return _where_tuple(mask, if_true, if_false)
    result = common_type(if_true, if_false)
    if isinstance(mask, LaneType) and not isinstance(result, LaneType):
        result = LaneType(kind_of(result), mask.width)  # type: ignore[arg-type]
    return signature(result, mask, result, result), lambda _, builder, *v: builder.select(*v)


def _where_tuple(mask: Any, if_true: Any, if_false: Any) -> Any:
    if if_true != if_false:
        raise errors.TypingError(f"where() on tuples needs two of a type: {if_true}, {if_false}")

    def generate(context: Any, builder: Any, chooser: Any, a: Any, b: Any) -> Any:
        pairs = zip(items_of(builder, a), items_of(builder, b), strict=True)
        return context.make_tuple(builder, if_true, [builder.select(chooser, *x) for x in pairs])

    return signature(if_true, mask, if_true, if_false), generate


@compiled_by(not_)
def _not_rule(mask: Any) -> Any:
    if kind_of(mask) != "M":
        return None
    return signature(mask, mask), lambda _, builder, value: builder.not_(value)


@compiled_by(any_lane)
def _any_rule(mask: Any) -> Any:
    def generate(_context: Any, builder: Any, value: Any) -> Any:
        if not isinstance(mask, LaneType):
            return value
        bits = ir.IntType(mask.width)
        return builder.icmp_unsigned("!=", builder.bitcast(value, bits), ir.Constant(bits, 0))

    return (signature(types.boolean, mask), generate) if kind_of(mask) == "M" else None
