"""The promise of the whole room: the same bits at every width, and with the compiler off."""

import numba
import numpy as np
import pytest
from lane_kernels import PLAIN_STEP, mathematics
from numba.core.typing.templates import signature

from sim.lanes import cache, exp, kernel, lane_types
from sim.lanes.compiled.store import KernelStore
from sim.lanes.kernels import may_be_stored

ROOMS = ("mathematics", "exact", "whole", "words", "randoms", "random_words", "records")


SLOW = pytest.mark.slow


@pytest.mark.parametrize("width", [8, *(pytest.param(w, marks=SLOW) for w in (2, 4, 16))])
@pytest.mark.parametrize("room", ROOMS)
def test_kernel__same_bits_at_every_width(by_width, room, width):
    assert by_width[width][room].tobytes() == by_width[1][room].tobytes()


@pytest.mark.parametrize("room", ROOMS)
def test_kernel__same_values_in_plain_python(by_width, in_plain_python, room):
    compiled = by_width[8][room]
    if room != "records":
        compiled = compiled[:, ::PLAIN_STEP]
    plain = in_plain_python[room]
    # a nan is a nan, whatever its payload; zeros must agree in sign
    assert plain.dtype == compiled.dtype
    assert np.array_equal(plain, compiled, equal_nan=plain.dtype.kind == "f")
    if plain.dtype.kind == "f":
        numbers = ~np.isnan(plain)
        assert np.array_equal(np.signbit(plain[numbers]), np.signbit(compiled[numbers]))


def test_part__can_be_called_from_python():
    assert exp(1.0) == pytest.approx(np.e, rel=1e-15)


def test_kernel__outside_the_watched_sources_is_not_stored():
    assert not may_be_stored(mathematics.py_func)
    assert not isinstance(mathematics.dispatcher._cache, KernelStore)


def test_kernel__plain_python_divides_as_hardware(monkeypatch):
    monkeypatch.setattr(numba.config, "DISABLE_JIT", True)

    @kernel
    def divide(a, b):
        return a / b

    assert divide(np.float64(1.0), np.float64(0.0)) == np.inf  # and no warning


@pytest.mark.parametrize("content", [b"", b"\0" * 32 + b"half a kernel"])
def test_kernel_store__damaged_file_counts_as_missing(monkeypatch, content):
    store = KernelStore(mathematics.py_func)
    monkeypatch.setattr(cache, "read", lambda name: content)
    family = numba.typeof(lane_types(4))
    context = mathematics.dispatcher.targetctx
    assert store.load_overload(signature(numba.types.none, family), context) is None


def test_kernel_store__function_arguments_are_never_stored(monkeypatch):
    # they are named by their address, which another process may give to another function
    store = KernelStore(mathematics.py_func)
    monkeypatch.setattr(cache, "read", lambda name: pytest.fail("must not look"))
    given = (numba.typeof(lane_types(4)), numba.typeof(mathematics))
    context = mathematics.dispatcher.targetctx
    assert store.load_overload(signature(numba.types.none, *given), context) is None
