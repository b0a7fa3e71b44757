"""How much arithmetic a flight is: one flown in plain Python with numbers that count.

Its own process (`python -m tests.benchmarks.operations`, NUMBA_DISABLE_JIT=1), since the functions
of sim.lanes are exchanged before the kernel's source takes them. It prints one JSON object.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np

COUNTS: Counter[str] = Counter()
KINDS = ("add", "multiply", "multiply-add", "divide", "square root", "compare", "choose")


class Counting(float):
    """A float whose arithmetic is counted; what comes of it counts as well."""


def _counted(kind: str, name: str) -> Any:
    plain = getattr(np.float64 if kind == "divide" else float, name)

    def operation(self: Any, *others: Any) -> Any:
        COUNTS[kind] += 1
        with np.errstate(all="ignore"):
            found = plain(np.float64(self) if kind == "divide" else self, *map(float, others))
        return bool(found) if kind == "compare" else Counting(found)

    return operation


for _kind, _names in {
    "add": ("__add__", "__radd__", "__sub__", "__rsub__"), "multiply": ("__mul__", "__rmul__"),
    "divide": ("__truediv__", "__rtruediv__"), "compare": ("__lt__", "__le__", "__gt__", "__ge__"),
}.items():  # fmt: skip
    for _name in _names:
        setattr(Counting, _name, _counted(_kind, _name))
Counting.__neg__ = lambda self: Counting(-float(self))  # type: ignore[assignment]


def _exchange_functions() -> None:
    """Let the functions of sim.lanes count, and hand out numbers that do."""
    from sim import lanes

    kinds = {"sqrt": "square root", "fma": "multiply-add", "where": "choose"}

    def counting(name: str, plain: Any) -> Any:
        def call(*given: Any) -> Any:
            if name in kinds:
                COUNTS[kinds[name]] += 1
            return _as_counting(plain(*given))

        return call

    functions = ("sqrt", "absolute", "floor", "copysign", "fma", "float_of", "where", "spread")
    exchanged = {name: counting(name, getattr(lanes, name)) for name in functions}
    for module in [m for n, m in sys.modules.items() if n.startswith("sim.lanes")]:
        for name, function in exchanged.items():
            if hasattr(module, name):
                setattr(module, name, function)


def _as_counting(found: Any) -> Any:
    if isinstance(found, tuple):
        fields = [_as_counting(x) for x in found]
        return type(found)(*fields) if hasattr(found, "_fields") else tuple(fields)
    return Counting(found) if isinstance(found, float) else found


def _numbers(array: np.ndarray) -> np.ndarray:
    """The same array, of numbers that count; one of whole numbers stays as it is."""
    if array.dtype != np.float64:
        return array
    found = np.empty(array.shape, dtype=object)
    found[...] = np.vectorize(Counting, otypes=[object])(array) if array.size else array
    return found


def _count(path: Path) -> dict[str, float]:
    """Fly run 0 of a scenario to rest; operations of each kind, and its speed at the touch."""
    _exchange_functions()
    from sim.ensemble.draws import draw_numbers
    from sim.ensemble.fly_runs import load_computer
    from sim.ensemble.prepare import flight_inputs
    from sim.flight import fly
    from sim.flight_handing import handed_over
    from sim.flight_records import OUTCOMES
    from sim.flight_work import Queue, work_arrays
    from sim.lanes import lane_types
    from sim.scenario import load_scenario

    scenario = load_scenario(path)
    run = np.zeros(1, dtype=np.int64)
    values = draw_numbers(scenario, 1, run, flights=1)
    loaded = load_computer(scenario)
    tables = loaded.tables._replace(**{k: _numbers(v) for k, v in loaded.tables._asdict().items()})
    work = work_arrays(1)  # type: ignore[no-untyped-call]
    work = type(work)(*map(_numbers, work))
    written = np.empty((len(OUTCOMES), 1))
    handed = _numbers(handed_over(1))  # type: ignore[no-untyped-call]
    inputs = _numbers(flight_inputs(values, scenario, 1))
    nobody = Queue(np.zeros(0, dtype=np.int64), np.zeros((2, 0), dtype=np.int64))
    COUNTS.clear()
    for settling in (False, True):
        fly(  # type: ignore[no-untyped-call]
            lane_types(1), np.uint64(1), run.reshape(1, 1), run.astype(np.uint64), inputs,
            _numbers(loaded.settings), settling, nobody, loaded.plan, tables, handed, written,
            np.zeros((0, 1)), work,
        )  # fmt: skip
    return {kind: float(COUNTS[kind]) for kind in KINDS} | {
        "touchdown_speed": float(written[OUTCOMES.index("touchdown_speed"), 0])
    }


def operations(path: Path) -> dict[str, float]:
    """Count in a process of its own.

    Parameters
    ----------
    path : Path
        Of a scenario.

    Returns
    -------
    dict of str to float
        Operations of each of KINDS in run 0 of seed 1 alone, from the launch pad to rest.

    Raises
    ------
    RuntimeError
        Counting has changed the flight: its touchdown is not that of the compiled kernel.
    """
    from sim.ensemble.draws import draw_numbers
    from sim.ensemble.fly_runs import fly_runs
    from sim.scenario import load_scenario

    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.operations", str(path)],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    found: dict[str, float] = json.loads(done.stdout)
    scenario, run = load_scenario(path), np.zeros(1, dtype=np.int64)
    flown = fly_runs(scenario, 1, run, draw_numbers(scenario, 1, run, flights=1))
    if not math.isclose(found.pop("touchdown_speed"), flown["touchdown_speed"][0], rel_tol=0.0):
        raise RuntimeError("the flight that was counted is not the flight of the kernel")
    return found


if __name__ == "__main__":
    sys.stdout.write(json.dumps(_count(Path(sys.argv[1]))) + "\n")
