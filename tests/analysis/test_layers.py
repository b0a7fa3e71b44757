"""The core works on plain arrays: it loads without the libraries of the layers above."""

from __future__ import annotations

import subprocess
import sys

import pytest

CORE = (
    "order_statistics",
    "proportions",
    "radial",
    "tolerance_factors",
    "circle",
    "sequential",
    "sensitivity",
)
LABELLED = (
    "landing_box",
    "touchdown",
    "navigation",
    "sweep",
    "compare",
    "howmany",
    "landing_pad",
    "budget",
)


@pytest.mark.parametrize("rooms", [CORE, LABELLED], ids=["core", "labelled"])
def test_layers__nothing_labelled_is_loaded_before_it_is_needed(rooms):
    names = ", ".join(f"sim.analysis.{room}" for room in rooms)
    heavy = "xarray", "pandas", "matplotlib", "click", "netCDF4", "numba", "scipy.stats"
    code = f"import sys, {names}; print(*(set(sys.modules) & set({heavy!r})))"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    assert loaded == []
