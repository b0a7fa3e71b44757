"""Where things are, for tests that give commands."""

import os
from pathlib import Path

ROOT = Path(__file__).parents[2]
HERON = ROOT / "scenarios" / "heron.toml"
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}
"""Of other processes, which start in another folder."""
