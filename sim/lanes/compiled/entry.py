"""A kernel as object code with one entry: its arguments come as a row of words.

See sim.lanes.words for how they are written and sim.lanes.native for how the code is run.
"""

from functools import cache
from typing import Any

import numba
from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.compiler import CompilerBase
from numba.core.compiler_lock import global_compiler_lock
from numba.core.compiler_machinery import register_pass
from numba.core.typed_passes import BaseNativeLowering
from numba.np.arrayobj import populate_array

import sim.lanes.compiled  # noqa: F401  (makes lanes known)
from sim.lanes import native
from sim.lanes.compiled.inner import KernelCompiler, KernelLibrary, kernel_dispatcher
from sim.lanes.compiled.lowering import LaneLower
from sim.lanes.compiled.pipeline import pass_manager
from sim.lanes.compiled.types import Family

_WORD = ir.IntType(64)
# What counted references come to, where no argument is counted: never reached, but called for.
_NEVER = ("NRT_MemInfo_call_dtor", "NRT_Free")


class EntryLibrary(KernelLibrary):
    """Code of a kernel that nothing but its entry is seen of."""

    def _optimize_final_module(self) -> None:
        for function in self._final_module.functions:
            if not function.is_declaration and function.name != native.ENTRY:
                function.linkage = "internal"
        for variable in self._final_module.global_variables:
            if not variable.is_declaration:
                variable.linkage = "internal"
        super()._optimize_final_module()

    def _finalize_final_module(self) -> None:
        """Write the object file, in place of handing the code to numba's engine."""
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        module = self._final_module
        outside = [*module.functions, *module.global_variables]
        names = [one.name for one in outside if one.is_declaration]
        self.needs = [name for name in names if not name.startswith("llvm.")]
        self.object_code = self._codegen._tm.emit_object(module)
        self._finalized = True


class EntryLower(LaneLower):
    """Lowering of a kernel, with an entry in place of the function that C would call."""

    def create_cfunc_wrapper(self) -> None:
        """Add the entry."""
        _add_entry(self.context, self.library, self.fndesc)


@register_pass(mutates_CFG=True, analysis_only=False)
class EntryLowering(BaseNativeLowering):
    """The pass that lowers a kernel with an entry."""

    _name = "entry_lowering"  # type: ignore[assignment]

    @property
    def lowering_class(self) -> type:
        """What lowers."""
        return EntryLower


@cache
def _passes() -> Any:
    return pass_manager("entry", EntryLowering)


class EntryPipeline(CompilerBase):
    """From byte code to intermediate code, for a kernel with an entry."""

    def define_pipelines(self) -> list[Any]:
        """One pipeline; there is no fallback."""
        return [_passes()]


class EntryCompiler(KernelCompiler):
    """numba's compiler of one function, which writes an object file."""

    library_class = EntryLibrary
    only_code = True


def compile_entry(function: Any, arguments: tuple[Any, ...]) -> bytes:
    """Compile a kernel for arguments like these.

    Returns
    -------
    bytes
        For `sim.lanes.native.load`.

    Raises
    ------
    sim.lanes.native.NoNativeCode
        The kernel returns something, allocates memory or needs Python: it has to be numba's.
    numba.core.errors.NumbaError
        The source is wrong.
    """
    if numba.config.DISABLE_JIT:  # type: ignore[attr-defined]
        raise native.NoNativeCode("the compiler is off")
    own = kernel_dispatcher(function, stored=False)._compiler
    compiler = EntryCompiler(
        own.py_func, own.targetdescr, own.targetoptions, own.locals, EntryPipeline
    )
    with global_compiler_lock:
        result = compiler.compile(tuple(numba.typeof(x) for x in arguments), None)
        if result.signature.return_type != types.none or result.lifted:
            raise native.NoNativeCode("it returns something")
        library = result.library
        library.finalize()
    if not set(library.needs) <= set(native.FOUND_ANYWHERE) or library.has_dynamic_globals:
        raise native.NoNativeCode(f"it needs {library.needs}")
    return native.packed(library.object_code, library.needs)


def _add_entry(context: Any, library: Any, description: Any) -> None:
    """Add a function that reads the arguments from words and calls the kernel with them."""
    module = context.create_module("entry")
    shape = context.call_conv.get_function_type(description.restype, description.argtypes)
    callee = ir.Function(module, shape, description.llvm_func_name)
    entry = ir.Function(module, ir.FunctionType(ir.IntType(32), [_WORD.as_pointer()]), native.ENTRY)
    builder = ir.IRBuilder(entry.append_basic_block("entry"))
    words = _Words(context, builder, entry.args[0])
    values = [words.value(ty) for ty in description.argtypes]
    status, _ = context.call_conv.call_function(
        builder, callee, description.restype, description.argtypes, values
    )
    with builder.if_then(status.is_error, likely=False):
        builder.store(builder.ptrtoint(status.excinfoptr, _WORD), entry.args[0])
    builder.ret(status.code)
    for name in _NEVER:
        never = ir.Function(module, ir.FunctionType(ir.VoidType(), [cgutils.voidptr_t]), name)
        ir.IRBuilder(never.append_basic_block()).ret_void()
    library.add_ir_module(module)


class _Words:
    """Reads one argument after the other from the row of words."""

    def __init__(self, context: Any, builder: Any, row: Any) -> None:
        self.context, self.builder, self.row, self.at = context, builder, row, 0

    def word(self) -> Any:
        place = self.builder.gep(self.row, [ir.Constant(_WORD, self.at)])
        self.at += 1
        return self.builder.load(place)

    def value(self, ty: Any) -> Any:
        """Emit code for the value of a numba type."""
        if isinstance(ty, Family):
            return self.context.get_dummy_value()
        if isinstance(ty, types.BaseTuple):
            fields = [self.value(field) for field in ty]  # type: ignore[attr-defined]
            return self.context.make_tuple(self.builder, ty, fields)
        if isinstance(ty, types.Array):
            return self._array(ty)
        if isinstance(ty, types.Boolean):
            return self.builder.icmp_unsigned("!=", self.word(), ir.Constant(_WORD, 0))
        if ty == types.float64:
            return self.builder.bitcast(self.word(), ir.DoubleType())
        if ty in (types.int64, types.uint64):
            return self.word()
        raise native.NoNativeCode(f"it takes {ty}")

    def _array(self, ty: Any) -> Any:
        array = self.context.make_array(ty)(self.context, self.builder)
        data = self.builder.inttoptr(self.word(), array.data.type)
        array.nitems = self.word()
        shape = [self.word() for _ in range(ty.ndim)]
        strides = [self.word() for _ in range(ty.ndim)]
        populate_array(
            array, data=data, shape=shape, strides=strides, itemsize=ir.Constant(_WORD, 8),
            meminfo=None,
        )  # fmt: skip
        return array._getvalue()
