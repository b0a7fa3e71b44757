"""The seams of the house, held by importing: what a room must not load."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

# numba loads parts of scipy by itself, so that one is looked for in the sources
HEAVY = ("xarray", "matplotlib", "click", "netCDF4", "pydantic", "rich", "pandas")
ROOMS = ("sim.lanes", "sim.physics.rigid_body", "sim.avionics.computer", "sim.flight")


@pytest.mark.parametrize("room", ROOMS)
def test_kernel_room__loads_nothing_but_numba_and_numpy(room):
    code = f"import sys, {room}\nprint(*[name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_kernel_rooms__do_not_mention_scipy():
    top = Path(__file__).parents[1] / "sim"
    files = [
        *top.glob("flight*.py"),
        *(f for r in ("lanes", "physics", "avionics") for f in (top / r).glob("*.py")),
    ]
    assert len(files) > 30
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not any(name.split(".")[0] == "scipy" for name in names), file


def test_physics__knows_nothing_of_what_flies_on_board():
    code = (
        "import sys, pkgutil, importlib, sim.physics\n"
        "for room in pkgutil.iter_modules(sim.physics.__path__):\n"
        "    importlib.import_module('sim.physics.' + room.name)\n"
        "print(*[name for name in sys.modules if name.startswith('sim.avionics')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_avionics__knows_nothing_of_the_world():
    code = (
        "import sys, sim.avionics.computer, sim.avionics.sensors\n"
        "print(*[name for name in sys.modules if name.startswith('sim.physics')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
