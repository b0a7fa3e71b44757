"""Measure this machine: `python -m tests.benchmarks`. Nothing here passes or fails.

All speeds are of processor time of one process, as medians of interleaved rounds, and as ratios
within this run; a busy machine changes the figures, hardly the ratios.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np

from tests.benchmarks.faults import never_happening
from tests.benchmarks.operations import operations
from tests.benchmarks.peak import peak
from tests.benchmarks.peak_memory import peak_memory
from tests.benchmarks.solver import solver_seconds

DEMO = Path(__file__).parents[2] / "scenarios" / "heron.toml"
ROUNDS = 5
CHUNK = 512  # flights in a worker's piece of work
LINE = "  {:<52s} {}"


def show(what: str, figure: str) -> None:
    sys.stdout.write(LINE.format(what, figure) + "\n")
    sys.stdout.flush()


def processor_seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def _flights(scenario: object, turn: int) -> Callable[[int], object]:
    """As many flights as a worker flies at once, drawn already; a function of the width."""
    from sim.ensemble.draws import draw_numbers
    from sim.ensemble.fly_runs import fly_runs

    runs = CHUNK * turn + np.arange(CHUNK, dtype=np.int64)
    values = draw_numbers(scenario, 1, runs, flights=CHUNK * (ROUNDS + 1))
    return lambda width: fly_runs(scenario, 1, runs, values, width)


def widths() -> None:
    """Flights a second of one core at each width, and the ratio to width 1."""
    from sim.scenario import load_scenario

    scenario = load_scenario(DEMO)
    found: dict[int, list[float]] = {1: [], 4: [], 8: []}
    for width in found:
        _flights(scenario, 0)(width)
    for turn in range(1, ROUNDS + 1):
        fly = _flights(scenario, turn)  # others each time, or the processor learns their branches
        for width, seconds in found.items():
            seconds.append(processor_seconds(lambda w=width, f=fly: f(w)))
    one = median(found[1])
    for width, seconds in found.items():
        ratio = median([a / b for a, b in zip(found[1], seconds, strict=True)])
        rate = CHUNK / median(seconds)
        show(f"one core, width {width}", f"{rate:7.0f} flights/s, {ratio:.2f} times width 1")
    solver = solver_seconds(scenario)
    show(
        "solve_ivp at rtol 1e-6, the same kind of equations",
        f"{1 / solver:7.2f} flights/s; width 8 is {solver * CHUNK / median(found[8]):.0f} "
        f"times that, width 1 {solver * CHUNK / one:.0f} times",
    )


def arithmetic() -> None:
    """Share of one core's arithmetic that the kernel uses, measured side by side."""
    from sim.ensemble.fly_runs import WIDTH
    from sim.scenario import load_scenario

    found = operations(DEMO)
    show("arithmetic of one flight to rest, thousands", ", ".join(
        f"{1e-3 * count:.0f} {kind}" for kind, count in found.items()
    ))  # fmt: skip
    # a multiply-add is two operations; comparing and choosing are not counted
    whole = 2.0 * found["multiply-add"] + sum(
        found[kind] for kind in ("add", "multiply", "divide", "square root")
    )
    scenario = load_scenario(DEMO)
    for width in (1, WIDTH):
        _flights(scenario, 0)(width)
        shares, most = [], []
        for turn in range(1, ROUNDS + 1):
            fly = _flights(scenario, turn)
            most.append(peak(width))
            spent = processor_seconds(lambda w=width, f=fly: f(w))
            shares.append(whole * CHUNK / spent / (2.0 * most[-1]))
        show(
            f"one core, width {width}: share of its multiply-adds",
            f"{100.0 * median(shares):.0f} % of {1e-9 * median(most):.1f} x 10^9 a second",
        )


def touchdown() -> None:
    """Cost of the last second over that of the flight before it, processor time of one core."""
    from dataclasses import replace

    from sim.ensemble import fly_runs as room
    from sim.ensemble.draws import draw_numbers
    from sim.scenario import load_scenario

    runs = np.arange(512, dtype=np.int64)
    for strut in ("spring", "gas", "crush", "friction"):
        scenario = load_scenario(DEMO, [f"legs.strut={strut}"])
        first = replace(scenario, choices={**scenario.choices, "flight.ends_at": "first_touch"})
        values = draw_numbers(scenario, 1, runs, flights=len(runs))
        spent: dict[bool, list[float]] = {True: [], False: []}
        for _ in range(ROUNDS):
            for rest, seconds in spent.items():
                flown = scenario if rest else first
                seconds.append(
                    processor_seconds(
                        lambda s=flown, v=values: room.fly_runs(s, 1, runs, v)
                    )
                )
        whole, air = (median(spent[rest]) for rest in (True, False))
        show(
            f"to rest on {strut} struts, over to the first touch",
            f"{whole / air:.2f} times: the last second costs {whole / air - 1.0:.2f} of the flight",
        )


def draws() -> None:
    """Flights that Latin hypercube and Sobol' draws save for the same interval."""
    from sim.scenario import load_scenario
    from tests.benchmarks.draws import FLIGHTS, REPLICATES, gains

    for (method, name), gain in gains(load_scenario(DEMO)).items():
        show(
            f"{method.replace('_', ' ')}, mean {name}",
            f"{gain:5.1f} times fewer flights ({REPLICATES} ensembles of {FLIGHTS})",
        )


