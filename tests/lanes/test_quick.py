import pytest
from numba.core import ir
from numba.core.compiler import run_frontend

from sim.lanes.compiled.quick import _of_expression, _of_statement, quick_numba


def sample(a, b, *rest, table=(1, 2)):
    total = {"a": a}
    for x in (a, b, *rest):
        total["a"] = x + table[0] * (a, [b, x])[1][0]
        if x > a:
            total["b"] = x
    return total


def statements():
    blocks = run_frontend(sample, emit_dels=True).blocks.values()
    return [statement for block in blocks for statement in block.body]


def test_lists_of_variables__are_those_of_numba():
    values = [s.value for s in statements() if isinstance(s, ir.Assign)]
    expressions = [value for value in values if isinstance(value, ir.Expr)]
    assert len(statements()) > 30
    assert len(expressions) > 10
    for statement in statements():
        assert _of_statement(statement) == statement.list_vars()
    for expression in expressions:
        assert _of_expression(expression) == expression.list_vars()


class Context:
    looked = 0

    def refresh(self):
        self.looked += 1


def test_quick_numba__leaves_numba_as_it_was():
    before, context = (ir.Stmt.list_vars, ir.Expr.list_vars), Context()

    def fail():
        with quick_numba(context):
            assert ir.Stmt.list_vars is _of_statement
            context.refresh()
            context.refresh()
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert (ir.Stmt.list_vars, ir.Expr.list_vars) == before
    assert context.looked == 1
    context.refresh()
    assert context.looked == 2


def test_quick_numba__looks_again_after_an_import(monkeypatch):
    import sys
    from types import ModuleType

    context = Context()
    with quick_numba(context):
        context.refresh()
        monkeypatch.setitem(sys.modules, "a_module_of_this_test", ModuleType("m"))
        context.refresh()
    assert context.looked == 2
