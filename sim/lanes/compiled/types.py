"""Lane types: several flights side by side in one machine vector, as numba types."""

from typing import Any

from llvmlite import ir
from numba import types
from numba.core import errors
from numba.core.imputils import lower_cast
from numba.core.typeconv.castgraph import Conversion
from numba.core.typing.templates import AttributeTemplate, infer_getattr
from numba.extending import (
    NativeValue,
    lower_getattr,
    models,
    register_model,
    typeof_impl,
    unbox,
)

from sim.lanes.types import LaneTypes

SCALARS = {"F": types.float64, "I": types.int64, "U": types.uint64, "M": types.boolean}
LLVM_SCALARS = {"F": ir.DoubleType(), "I": ir.IntType(64), "U": ir.IntType(64), "M": ir.IntType(1)}


class LaneType(types.Type):
    """`width` values of one kind side by side."""

    def __init__(self, kind: str, width: int) -> None:
        self.kind, self.width = kind, width
        super().__init__(name=f"{kind}{width}")

    def can_convert_from(self, _context: Any, other: Any) -> Any:
        """Let a scalar of a fitting type stand where lanes are wanted."""
        return Conversion.safe if _accepts(self.kind, other) else None

    def unify(self, _context: Any, other: Any) -> Any:
        """Let `x = 0.0` before a loop become lanes when the loop assigns lanes to x."""
        return self if _accepts(self.kind, other) else None


def _accepts(kind: str, scalar: Any) -> bool:
    """Whether a scalar of this numba type may be copied to the lanes of a kind."""
    allowed = {"F": (types.Float, types.Integer), "M": (types.Boolean,)}
    return isinstance(scalar, allowed.get(kind, (types.Integer,)))


@register_model(LaneType)
class _LaneModel(models.PrimitiveModel):
    def __init__(self, manager: Any, lane: LaneType) -> None:
        super().__init__(manager, lane, llvm_type(lane))


def lane_type(kind: str, width: int) -> Any:
    """Return the numba type for a kind at a width; at width 1 the plain scalar."""
    return SCALARS[kind] if width == 1 else LaneType(kind, width)


class Family(types.Dummy):
    """What numba sees of a LaneTypes argument: the width, known when compiling."""

    def __init__(self, width: int) -> None:
        self.width = width
        super().__init__(name=f"lanes{width}")


register_model(Family)(models.OpaqueModel)


@typeof_impl.register(LaneTypes)
def _family_of(value: LaneTypes, _context: Any) -> Family:
    return Family(value.width)


@unbox(Family)
def _family_argument(_family: Family, _value: Any, unboxing: Any) -> Any:
    return NativeValue(unboxing.context.get_dummy_value())


@infer_getattr
class _FamilyFields(AttributeTemplate):
    key = Family

    def resolve_width(self, _family: Family) -> Any:
        return types.intp


@lower_getattr(Family, "width")
def _family_width(context: Any, _builder: Any, family: Family, _value: Any) -> Any:
    return context.get_constant(types.intp, family.width)


# ---- questions about types -----------------------------------------------------------------------


def llvm_type(ty: Any) -> Any:
    """LLVM type of a lane type or of one of the four scalars."""
    scalar = LLVM_SCALARS[kind_of(ty)]  # type: ignore[index]
    return ir.VectorType(scalar, ty.width) if isinstance(ty, LaneType) else scalar


def kind_of(ty: Any) -> str | None:
    """F, I, U or M for lanes and scalars, None for anything else."""
    if isinstance(ty, LaneType):
        return ty.kind
    if isinstance(ty, types.Boolean):
        return "M"
    if isinstance(ty, types.Integer):
        return "I" if ty.signed else "U"  # type: ignore[attr-defined]
    return "F" if isinstance(ty, types.Float) else None


def common_type(*given: Any) -> Any:
    """Return the type that scalars and lanes meet in: the lanes where there are any."""
    lanes = {ty for ty in given if isinstance(ty, LaneType)}
    if len(lanes) > 1:
        raise errors.TypingError(
            f"lanes of different kinds or widths meet: {sorted(map(str, lanes))}"
        )
    if lanes:
        return lanes.pop()
    kinds = {kind_of(ty) for ty in given}
    only = kinds.pop() if len(kinds) == 1 else None
    return SCALARS[only] if only else types.float64


def as_kind(ty: Any, kind: str) -> Any:
    """Return the same number of lanes, holding another kind."""
    return LaneType(kind, ty.width) if isinstance(ty, LaneType) else SCALARS[kind]


# ---- scalars become lanes ------------------------------------------------------------------------


def constant(ty: Any, value: float) -> Any:
    """Return an LLVM constant of a lane type or scalar, the same in every lane."""
    llvm = llvm_type(ty)
    return ir.Constant(llvm, [value] * ty.width if isinstance(ty, LaneType) else value)


def copy_to_lanes(builder: Any, value: Any, lane: LaneType) -> Any:
    """Emit code that puts one LLVM scalar into every lane."""
    if isinstance(value, ir.Constant) and not isinstance(value.constant, str):
        return ir.Constant(llvm_type(lane), [value.constant] * lane.width)
    vector = ir.Constant(llvm_type(lane), ir.Undefined)
    vector = builder.insert_element(vector, value, ir.Constant(ir.IntType(32), 0))
    everywhere = ir.Constant(ir.VectorType(ir.IntType(32), lane.width), [0] * lane.width)
    return builder.shuffle_vector(vector, vector, everywhere)


@lower_cast(types.Float, LaneType)
@lower_cast(types.Integer, LaneType)
@lower_cast(types.Boolean, LaneType)
def _cast_scalar(context: Any, builder: Any, from_type: Any, lane: LaneType, value: Any) -> Any:
    value = context.cast(builder, value, from_type, SCALARS[lane.kind])
    return copy_to_lanes(builder, value, lane)


@lower_cast(types.IntegerLiteral, LaneType)
def _cast_literal(_context: Any, _builder: Any, from_type: Any, lane: LaneType, _value: Any) -> Any:
    number = from_type.literal_value
    return constant(lane, float(number) if lane.kind == "F" else number)
