"""Peak memory of an ensemble, in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

# Linux tells the peak of the program itself; what getrusage says is handed on from whoever started
# it, which may have been larger.
CODE = """
import pathlib, resource, sys, tempfile
from sim.ensemble.run import disperse
from sim.scenario import load_scenario
scenario = load_scenario(sys.argv[1])
with tempfile.TemporaryDirectory() as folder:
    disperse(scenario, flights=int(sys.argv[2]), seed=1, out=pathlib.Path(folder) / "m.nc").close()
status = pathlib.Path("/proc/self/status")
if status.exists():
    lines = status.read_text().splitlines()
    print(next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) * 1024)
else:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(peak if sys.platform == "darwin" else peak * 1024)
"""


def peak_memory(scenario: Path, flights: int) -> int:
    """Most memory [bytes] in use while so many flights are flown to a file."""
    done = subprocess.run(
        [sys.executable, "-c", CODE, str(scenario), str(flights)],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    return int(done.stdout)
