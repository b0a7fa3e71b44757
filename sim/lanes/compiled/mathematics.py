"""Code for polynomials."""

from typing import Any

from numba import types
from numba.core.typing.templates import signature

from sim.lanes.compiled.building import compiled_by, items_of, llvm_operation
from sim.lanes.compiled.types import LaneType, common_type, copy_to_lanes, kind_of
from sim.lanes.mathematics import polynomial


@compiled_by(polynomial)
def _polynomial_rule(x: Any, coefficients: Any) -> Any:
    floats = isinstance(coefficients, types.UniTuple) and coefficients.dtype == types.float64
    if kind_of(x) != "F" or not floats:
        return None
    x = common_type(x)

    def generate(_context: Any, builder: Any, value: Any, numbers: Any) -> Any:
        multiply_add = llvm_operation(builder, "fma", x, 3)
        terms = items_of(builder, numbers)
        if isinstance(x, LaneType):
            terms = [copy_to_lanes(builder, term, x) for term in terms]
        total = terms[0]
        for term in terms[1:]:
            total = builder.call(multiply_add, [total, value, term])
        return total

    return signature(x, x, coefficients), generate
