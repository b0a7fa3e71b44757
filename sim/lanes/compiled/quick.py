"""Two of numba's habits made cheap while a kernel is being compiled; the answers stay the same."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from numba.core import ir

_OWN: dict[type, int] = {}  # type of a part of a statement: 0 nothing, 1 variable, 2 look inside


def _role(kind: type) -> int:
    known = _OWN.get(kind)
    if known is None:
        deeper = issubclass(kind, ir.Inst | list | tuple | dict)
        known = _OWN[kind] = 1 if issubclass(kind, ir.Var) else 2 * deeper
    return known


def _variables(found: list[Any], parts: Any) -> list[Any]:
    for part in parts:
        role = _OWN.get(type(part))
        if role is None:
            role = _role(type(part))
        if role == 1:
            found.append(part)
        elif role:
            if isinstance(part, ir.Inst):
                found.extend(part.list_vars())
            else:
                _variables(found, part.values() if isinstance(part, dict) else part)
    return found


def _of_statement(statement: Any) -> list[Any]:
    """As ir.Stmt.list_vars: the variables in a statement, in the same order."""
    return _variables([], statement.__dict__.values())


def _of_expression(expression: Any) -> list[Any]:
    """As ir.Expr.list_vars."""
    return _variables([], expression._kws.values())


def _refresh_after_imports(context: Any) -> Any:
    """A context's refresh that does nothing until another module has been imported.

    Declarations are made by modules as they are imported; numba looks through all its own import
    statements and registries again for every function it compiles.
    """
    whole = type(context).refresh
    seen = -1

    def refresh() -> None:
        nonlocal seen
        if seen != len(sys.modules):
            whole(context)
            seen = len(sys.modules)

    return refresh


def _set_lists(of_statement: Any, of_expression: Any) -> None:
    ir.Stmt.list_vars = of_statement  # type: ignore[method-assign]
    ir.Expr.list_vars = of_expression  # type: ignore[method-assign]


@contextmanager
def quick_numba(*contexts: Any) -> Iterator[None]:
    """Within: cheaper lists of variables and fewer looks for new declarations.

    Lists of variables, made for every statement five times over, took 13 % of numba's own work on
    the flight kernel, most of it in asking of each part whether it is one of six types; refreshing
    took 2 %. Whoever compiles something else meanwhile, in this process, gets the same answers.
    """
    before = ir.Stmt.list_vars, ir.Expr.list_vars
    _set_lists(_of_statement, _of_expression)
    for context in contexts:
        context.refresh = _refresh_after_imports(context)
    try:
        yield
    finally:
        _set_lists(*before)
        for context in contexts:
            context.__dict__.pop("refresh", None)
