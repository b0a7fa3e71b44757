"""The passes that numba runs over our functions, and no others; and a memory for operators.

Lane code has no closures, comprehensions, literal unrolling, `with`, parallel loops or inlined
overloads, so the passes that look for them find nothing, each at the price of a walk through the
function. What an operator does with lanes is asked thousands of times with few answers.
"""

from typing import Any

from numba.core.compiler import CompilerBase
from numba.core.compiler_machinery import PassManager
from numba.core.typed_passes import (
    AnnotateTypes,
    IRLegalization,
    NativeLowering,
    NoPythonBackend,
    NopythonTypeInference,
    PreLowerStripPhis,
)
from numba.core.untyped_passes import (
    DeadBranchPrune,
    FixupArgs,
    GenericRewrites,
    IRProcessing,
    ReconstructSSA,
    TranslateByteCode,
)


class InnerPipeline(CompilerBase):
    """From byte code to intermediate code, for an inner function."""

    def define_pipelines(self) -> list[Any]:
        """One pipeline; there is no fallback."""
        passes = PassManager("lanes")
        passes.add_pass(TranslateByteCode, "analyzing bytecode")
        passes.add_pass(FixupArgs, "fix up args")
        passes.add_pass(IRProcessing, "processing IR")
        passes.add_pass(GenericRewrites, "constant indices")
        passes.add_pass(DeadBranchPrune, "dead branch pruning")
        passes.add_pass(ReconstructSSA, "single assignment")
        passes.add_pass(NopythonTypeInference, "types")
        passes.add_pass(PreLowerStripPhis, "remove phis nodes")
        passes.add_pass(IRLegalization, "ensure IR is legal prior to lowering")
        passes.add_pass(AnnotateTypes, "annotate types")
        passes.add_pass(NativeLowering, "native lowering")
        passes.add_pass(NoPythonBackend, "nopython mode backend")
        passes.finalize()
        return [passes]


def remember_operators(context: Any, is_lane: Any) -> None:
    """Let a typing context remember the answers that concern lanes alone.

    Parameters
    ----------
    context : numba typing context
    is_lane : callable
        Whether a numba type is one of ours.
    """
    if hasattr(context, "lane_answers"):
        return
    context.lane_answers = {}
    ask = context.resolve_function_type

    def resolve_function_type(func: Any, args: Any, kws: Any) -> Any:
        if kws or not any(is_lane(arg) for arg in args):
            return ask(func, args, kws)
        key = func, tuple(args)
        try:
            return context.lane_answers[key]
        except (KeyError, TypeError):
            pass
        answer = ask(func, args, kws)
        if answer is not None and not any(isinstance(arg, tuple) for arg in args):
            context.lane_answers[key] = answer
        return answer

    context.resolve_function_type = resolve_function_type
