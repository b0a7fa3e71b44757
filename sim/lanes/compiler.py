"""The one door to the compiler: four decorators for two kinds of function, which read the same.

    part, room, apart   inner functions, that melt into kernels
    kernel              called from Python; lets other threads run meanwhile; kept on disk

With NUMBA_DISABLE_JIT=1 all leave the function as it is, for a debugger. The compiler itself takes
as long to load as everything else together, so it is loaded when a kernel has to be compiled: its
side of this house is sim.lanes.compiled.
"""

import functools
import os
import sys
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np

from sim.lanes import cache
from sim.lanes.kernels import Kernel

CACHE_KEY = cache.key()  # taken here, before any kernel's source is read

Function = TypeVar("Function", bound=Callable[..., Any])


def part(function: Function) -> Function:
    """Decorate an inner function: it melts into the kernels that use it.

    Called from Python it runs as plain Python, at width 1.
    """
    return function if is_off() else Inner(function)  # type: ignore[return-value]


def room(function: Function) -> Function:
    """Decorate an inner function with one caller. Today the same as `part`.

    numba's own inlining of such functions (inline="always") was dropped: it looks through the whole
    caller again for each, which cost 38 of 53 s on the flight kernel.
    """
    return part(function)


def apart(function: Function) -> Function:
    """Decorate an inner function that is used rarely: it stays a call, so its code stands once."""
    return function if is_off() else Inner(function, inline=False)  # type: ignore[return-value]


def kernel(function: Function) -> Function:
    """Decorate a function that Python calls; the lane family comes first among its arguments.

    It releases the interpreter lock. If its file is one of those the cache key is made of, the
    machine code is stored, and the next process starts without compiling.
    """
    return _quiet(function) if is_off() else Kernel(function)  # type: ignore[return-value]


def is_off() -> bool:
    """Whether functions stay plain Python: as numba says if it is loaded, else as it would say."""
    if "numba" in sys.modules:
        from numba import config

        return bool(config.DISABLE_JIT)  # type: ignore[attr-defined]
    try:
        return bool(int(os.environ.get("NUMBA_DISABLE_JIT") or 0))
    except ValueError:
        return False


def _quiet(function: Function) -> Function:
    """In plain Python: overflow and division by zero as in hardware, without numpy's warnings."""

    @functools.wraps(function)
    def run(*arguments: Any) -> Any:
        with np.errstate(all="ignore"):
            return function(*arguments)

    return run  # type: ignore[return-value]


class Inner:
    """An inner function: compiled inside kernels, plain Python when called from Python."""

    def __init__(self, function: Any, *, inline: bool = True) -> None:
        self.py_func = self.__wrapped__ = function
        self.inline = inline
        self.__name__ = function.__name__
        self.__doc__ = function.__doc__
        self.__module__ = function.__module__

    def __call__(self, *arguments: Any, **named: Any) -> Any:
        """Run the Python source, at width 1, without numpy's warnings, as hardware would."""
        with np.errstate(all="ignore"):
            return self.py_func(*arguments, **named)

    @functools.cached_property
    def dispatcher(self) -> Any:
        """What numba compiles it by."""
        from sim.lanes.compiled.inner import inner_dispatcher

        return inner_dispatcher(self.py_func, self.inline)
