"""How typed inner functions become LLVM code: numba's way, without the questions asked again.

Figures are shares of numba's own work on the flight kernel, about 180 functions at width 8.
"""

from functools import partial
from typing import Any

from numba.core import config, ir
from numba.core.compiler_machinery import register_pass
from numba.core.errors import LoweringError, new_error_context  # type: ignore[attr-defined]
from numba.core.lowering import Lower
from numba.core.typed_passes import BaseNativeLowering

# There is one target, the CPU; its context is copied for every function, so the memory is here.
_OPERATORS: dict[tuple[Any, Any], Any] = {}  # operator, types: what makes the code
_COUNTED: dict[Any, bool] = {}  # type: whether it holds references that are counted


class LaneLower(Lower):
    """numba's lowering of one function, with a memory for operators and for types."""

    def lower_block(self, block: Any) -> None:
        """Lower a block; what goes wrong is told with the statement and its place.

        numba opens a context for every statement, in case it fails (3 %).
        """
        self.pre_block(block)
        for inst in block.body:
            self.loc = inst.loc
            try:
                self.lower_inst(inst)
            except Exception:
                kind = partial(LoweringError, loc=self.loc)  # type: ignore[arg-type]
                told: Any = new_error_context(
                    'lowering "{inst}" at {loc}', inst=inst, loc=self.loc, errcls_=kind
                )
                with told:
                    raise
        self.post_block(block)

    def lower_inst(self, inst: Any) -> Any:
        """Lower one statement; the two common ones without their text, which none reads (2 %)."""
        kind = type(inst)
        if self.flags.debuginfo or config.DEBUG_JIT:  # type: ignore[attr-defined]
            return super().lower_inst(inst)
        if kind is ir.Assign:
            name, value = inst.target.name, inst.value
            place = value.index + 1 if isinstance(value, ir.Arg) else None
            self.storevar(self.lower_assign(self.typeof(name), inst), name, argidx=place)
            return None
        if kind is ir.Del:
            return self.delvar(inst.value)
        return super().lower_inst(inst)

    def lower_binop(self, resty: Any, expr: Any, op: Any) -> Any:
        """Lower an operator; what stands for it is looked up once for each pair of types.

        numba tries all that is registered for the operator, for every `+` in the source (15 %).
        """
        if expr.static_lhs is not ir.UNDEFINED or expr.static_rhs is not ir.UNDEFINED:
            return super().lower_binop(resty, expr, op)
        context, builder = self.context, self.builder
        wanted = self.fndesc.calltypes[expr]
        code = _OPERATORS.get((op, wanted.args))
        if code is None:
            function = context.typing_context.resolve_value_type(op)
            found = function.get_call_type(context.typing_context, wanted.args, {})
            code = _OPERATORS[op, wanted.args] = context.get_function(function, found)
        given = [
            context.cast(builder, self.loadvar(side.name), self.typeof(side.name), ty)
            for side, ty in zip((expr.lhs, expr.rhs), wanted.args, strict=True)
        ]
        # as code(builder, given) does, but with the context of this function, not of the first
        result = code._imp(context, builder, code._sig, given, loc=None)
        context.add_linking_libs(getattr(code, "libs", ()))
        return context.cast(builder, result, wanted.return_type, resty)

    def _is_counted(self, ty: Any) -> bool:
        """Whether values of a type hold references that are counted, as arrays do."""
        if ty not in _COUNTED:
            _COUNTED[ty] = bool(self.context.data_model_manager[ty].contains_nrt_meminfo())
        return _COUNTED[ty]

    def incref(self, typ: Any, val: Any) -> None:
        """Count one more reference, if there is any to count.

        numba takes every tuple apart, at each assignment, to look for references (4 %).
        """
        if self._is_counted(typ):
            super().incref(typ, val)

    def decref(self, typ: Any, val: Any) -> None:
        """Count one reference less, if there is any to count."""
        if self._is_counted(typ):
            super().decref(typ, val)

    def delvar(self, name: str) -> None:
        """Let go of a variable; one that holds no reference needs no code for that (3 %)."""
        if self._is_counted(self.typeof(name)):
            super().delvar(name)
        elif name not in self._blk_local_varmap:
            self._singly_assigned_vars.discard(name)


@register_pass(mutates_CFG=True, analysis_only=False)
class LaneLowering(BaseNativeLowering):
    """The pass that lowers an inner function."""

    _name = "lanes_lowering"  # type: ignore[assignment]

    @property
    def lowering_class(self) -> type:
        """What lowers."""
        return LaneLower
