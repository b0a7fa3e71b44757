"""Code for moving values between arrays and lanes."""

from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils, errors
from numba.core.typing.templates import signature

from sim.lanes.arrays import gather, lane_numbers, load, spread, store
from sim.lanes.compiled.building import compiled_by
from sim.lanes.compiled.types import (
    SCALARS,
    Family,
    LaneType,
    as_kind,
    common_type,
    constant,
    copy_to_lanes,
    kind_of,
    lane_type,
    llvm_type,
)


@compiled_by(spread)
def _spread_rule(lanes: Any, x: Any) -> Any:
    kind = kind_of(x)
    if not isinstance(lanes, Family) or not kind:
        return None
    result, scalar = lane_type(kind, lanes.width), SCALARS[kind]

    def generate(context: Any, builder: Any, _family: Any, value: Any) -> Any:
        return context.cast(builder, value, scalar, result)

    return signature(result, lanes, scalar), generate


@compiled_by(lane_numbers)
def _lane_numbers_rule(lanes: Any) -> Any:
    if not isinstance(lanes, Family):
        return None
    lane = lane_type("U", lanes.width)
    count = list(range(lanes.width)) if lanes.width > 1 else 0
    return signature(lane, lanes), lambda *_: ir.Constant(llvm_type(lane), count)


@compiled_by(load)
def _load_rule(lanes: Any, array: Any, row: Any) -> Any:
    if not isinstance(lanes, Family) or not isinstance(row, types.Integer):
        return None
    lane = lane_type(kind_of(_work_array(array).dtype), lanes.width)  # type: ignore[arg-type]

    def generate(context: Any, builder: Any, _family: Any, work: Any, index: Any) -> Any:
        return read_lanes(builder, _row_address(context, builder, array, work, index), lane)

    return signature(lane, lanes, array, types.intp), generate


@compiled_by(store)
def _store_rule(array: Any, row: Any, values: Any) -> Any:
    if kind_of(values) != kind_of(_work_array(array).dtype) or not isinstance(row, types.Integer):
        return None
    values = as_kind(values, kind_of(values))  # type: ignore[arg-type]

    def generate(context: Any, builder: Any, work: Any, index: Any, value: Any) -> Any:
        write_lanes(builder, _row_address(context, builder, array, work, index), value)
        return context.get_dummy_value()

    return signature(types.none, array, types.intp, values), generate


@compiled_by(gather)
def _gather_rule(table: Any, index: Any) -> Any:
    if table != types.Array(types.float64, 1, "C", readonly=not getattr(table, "mutable", True)):
        raise errors.TypingError(
            f"gather() reads contiguous one-dimensional float64 arrays, not {table}"
        )
    if kind_of(index) not in ("I", "U"):
        raise errors.TypingError(f"gather() needs whole-number lanes as index, not {index}")
    index_type = common_type(index)
    result = as_kind(index_type, "F")

    def generate(context: Any, builder: Any, array: Any, where_to: Any) -> Any:
        view = context.make_array(table)(context, builder, array)
        last = builder.sub(builder.extract_value(view.shape, 0), ir.Constant(ir.IntType(64), 1))
        if isinstance(index_type, LaneType):
            last = copy_to_lanes(builder, last, index_type)
        inside = builder.icmp_unsigned("<", where_to, last)  # a negative index counts as huge
        where_to = builder.select(inside, where_to, last)
        if isinstance(index_type, LaneType):
            return _gather_lanes(builder, view.data, where_to, index_type)
        return builder.load(builder.gep(view.data, [where_to]))

    return signature(result, table, index_type), generate


def _gather_lanes(builder: Any, data: Any, index: Any, index_type: LaneType) -> Any:
    base = copy_to_lanes(builder, builder.ptrtoint(data, ir.IntType(64)), index_type)
    addresses = builder.add(base, builder.shl(index, constant(index_type, 3)))
    width = index_type.width
    pointers = ir.VectorType(ir.PointerType(ir.DoubleType()), width)
    mask, vector = ir.VectorType(ir.IntType(1), width), ir.VectorType(ir.DoubleType(), width)
    shape = ir.FunctionType(vector, [pointers, ir.IntType(32), mask, vector])
    name = f"llvm.masked.gather.v{width}f64.v{width}p0"
    operation = cgutils.get_or_insert_function(builder.module, shape, name)
    arguments = [builder.inttoptr(addresses, pointers), ir.Constant(ir.IntType(32), 8)]
    everywhere = ir.Constant(mask, [1] * width)
    return builder.call(operation, [*arguments, everywhere, ir.Constant(vector, ir.Undefined)])


def _work_array(ty: Any) -> Any:
    numbers = (types.float64, types.int64, types.uint64)
    if isinstance(ty, types.Array) and (ty.ndim, ty.layout) == (2, "C") and ty.dtype in numbers:
        return ty
    raise errors.TypingError(
        f"lanes live in C-ordered (rows, width) arrays of 8-byte numbers, not in {ty}"
    )


def _row_address(context: Any, builder: Any, array_type: Any, array: Any, row: Any) -> Any:
    view = context.make_array(array_type)(context, builder, array)
    return builder.gep(view.data, [builder.mul(row, builder.extract_value(view.shape, 1))])


def read_lanes(builder: Any, address: Any, lane: Any) -> Any:
    """Emit a load of lanes from an address that need not be aligned to the vector."""
    value = builder.load(builder.bitcast(address, ir.PointerType(llvm_type(lane))))
    value.align = 8
    return value


def write_lanes(builder: Any, address: Any, value: Any) -> None:
    """Emit a store of lanes to an address that need not be aligned to the vector."""
    builder.store(value, builder.bitcast(address, ir.PointerType(value.type))).align = 8
