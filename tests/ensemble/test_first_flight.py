"""The first flight in two ways at once, with small programs in place of the two flights."""

import pickle

import numpy as np
import pytest

from sim.ensemble import first_flight
from sim.ensemble.first_flight import FirstFlight
from sim.ensemble.fly_one import fly_arrays
from sim.errors import UserMistake
from sim.lanes import cache
from sim.scenario import load_scenario

READ = "import pickle, sys; order = pickle.load(sys.stdin.buffer)\n"
GIVE = "sys.stdout.buffer.write(pickle.dumps({}))"
NEVER = "import time; time.sleep(60)"
FAIL = "sys.exit(1)"


def two_ways(monkeypatch, *, plain, compiled):
    programs = {True: READ + plain, False: READ + compiled}
    monkeypatch.setattr(first_flight, "program", programs.__getitem__)
    return FirstFlight("scenario", run=3, seed=1, width=4)


def test_flight__of_the_way_that_is_done_first(monkeypatch):
    with two_ways(monkeypatch, plain=GIVE.format("order"), compiled=NEVER) as first:
        assert first.flight() == ("scenario", 3, 1, 1)
        assert first.still_compiles()
        compiling = first._running[False]
    assert compiling.poll() is not None  # ended
    with two_ways(monkeypatch, plain=NEVER, compiled=GIVE.format("order")) as first:
        assert first.flight() == ("scenario", 3, 1, 4)
        assert not first.still_compiles()
        first.wait_for_kernel()


def test_flight__one_way_that_fails_leaves_the_other(monkeypatch):
    with two_ways(monkeypatch, plain=FAIL, compiled=GIVE.format("order[3]")) as first:
        assert first.flight() == 4
    with two_ways(monkeypatch, plain=GIVE.format("order[3]"), compiled=FAIL) as first:
        assert first.flight() == 1
        first.wait_for_kernel()
    with two_ways(monkeypatch, plain=FAIL, compiled=FAIL) as first:
        assert first.flight() is None


def test_flight__a_mistake_of_the_person_arrives(monkeypatch):
    mistake = "from sim.errors import UserMistake\n" + GIVE.format("UserMistake('too heavy')")
    monkeypatch.setenv("PYTHONPATH", str(cache.ROOT.parent))
    with (
        two_ways(monkeypatch, plain=mistake, compiled=NEVER) as first,
        pytest.raises(UserMistake, match="too heavy"),
    ):
        first.flight()


def test_wait_for_kernel__waits(monkeypatch):
    slow = "import time; time.sleep(0.3); " + GIVE.format("0")
    with two_ways(monkeypatch, plain=GIVE.format("1"), compiled=slow) as first:
        assert first.flight() == 1
        first.wait_for_kernel()
        assert not first.still_compiles()


def test_pays__only_where_there_is_something_to_compile_and_somewhere_to_do_it(monkeypatch):
    warm = set()
    monkeypatch.setattr(cache, "cache_is_warm", lambda kernel, width: width in warm)
    monkeypatch.setattr(first_flight, "processors", lambda: 2)
    assert first_flight.pays(4)
    warm.add(4)
    assert not first_flight.pays(4)
    assert first_flight.pays(8)
    monkeypatch.setattr(first_flight, "processors", lambda: 1)
    assert not first_flight.pays(8)


def test_can_be_written__a_folder_that_may_be_made(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "not" / "yet"))
    monkeypatch.setattr(cache, "_private_temporary_folder", lambda: None)
    assert cache.can_be_written()
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "file" / "below"))
    assert not cache.can_be_written()


@pytest.mark.nightly
def test_flight__in_plain_python_has_the_bits_of_the_kernel(monkeypatch):
    """Whole flights: one seed, one drawn flight that comes to rest on its legs."""
    scenario = load_scenario(cache.ROOT.parent / "scenarios" / "heron.toml")
    started = first_flight._start

    def only_plain(plain):
        if not plain:
            raise OSError
        return started(plain)

    monkeypatch.setattr(first_flight, "_start", only_plain)
    with FirstFlight(scenario, run=5, seed=2, width=4) as first:
        plain = first.flight()
    kernel = fly_arrays(scenario, run=5, seed=2)
    assert pickle.dumps(plain.outcomes) == pickle.dumps(kernel.outcomes)
    assert set(plain.trace) == set(kernel.trace)
    for name, line in kernel.trace.items():
        assert np.array_equal(plain.trace[name], line, equal_nan=True), name


