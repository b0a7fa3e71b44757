"""Code for random numbers."""

from typing import Any

from numba import types
from numba.core.typing.templates import signature

from sim.lanes.compiled.building import compiled_by
from sim.lanes.compiled.types import common_type, constant, copy_to_lanes, kind_of
from sim.lanes.random import LEFT, LOW, OTHER_STEP, RIGHT, STEP, THIRTY_TWO, random_block


@compiled_by(random_block)
def _block_rule(c0: Any, c1: Any, c2: Any, c3: Any, k0: Any, k1: Any) -> Any:
    """Write out the ten rounds: LLVM leaves such a loop as it is, an eighth slower."""
    given = (c0, c1, c2, c3, k0, k1)
    if any(kind_of(ty) != "U" for ty in given):
        return None
    lane, key = common_type(*given), common_type(k0, k1)

    def number(value: Any, ty: Any = lane) -> Any:
        return constant(ty, int(value))

    def key_in_lanes(builder: Any, value: Any) -> Any:
        return value if key == lane else copy_to_lanes(builder, value, lane)

    def generate(context: Any, builder: Any, *values: Any) -> Any:
        c, keys = list(values[:4]), values[4:]
        for turn in range(10):
            left = builder.mul(builder.and_(c[0], number(LOW)), number(LEFT))
            right = builder.mul(builder.and_(c[2], number(LOW)), number(RIGHT))
            steps = (number(turn * int(step), key) for step in (STEP, OTHER_STEP))
            now = [
                key_in_lanes(builder, builder.add(*pair)) for pair in zip(keys, steps, strict=True)
            ]
            first = builder.xor(builder.lshr(right, number(THIRTY_TWO)), builder.xor(c[1], now[0]))
            third = builder.xor(builder.lshr(left, number(THIRTY_TWO)), builder.xor(c[3], now[1]))
            c = [first, right, third, left]
        return context.make_tuple(builder, types.UniTuple(lane, 4), c)

    return signature(types.UniTuple(lane, 4), *[lane] * 4, key, key), generate