def workers() -> None:
    """Wall time of an ensemble with one worker and with two, and where it goes."""
    from sim.ensemble.run import disperse
    from sim.scenario import load_scenario

    scenario = load_scenario(DEMO)
    flights = 16_384
    spent: dict[int, list[float]] = {1: [], 2: []}
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(3):
            for count, seconds in spent.items():
                start = time.perf_counter()
                out = Path(folder) / "bench.nc"
                disperse(scenario, flights=flights, out=out, workers=count, seed=1).close()
                seconds.append(time.perf_counter() - start)
                out.unlink()
    ratio = median([a / b for a, b in zip(spent[1], spent[2], strict=True)])
    show(f"{flights} flights to file, one worker", f"{median(spent[1]):.2f} s wall")
    show(
        f"{flights} flights to file, two workers",
        f"{median(spent[2]):.2f} s wall, {ratio:.2f} times",
    )


def rooms() -> None:
    """Share of the time of each room, by leaving the others out of a chunk of work."""
    from sim.ensemble.draws import draw_numbers
    from sim.ensemble.fly_runs import _fly, finished, fly_runs
    from sim.ensemble.prepare import flight_inputs
    from sim.scenario import load_scenario

    scenario = load_scenario(DEMO)
    runs = np.arange(512, dtype=np.int64)
    values = draw_numbers(scenario, 1, runs, flights=10_000)
    fly_runs(scenario, 1, runs, values)
    raw, _ = _fly(scenario, 1, runs, values, 8, trace_rows=0)
    parts = {
        "drawing": lambda: draw_numbers(scenario, 1, runs, flights=10_000),
        "numbers to kernel fields": lambda: flight_inputs(values, scenario, len(runs)),
        "outcomes to public names": lambda: finished(raw, scenario, values),
        "all of a chunk": lambda: fly_runs(scenario, 1, runs, values),
    }
    found = {
        name: median([processor_seconds(work) for _ in range(ROUNDS)])
        for name, work in parts.items()
    }
    whole = found["all of a chunk"] + found["drawing"]
    for name, seconds in found.items():
        show(name, f"{1e3 * seconds:7.1f} ms a chunk of 512, {100 * seconds / whole:.0f} %")


def commands() -> None:
    """Wall time of whole commands: cold (nothing cached), then warm."""
    with tempfile.TemporaryDirectory() as home:
        environment = {**os.environ, "NUMBA_CACHE_DIR": home, "PYTHONPATH": str(DEMO.parents[1])}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)  # as a user has it
        call = [sys.executable, "-c", "from sim.cli import program; program()"]

        def run(*arguments: str) -> tuple[float, float]:
            """Seconds to the first line printed, and in all."""
            start = time.perf_counter()
            process = subprocess.Popen(
                [*call, *arguments], cwd=home, env=environment, stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )  # fmt: skip
            assert process.stdout is not None
            process.stdout.readline()
            first = time.perf_counter() - start
            process.communicate()
            if process.returncode != 0:
                raise RuntimeError(f"setdown {' '.join(arguments)} failed")
            return first, time.perf_counter() - start

        def timed(what: str, *arguments: str, times: int = 3) -> None:
            seconds = [run(*arguments) for _ in range(times)]
            first, whole = (median(one) for one in zip(*seconds, strict=True))
            show(what, f"{first:.2f} s to the first line, {whole:.2f} s in all")

        (Path(home) / "results").mkdir()
        run("--help")  # Python keeps its byte code
        timed("setdown --help", "--help", times=5)
        timed("setdown fly, cold", "fly", str(DEMO), times=1)
        timed("setdown fly, warm", "fly", str(DEMO))
        timed("setdown fly, warm, without a picture", "fly", str(DEMO), "--no-picture")
        for _ in range(3):
            timed("setdown disperse, 10,000 flights, warm", "disperse", str(DEMO), times=1)
            for left in (Path(home) / "results").glob("heron.nc*"):
                left.unlink()


def memory() -> None:
    """Peak memory of an ensemble, in a process of its own for each size."""
    for flights in (1_000, 10_000, 40_000):
        show(
            f"peak memory, {flights} flights to file",
            f"{peak_memory(DEMO, flights) / 2**20:.0f} MB",
        )


def faults() -> None:
    """Cost of faults that never happen; under 5 % is aimed at."""
    rate, extra = never_happening(DEMO, ROUNDS)
    show("eight faults that never happen", f"{100 * extra:+.1f} % of {rate:.0f} flights/s")


BENCHES = {
    "faults": faults,
    "widths": widths,
    "arithmetic": arithmetic,
    "touchdown": touchdown,
    "draws": draws,
    "workers": workers,
    "rooms": rooms,
    "memory": memory,
    "commands": commands,
}


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument(
        "names", nargs="*", choices=[*BENCHES, []], help="which; all if none is named"
    )
    for name in parser.parse_args().names or BENCHES:
        sys.stdout.write(f"{name}: {BENCHES[name].__doc__}\n")
        BENCHES[name]()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    show("peak memory of this process", f"{peak:.0f} MB")


if __name__ == "__main__":
    main()
