"""Code for exact arithmetic."""

from typing import Any

from numba.core.typing.templates import signature

from sim.lanes.compiled.building import compiled_by, llvm_function
from sim.lanes.compiled.types import as_kind, kind_of, llvm_type
from sim.lanes.exact import (
    absolute,
    bits_of,
    copysign,
    float_of,
    floor,
    fma,
    sqrt,
    word_of,
)

llvm_function(sqrt, "sqrt", 1)
llvm_function(absolute, "fabs", 1)
llvm_function(floor, "floor", 1)
llvm_function(copysign, "copysign", 2)
llvm_function(fma, "fma", 3)


def _reinterpret(python_function: Any, from_kinds: str, to_kind: str) -> None:
    @compiled_by(python_function)
    def _rule(x: Any) -> Any:
        if kind_of(x) not in tuple(from_kinds):
            return None
        wanted = as_kind(x, kind_of(x))  # type: ignore[arg-type]
        result = as_kind(x, to_kind)
        return signature(result, wanted), lambda _, builder, v: builder.bitcast(
            v, llvm_type(result)
        )


_reinterpret(bits_of, "F", "I")
_reinterpret(float_of, "IU", "F")
_reinterpret(word_of, "IU", "U")
