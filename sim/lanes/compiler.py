"""The one door to the compiler: three decorators, their options, and what is kept between runs.

Only this file imports `njit`. Two kinds of function, which read the same:

    part, room   inner functions, of several callers or one, that melt into kernels (see inner.py)
    kernel       called from Python; lets other threads run meanwhile; kept on disk

With NUMBA_DISABLE_JIT=1 all leave the function as it is, for a debugger.
"""

import functools
import hashlib
import inspect
import pickle
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numba import config, njit
from numba.core import compiler as numba_compiler
from numba.core import serialize

from sim.lanes import cache
from sim.lanes.inner import Inner, KernelCompiler, with_compiler

CACHE_KEY = cache.key()  # taken here, before any kernel's source is read

Function = TypeVar("Function", bound=Callable[..., Any])

# Fast-math stays off: it gains a few per cent and loses identical bits at every width.
INNER: dict[str, Any] = {
    "error_model": "numpy", "no_cfunc_wrapper": True, "no_cpython_wrapper": True,
    "forceinline": True,
}  # fmt: skip


def part(function: Function) -> Function:
    """Decorate an inner function: it melts into the kernels that use it.

    Called from Python it runs as plain Python, at width 1.
    """
    if config.DISABLE_JIT:  # type: ignore[attr-defined]
        return function
    return Inner(njit(**INNER)(function))  # type: ignore[return-value]


def room(function: Function) -> Function:
    """Decorate an inner function with one caller. Today the same as `part`.

    numba's own inlining of such functions (inline="always") was dropped: it looks through the whole
    caller again for each, which cost 38 of 53 s on the flight kernel.
    """
    return part(function)


def apart(function: Function) -> Function:
    """Decorate an inner function that is used rarely: it stays a call, so its code stands once."""
    if config.DISABLE_JIT:  # type: ignore[attr-defined]
        return function
    return Inner(njit(**{**INNER, "forceinline": False})(function))  # type: ignore[return-value]


def kernel(function: Function) -> Function:
    """Decorate a function that Python calls; the lane family comes first among its arguments.

    It releases the interpreter lock. If its file is one of those the cache key is made of, the
    machine code is stored, and the next process starts without compiling.
    """
    if config.DISABLE_JIT:  # type: ignore[attr-defined]
        return _quiet(function)
    compiled: Any = with_compiler(njit(error_model="numpy", nogil=True)(function), KernelCompiler)
    if _may_be_stored(function):
        compiled._cache = KernelStore(function)
    return compiled  # type: ignore[no-any-return]


def _quiet(function: Function) -> Function:
    """In plain Python: overflow and division by zero as in hardware, without numpy's warnings."""

    @functools.wraps(function)
    def run(*arguments: Any) -> Any:
        with np.errstate(all="ignore"):
            return function(*arguments)

    return run  # type: ignore[return-value]


def _may_be_stored(function: Callable[..., Any]) -> bool:
    """Only where an edit of anything it calls changes the key; a closure may hold anything."""
    try:
        return not function.__closure__ and cache.is_watched(inspect.getfile(function))
    except TypeError:
        return False


class KernelStore:
    """What numba asks for a stored form of one kernel, in place of its own cache.

    numba's keeps an index beside its data: two processes that start at once can each give data
    file number 1 to their own signature, and one is then served the other's code. Here each
    signature has a file of its own, named by its hash.
    """

    def __init__(self, function: Callable[..., Any]) -> None:
        code = function.__code__
        self._name = function.__name__
        self._identity = (function.__module__, function.__qualname__, code.co_code.hex())

    @property
    def cache_path(self) -> str:
        """The folder, as shown in the statistics of the dispatcher."""
        return str(cache.keyed_folders()[0])

    def _file_name(self, signature: Any, context: Any) -> str | None:
        given = ", ".join(map(str, getattr(signature, "args", signature)))
        if "0x" in given:  # a function argument, named by where it lies in this process's memory
            return None
        parts = (*self._identity, given, repr(context.codegen().magic_tuple()))
        digest = hashlib.sha256("\0".join(parts).encode()).hexdigest()[:24]
        family = given.split(",")[0]
        return f"{self._name}-{family if family.startswith('lanes') else 'any'}-{digest}"

    def load_overload(self, signature: Any, target_context: Any) -> Any:
        """Return the compiled result for a signature, or None."""
        target_context.refresh()
        name = self._file_name(signature, target_context)
        content = cache.read(name) if name else None
        if content is None:
            return None
        stored_digest, payload = content[:32], content[32:]
        if hashlib.sha256(payload).digest() != stored_digest:  # cut short by a full disk or worse
            return None
        return numba_compiler.CompileResult._rebuild(target_context, *pickle.loads(payload))

    def save_overload(self, signature: Any, result: Any) -> None:
        """Store a compiled result, unless it refers to something of this process alone."""
        name = self._file_name(signature, result.target_context)
        lifted = any(not part.can_cache for part in result.lifted)
        if name and not lifted and not result.library.has_dynamic_globals:
            payload = serialize.dumps(result._reduce())
            cache.write(name, hashlib.sha256(payload).digest() + payload)

    def flush(self) -> None:
        """Forget nothing: other processes may be using the files."""

    def enable(self) -> None:
        """Do nothing; for numba."""

    def disable(self) -> None:
        """Do nothing; for numba."""
