"""Machine code of a kernel, loaded by LLVM alone: no compiler, no numba.

The code is an object file as LLVM writes it, with one function that Python calls: it takes the
arguments as a row of words (sim.lanes.words) and returns 0, or else the number of an error.
"""

import ctypes
import json
import pickle
from collections.abc import Callable
from typing import Any

ENTRY = "kernel_entry"
FOUND_ANYWHERE = (  # functions of C that LLVM may make of an operation
    "memcpy", "memmove", "memset", "fma", "floor", "__chkstk",
)  # fmt: skip

_loaded: list[Any] = []  # engines own the code: they are kept


class NoNativeCode(Exception):
    """The code cannot be run in this way here."""


def processor() -> str:
    """Name and abilities of the processor, as far as they shape code."""
    import llvmlite.binding as llvm

    return f"{llvm.get_process_triple()} {llvm.get_host_cpu_name()} " + str(
        llvm.get_host_cpu_features().flatten()
    )


def packed(code: bytes, needs: list[str]) -> bytes:
    """Put object code and the names of what it needs of C into one piece."""
    head = json.dumps(needs).encode()
    return len(head).to_bytes(4, "little") + head + code


def load(piece: bytes) -> Callable[[list[int]], None]:
    """Make stored code a function of a row of words.

    Parameters
    ----------
    piece : bytes
        From `packed`. It is run: only from a place that no other user can write.

    Raises
    ------
    NoNativeCode
        Something that the code needs is not here, or this LLVM cannot load it.
    """
    length = int.from_bytes(piece[:4], "little")
    needs, code = json.loads(piece[4 : 4 + length]), piece[4 + length :]
    try:
        address = _link(code, needs)
    except (RuntimeError, OSError, AttributeError, TypeError, ImportError) as problem:
        raise NoNativeCode(str(problem)) from problem
    run = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p)(address)  # lets other threads run

    def call(words: list[int]) -> None:
        row = (ctypes.c_uint64 * max(1, len(words)))(*words)
        status = run(ctypes.addressof(row))
        if status != 0:
            raise _error(status, row[0])

    return call


def _link(code: bytes, needs: list[str]) -> int:
    import llvmlite.binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    missing = [name for name in needs if not llvm.address_of_symbol(name)]
    if missing:  # LLVM would end the process
        raise NoNativeCode(f"not in this process: {', '.join(missing)}")
    llvm.check_jit_execution()
    triple = llvm.get_process_triple()
    machine = llvm.Target.from_triple(triple).create_target_machine(jit=True)
    engine = llvm.create_mcjit_compiler(
        llvm.parse_assembly(f'target triple = "{triple}"\n'), machine
    )
    file = llvm.ObjectFileRef.from_data(code)
    engine.add_object_file(file)
    engine.finalize_object()
    address = engine.get_function_address(ENTRY)
    if not address:
        raise NoNativeCode("no such function in the code")
    _loaded.append((engine, file))
    return int(address)


def _error(status: int, place: int) -> BaseException:
    """Make the exception that a kernel raised: its class and arguments are kept beside the code."""
    if status != 1 or not place:  # numba: 1 for an exception of its user
        return SystemError(f"a kernel ended with status {status}")
    kept = ctypes.c_void_p.from_address(place).value
    size = ctypes.c_int32.from_address(place + ctypes.sizeof(ctypes.c_void_p)).value
    kind, arguments, _place = pickle.loads(ctypes.string_at(kept or 0, size))
    return kind(*(arguments or ()))  # type: ignore[no-any-return]
