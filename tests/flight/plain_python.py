"""Fly a short piece of a flight and print its outcomes, bit for bit.

Run by test_same_bits.py twice: compiled, and as plain Python (NUMBA_DISABLE_JIT=1), where a
debugger and coverage see the kernel.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).parents[2]))

from sim.ensemble.fly_runs import fly_trace
from sim.scenario import load_scenario


def main(longest, width, name):
    root = Path(__file__).parents[2]
    scenario = load_scenario(root / "scenarios" / name, sets=[f"flight.longest={longest}"])
    values = {"landing_motor.ignition_delay": np.array([0.05]), "wind.speed": np.array([4.0])}
    outcomes, trace = fly_trace(scenario, 11, 5, values, width=width)
    for found in (outcomes, trace):
        for name, numbers in sorted(found.items()):
            sys.stdout.write(f"{name} {np.asarray(numbers, dtype=np.float64).tobytes().hex()}\n")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), sys.argv[3])
