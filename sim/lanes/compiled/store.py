"""A compiled kernel as numba keeps it, for machines on which its object code cannot be loaded."""

import hashlib
import pickle
from collections.abc import Callable
from typing import Any

from numba.core import compiler as numba_compiler
from numba.core import serialize

from sim.lanes import cache


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
        return f"{self._name}-numba-{family if family.startswith('lanes') else 'any'}-{digest}"

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
