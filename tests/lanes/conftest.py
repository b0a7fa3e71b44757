import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))  # the helpers beside the tests: lane_kernels, minimax


@pytest.fixture(scope="session")
def by_width():
    """Results of every kernel, by width; computed when first asked for."""
    import lane_kernels

    class Results(dict):
        def __missing__(self, width):
            self[width] = lane_kernels.run(width)
            return self[width]

    return Results()


@pytest.fixture(scope="session")
def in_plain_python(tmp_path_factory):
    """Results of the same kernels at width 1 with the compiler off, for every 64th value."""
    target = tmp_path_factory.mktemp("plain") / "results.npz"
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": str(HERE.parent.parent)}
    command = [sys.executable, "-W", "error", str(HERE / "lane_kernels.py"), str(target)]
    subprocess.run(command, env=environment, check=True)
    with np.load(target) as results:
        return dict(results)
