"""The passes that numba runs over our functions, and no others; and a memory for operators.

Lane code has no closures, comprehensions, literal unrolling, `with`, parallel loops or inlined
overloads, so the passes that look for them find nothing, each at the price of a walk through the
function. Most inner functions are one straight block in which no name is given twice: there is no
branch to prune and nothing to rename, so those passes do not run either (with the shorter list of
peepholes, 10 % of numba's own work). What an operator does with lanes is asked thousands of times
with few answers.
"""

from functools import cache
from typing import Any

from numba.core import ir
from numba.core.compiler import CompilerBase
from numba.core.compiler_machinery import PassManager, register_pass
from numba.core.errors import NumbaError
from numba.core.interpreter import Interpreter, peep_hole_delete_with_exit
from numba.core.typed_passes import (
    AnnotateTypes,
    IRLegalization,
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

from sim.lanes.compiled.lowering import LaneLowering


class InnerPipeline(CompilerBase):
    """From byte code to intermediate code, for an inner function."""

    def define_pipelines(self) -> list[Any]:
        """One pipeline; there is no fallback."""
        return [_passes()]


@cache
def _passes() -> PassManager:
    """The passes, put in order once for all functions: they hold nothing of a function."""
    return pass_manager("lanes", LaneLowering)


def pass_manager(name: str, lowering: Any) -> PassManager:
    """Put the passes in order, with the one that lowers."""
    passes = QuickPasses(name)
    passes.add_pass(LaneByteCode, "analyzing bytecode")
    passes.add_pass(FixupArgs, "fix up args")
    passes.add_pass(LaneProcessing, "processing IR")
    passes.add_pass(GenericRewrites, "constant indices")
    passes.add_pass(LanePrune, "dead branch pruning")
    passes.add_pass(LaneSSA, "single assignment")
    passes.add_pass(NopythonTypeInference, "types")
    passes.add_pass(LaneStripPhis, "remove phis nodes")
    passes.add_pass(IRLegalization, "ensure IR is legal prior to lowering")
    passes.add_pass(AnnotateTypes, "annotate types")
    passes.add_pass(lowering, "native lowering")
    passes.add_pass(NoPythonBackend, "nopython mode backend")
    passes.finalize()
    return passes


class QuickPasses(PassManager):
    """numba's runner of passes, without what it writes down around each.

    For every pass of every function numba writes all flags and argument types to text, for events
    that nobody listens to; the types here are long (3 % of its work).
    """

    def _runPass(self, index: int, pss: Any, internal_state: Any) -> None:
        if self._print_after or self._print_before or self._print_wrap:  # asked for by NUMBA_DEBUG
            super()._runPass(index, pss, internal_state)
            return
        pss.analysis = self._analysis
        try:
            pss.run_initialization(internal_state)
            pss.run_pass(internal_state)
            pss.run_finalizer(internal_state)
        except NumbaError as error:
            error.add_context(f"Pass {pss.name()}")
            raise


def _is_straight(state: Any) -> bool:
    """Whether a function is one block; a generator never counts."""
    return len(state.func_ir.blocks) == 1 and not state.func_ir.is_generator


class _LaneInterpreter(Interpreter):
    """From byte code to numba's statements; does not look for the end of a `with`."""

    def post_process(self, peepholes: Any, func_ir: Any) -> Any:
        without = [peep for peep in peepholes if peep is not peep_hole_delete_with_exit]
        opens = any("WITH" in inst.opname for inst in self.bytecode.table.values())
        return super().post_process(peepholes if opens else without, func_ir)


@register_pass(mutates_CFG=True, analysis_only=False)
class LaneByteCode(TranslateByteCode):
    """Translate byte code."""

    _name = "lanes_bytecode"

    def run_pass(self, state: Any) -> bool:
        """Run on one function."""
        state["func_ir"] = _LaneInterpreter(state["func_id"]).interpret(state["bc"])
        return True


@register_pass(mutates_CFG=True, analysis_only=False)
class LaneProcessing(IRProcessing):
    """Work out the lives of variables; in a straight function the next pass does so anyway."""

    _name = "lanes_processing"

    def run_pass(self, state: Any) -> bool:
        """Run on one function."""
        if not _is_straight(state):
            return bool(super().run_pass(state))
        state.func_ir.generator_info = None
        return False


@register_pass(mutates_CFG=True, analysis_only=False)
class LanePrune(DeadBranchPrune):
    """Prune branches, where there are any."""

    _name = "lanes_prune"

    def run_pass(self, state: Any) -> bool:
        """Run on one function."""
        return not _is_straight(state) and bool(super().run_pass(state))


@register_pass(mutates_CFG=True, analysis_only=False)
class LaneSSA(ReconstructSSA):
    """Give names that are set twice a name for each time."""

    _name = "lanes_ssa"

    def run_pass(self, state: Any) -> bool:
        """Run on one function."""
        if _is_straight(state):
            (block,) = state.func_ir.blocks.values()
            names = [inst.target.name for inst in block.body if type(inst) is ir.Assign]
            if len(names) == len(set(names)):
                return False
        return bool(super().run_pass(state))


@register_pass(mutates_CFG=True, analysis_only=False)
class LaneStripPhis(PreLowerStripPhis):
    """Replace phi nodes, which a straight function cannot have."""

    _name = "lanes_strip_phis"

    def run_pass(self, state: Any) -> bool:
        """Run on one function."""
        return not _is_straight(state) and bool(super().run_pass(state))


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
