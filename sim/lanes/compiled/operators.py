"""Arithmetic, bit operations and comparisons of lanes, written as usual in the source.

There are no `%`, `//` and `**` on lanes: they differ between Python, numba and the vector units.
"""

import operator
from collections.abc import Callable
from typing import Any

from llvmlite import ir
from numba.core.typing.templates import signature

from sim.lanes.compiled.building import compiled_by
from sim.lanes.compiled.types import LaneType, as_kind, common_type

Code = Callable[..., Any]


def _operator(operators: list[Any], code_by_kind: dict[str, Code], compares: bool = False) -> None:
    """Register a two-argument operator for the kinds of lanes that have code for it."""

    def rule(left: Any, right: Any) -> Any:
        if not isinstance(left, LaneType) and not isinstance(right, LaneType):
            return None  # plain numbers are numba's own business
        lane = common_type(left, right)
        if lane.kind not in code_by_kind:
            return None
        result = as_kind(lane, "M") if compares else lane
        code = code_by_kind[lane.kind]
        return signature(result, lane, lane), lambda _, builder, *values: code(builder, *values)

    compiled_by(*operators)(rule)


_build = ir.IRBuilder
_operator([operator.add, operator.iadd], {"F": _build.fadd, "I": _build.add, "U": _build.add})
_operator([operator.sub, operator.isub], {"F": _build.fsub, "I": _build.sub, "U": _build.sub})
_operator([operator.mul, operator.imul], {"F": _build.fmul, "I": _build.mul, "U": _build.mul})
_operator([operator.truediv, operator.itruediv], {"F": _build.fdiv})
_operator([operator.and_, operator.iand], dict.fromkeys("IUM", _build.and_))
_operator([operator.or_, operator.ior], dict.fromkeys("IUM", _build.or_))
_operator([operator.xor, operator.ixor], dict.fromkeys("IUM", _build.xor))
_operator([operator.lshift, operator.ilshift], dict.fromkeys("IU", _build.shl))
_operator([operator.rshift, operator.irshift], {"I": _build.ashr, "U": _build.lshr})


def _comparison(function: Any, symbol: str) -> None:
    # nan compares false with everything, except that nan != nan is true
    compare = "fcmp_unordered" if symbol == "!=" else "fcmp_ordered"
    code: dict[str, Code] = {
        "F": lambda builder, a, b: getattr(builder, compare)(symbol, a, b),
        "I": lambda builder, a, b: builder.icmp_signed(symbol, a, b),
        "U": lambda builder, a, b: builder.icmp_unsigned(symbol, a, b),
    }
    _operator([function], code, compares=True)


_comparison(operator.lt, "<")
_comparison(operator.le, "<=")
_comparison(operator.gt, ">")
_comparison(operator.ge, ">=")
_comparison(operator.eq, "==")
_comparison(operator.ne, "!=")


@compiled_by(operator.neg)
def _neg_rule(x: Any) -> Any:
    if not isinstance(x, LaneType) or x.kind not in "FI":
        return None
    negate = _build.fneg if x.kind == "F" else _build.neg
    return signature(x, x), lambda _, builder, value: negate(builder, value)


@compiled_by(operator.pos)
def _pos_rule(x: Any) -> Any:
    if not isinstance(x, LaneType) or x.kind not in "FI":
        return None
    return signature(x, x), lambda _, _builder, value: value
