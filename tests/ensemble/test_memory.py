"""Memory does not grow with the number of flights."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
RUN = """
import resource, sys
from sim.ensemble.run import disperse
from tests.ensemble.stand_in import Scenario, fly
disperse(Scenario(), flights=int(sys.argv[1]), fly=fly, workers=2, out=sys.argv[2]).close()
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.nightly
@pytest.mark.skipif(sys.platform == "win32", reason="the system does not tell the peak")
def test_disperse__peak_memory_is_that_of_a_smaller_run(tmp_path):
    """The larger run has 180 MB more of results; a ninth of them in memory would show."""

    def peak(flights):
        done = subprocess.run(
            [sys.executable, "-c", RUN, str(flights), str(tmp_path / "a.nc")],
            env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
            check=True,
        )  # fmt: skip
        return float(done.stdout) / (1e6 if sys.platform == "darwin" else 1e3)  # MB

    few, many = peak(30_000), peak(300_000)
    assert many - few < 20.0
