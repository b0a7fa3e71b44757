"""Code for tuples of lanes."""

from typing import Any

from numba import types
from numba.core import errors
from numba.core.typing.templates import signature

from sim.lanes.compiled.building import compiled_by, items_of, llvm_operation
from sim.lanes.compiled.types import common_type
from sim.lanes.states import add_scaled


@compiled_by(add_scaled)
def _add_scaled_rule(state: Any, factor: Any, slope: Any) -> Any:  # noqa: ARG001
    tuples = isinstance(state, types.BaseTuple) and isinstance(slope, types.BaseTuple)
    if not tuples or len(state) != len(slope):
        raise errors.TypingError(f"add_scaled() needs two tuples of equal length: {state}, {slope}")
    lane = common_type(*state, *slope)

    def generate(context: Any, builder: Any, values: Any, scale: Any, slopes: Any) -> Any:
        pairs = zip(items_of(builder, values), items_of(builder, slopes), strict=True)
        multiply_add = llvm_operation(builder, "fma", lane, 3)
        moved = [builder.call(multiply_add, (scale, dx, x)) for x, dx in pairs]
        return context.make_tuple(builder, state, moved)

    if not set(state) == {lane} == set(slope):
        return None
    return signature(state, state, lane, slope), generate
