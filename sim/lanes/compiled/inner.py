"""How inner functions are compiled: to intermediate code that only a kernel makes machine code of.

numba optimises every function and makes machine code of it, then does so again inside each caller,
so that the cost of a deep house of small functions multiplies. Inner functions never run by
themselves. Here they stop at LLVM's intermediate form, as they were written; a kernel links each of
them once, and the whole is optimised once (measured on the flight kernel: 53 s of processor time
before, 33 s after).
"""

import functools
import gc
from typing import Any

from numba import _dynfunc, njit, types  # type: ignore[attr-defined]
from numba.core import compiler, config, sigutils
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler_lock import global_compiler_lock
from numba.core.dispatcher import _FunctionCompiler  # type: ignore[attr-defined]
from numba.extending import typeof_impl

from sim.lanes.compiled.pipeline import InnerPipeline, remember_operators
from sim.lanes.compiled.quick import quick_numba
from sim.lanes.compiled.store import KernelStore
from sim.lanes.compiled.types import LaneType
from sim.lanes.compiler import Inner
from sim.lanes.kernels import Kernel


class InnerLibrary(JITCodeLibrary):
    """Code of one inner function: linked into kernels, never run from here."""

    def add_llvm_module(self, module: Any) -> None:
        """Take in code as it is."""
        module.data_layout = self._codegen._data_layout
        self._final_module.link_in(module)

    def add_linking_library(self, library: Any) -> None:
        """Remember what this code calls; the kernel links it."""
        self._linking_libraries.append(library)

    def finalize(self) -> None:
        """Nothing is optimised here."""
        self._finalized = True


class KernelLibrary(JITCodeLibrary):
    """Code of a kernel with all that it calls, however deep, each once."""

    def add_linking_library(self, library: Any) -> None:
        """Link a callee and what it calls."""
        if library in self._linking_libraries:
            return
        library._ensure_finalized()
        self._linking_libraries.append(library)
        if isinstance(library, InnerLibrary):
            for deeper in library._linking_libraries:
                self.add_linking_library(deeper)

    def _optimize_final_module(self) -> None:
        """Optimize as numba does, in the same two rounds, without LLVM's search for vectors.

        Lanes are vectors already, and searching the flight kernel for more took 0.7 of 2.4 s.
        """
        plain = {"loop_vectorize": False, "slp_vectorize": False}
        rounds: Any = {"cost": "cheap", "opt": self._codegen._opt_level}, {}
        for more in rounds:
            manager, builder = self._codegen._module_pass_manager(**plain, **more)
            manager.run(self._final_module, builder)


class InnerCompiler(_FunctionCompiler):  # type: ignore[misc]
    """numba's compiler of one function, stopped at intermediate code."""

    def _compile_core(self, args: Any, return_type: Any) -> Any:
        context = self.targetdescr.target_context
        library = InnerLibrary(context.codegen(), self.py_func.__qualname__)
        result = _compile(self, args, return_type, library, no_compile=True)
        # numba finds a callee's code by its entry point: an object of its own, never called
        name = self.py_func.__name__
        entry = _dynfunc.make_function(
            result.fndesc.lookup_module(), name, name, 0, result.environment, (library,)
        )
        context.insert_user_function(entry, result.fndesc, [library])
        return result._replace(entry_point=entry)


class KernelCompiler(_FunctionCompiler):  # type: ignore[misc]
    """numba's compiler of one function, whose code takes in that of all inner functions."""

    library_class: type = KernelLibrary
    only_code = False

    def _compile_core(self, args: Any, return_type: Any) -> Any:
        library = self.library_class(
            self.targetdescr.target_context.codegen(), self.py_func.__qualname__
        )
        library.enable_object_caching()
        # the compiler makes millions of objects and few cycles: collecting them took a quarter
        collecting = gc.isenabled()
        gc.disable()
        target = self.targetdescr
        try:
            with quick_numba(target.typing_context, target.target_context):
                return _compile(self, args, return_type, library, no_compile=self.only_code)
        finally:
            if collecting:
                gc.enable()


def _compile(own: Any, args: Any, return_type: Any, library: Any, *, no_compile: bool) -> Any:
    """Compile as numba's own compiler of functions does, into a library of ours."""
    flags = compiler.Flags()
    own.targetdescr.options.parse_as_flags(flags, own.targetoptions)
    flags = own._customize_flags(flags)
    if no_compile:
        flags.no_compile = True
        flags.no_cpython_wrapper = True
    result = compiler.compile_extra(
        own.targetdescr.typing_context,
        own.targetdescr.target_context,
        own._get_implementation(args, {}),
        args=args,
        return_type=return_type,
        flags=flags,
        library=library,
        locals=own.locals,
        pipeline_class=own.pipeline_class,
    )
    if result.typing_error is not None and not flags.enable_pyobject:
        raise result.typing_error
    return result


def _compile_quietly(dispatcher: Any, signature: Any) -> Any:
    """Compile an inner function for a signature, if that has not been done.

    In place of the dispatcher's own, which starts two timers for each function; they are told of
    every call of LLVM, by all functions that are being compiled at that depth.
    """
    with global_compiler_lock, dispatcher._compiling_counter:
        args, return_type = sigutils.normalize_signature(signature)
        known = dispatcher.overloads.get(tuple(args))
        if known is None:
            known = dispatcher._compiler.compile(args, return_type)
            dispatcher.add_overload(known)
        return known.entry_point


# Fast-math stays off: it gains a few per cent and loses identical bits at every width.
INNER: dict[str, Any] = {
    "error_model": "numpy", "no_cfunc_wrapper": True, "no_cpython_wrapper": True,
}  # fmt: skip


def inner_dispatcher(function: Any, inline: bool) -> Any:
    """Make numba's dispatcher of an inner function."""
    dispatcher: Any = njit(**INNER, forceinline=inline)(function)
    with_compiler(dispatcher, InnerCompiler)
    dispatcher.compile = functools.partial(_compile_quietly, dispatcher)
    return dispatcher


def kernel_dispatcher(function: Any, stored: bool) -> Any:
    """Make numba's dispatcher of a kernel, which keeps what it compiled if it is to be stored."""
    if config.DISABLE_JIT:  # type: ignore[attr-defined]
        return function
    compiled = with_compiler(njit(error_model="numpy", nogil=True)(function), KernelCompiler)
    if stored:
        compiled._cache = KernelStore(function)
    return compiled


def _of_lanes(ty: Any) -> bool:
    """Whether a numba type is lanes, or a tuple that begins with lanes."""
    if isinstance(ty, types.BaseTuple) and len(ty) > 0:
        ty = ty[0]  # type: ignore[index]
    return isinstance(ty, LaneType)


def with_compiler(dispatcher: Any, kind: type) -> Any:
    """Give a dispatcher another compiler of functions."""
    old = dispatcher._compiler
    remember_operators(old.targetdescr.typing_context, _of_lanes)
    pipeline = InnerPipeline if kind is InnerCompiler else old.pipeline_class
    dispatcher._compiler = kind(
        old.py_func, old.targetdescr, old.targetoptions, old.locals, pipeline
    )
    return dispatcher


@typeof_impl.register(Inner)
def _type_of_inner(value: Inner, _context: Any) -> Any:
    return types.Dispatcher(value.dispatcher)


@typeof_impl.register(Kernel)
def _type_of_kernel(value: Kernel, _context: Any) -> Any:
    return types.Dispatcher(value.dispatcher)
