"""Notebooks are documents, and documents are tests: they run, and are kept without outputs.

They run as plain Python, cell by cell, so that no test needs a notebook server.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
NOTEBOOKS = sorted((TOP / "notebooks").glob("*.ipynb"))
LONGEST = 60.0  # s, for a reader who waits

# each cell under its own name, so that a failure says in which it is
RUNNER = """
import json, sys
from pathlib import Path
names = {"__name__": "__main__"}
book = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
for number, cell in enumerate(book["cells"]):
    if cell["cell_type"] == "code":
        exec(compile("".join(cell["source"]), f"cell {number}", "exec"), names)
"""


def cells(path):
    return json.loads(path.read_text(encoding="utf-8"))["cells"]


def name(path):
    return path.stem


def test_notebooks__are_there():
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_notebook__is_kept_without_outputs(path):
    code = [cell for cell in cells(path) if cell["cell_type"] == "code"]
    assert code
    assert all(cell["outputs"] == [] and cell["execution_count"] is None for cell in code)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_notebook__begins_with_a_title_and_is_plain_python(path):
    first = cells(path)[0]
    assert first["cell_type"] == "markdown"
    assert first["source"][0].startswith("# ")
    for number, cell in enumerate(cells(path)):
        if cell["cell_type"] == "code":
            compile("".join(cell["source"]), f"{path.name}, cell {number}", "exec")


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=name)
def test_notebook__runs(path, tmp_path):
    # from a copy of its place, so that a file it left behind would not stay
    place = tmp_path / "notebooks"
    place.mkdir()
    (tmp_path / "scenarios").symlink_to(TOP / "scenarios")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", RUNNER, str(path)],
        cwd=place,
        env={**os.environ, "PYTHONPATH": str(TOP), "MPLBACKEND": "agg"},
        capture_output=True,
        text=True,
        timeout=4.0 * LONGEST,  # a busy machine, and the first compilation
    )
    assert done.returncode == 0, done.stderr
    assert not list(place.iterdir()), "a notebook leaves nothing behind"
