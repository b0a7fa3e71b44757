"""How a plain Python function gets its compiled form."""

from collections.abc import Callable
from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.typing.templates import AbstractTemplate, infer_global, signature
from numba.extending import lower_builtin

from sim.lanes.compiled.types import LaneType, common_type, kind_of, llvm_type

Rule = Callable[..., tuple[Any, Callable[..., Any]] | None]


def compiled_by(python_function: Any, *more_functions: Any) -> Callable[[Rule], Rule]:
    """Give a Python function its compiled form, by a rule from argument types to code.

    rule(*types) returns None where it does not apply, else (signature, generate), where
    generate(context, builder, *values) returns the LLVM value.
    """

    def register(rule: Rule) -> Rule:
        for function in (python_function, *more_functions):

            class Template(AbstractTemplate):
                key = function

                def generic(self, args: Any, _kws: Any) -> Any:
                    found = rule(*args)
                    return found and found[0]

            infer_global(function, types.Function(Template))

            @lower_builtin(function, *[types.Any] * rule.__code__.co_argcount)
            def _lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
                found = rule(*sig.args)
                assert found is not None
                return found[1](context, builder, *args)

        return rule

    return register


def llvm_function(python_function: Any, name: str, arguments: int) -> None:
    """Compile a Python function to the LLVM operation of that name, for F and float64."""

    def found(*given: Any) -> tuple[Any, Callable[..., Any]] | None:
        ty = common_type(*given)

        def generate(_context: Any, builder: Any, *values: Any) -> Any:
            return builder.call(llvm_operation(builder, name, ty, arguments), values)

        return (signature(ty, *[ty] * arguments), generate) if kind_of(ty) == "F" else None

    rules: dict[int, Rule] = {
        1: lambda x: found(x),
        2: lambda x, y: found(x, y),
        3: lambda x, y, z: found(x, y, z),
    }
    compiled_by(python_function)(rules[arguments])


def llvm_operation(builder: Any, name: str, ty: Any, arguments: int) -> Any:
    """Declare an LLVM operation on F lanes or float64, in the module that is being built."""
    suffix = f"v{ty.width}f64" if isinstance(ty, LaneType) else "f64"
    shape = ir.FunctionType(llvm_type(ty), [llvm_type(ty)] * arguments)
    return cgutils.get_or_insert_function(builder.module, shape, f"llvm.{name}.{suffix}")


def items_of(builder: Any, value: Any) -> list[Any]:
    """Fields of a tuple; LLVM holds equal types as an array, unequal ones as a struct."""
    inside = value.type
    count = inside.count if isinstance(inside, ir.ArrayType) else len(inside.elements)
    return [builder.extract_value(value, i) for i in range(count)]
