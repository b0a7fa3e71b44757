"""The table of outside checks: a check can fail, and says what it found either way."""

import json

import numpy as np
import pytest

from tests import outside
from tests.outside import outside_check, write_rows

ABOUT = {"what": "a made-up number", "source": "nobody", "unit": "m"}


@pytest.fixture(autouse=True)
def rows(monkeypatch):
    """Rows of these tests alone: they are about no number of the project."""
    kept = []
    monkeypatch.setattr(outside, "ROWS", kept)
    return kept


def check(**given):
    outside_check(**{**ABOUT, **given})


def test_outside_check__keeps_the_number_nearest_to_its_limit(rows):
    check(expected=[1.0, 2.0, 3.0], got=[1.0, 2.08, 3.02], tolerance=0.1)
    assert rows[0]["numbers"] == 3
    assert rows[0]["got"] == 2.08
    assert rows[0]["share"] == pytest.approx(0.8)
    assert "test_outside_check__keeps" in rows[0]["where"]


@pytest.mark.parametrize(
    "given",
    [{"expected": 1.0, "got": 1.2, "tolerance": 0.1},
     {"expected": 1.0, "got": 1.2, "relative": 0.1},
     {"expected": 1.0, "got": np.nan, "tolerance": 1e9}, {"expected": 3, "got": 4, "tolerance": 0},
     {"expected": [1.0, 2.0], "got": 1.0, "tolerance": 5.0},
     {"expected": [], "got": [], "tolerance": 1.0}],
)  # fmt: skip
def test_outside_check__fails(given):
    with pytest.raises(AssertionError, match="made-up"):
        check(**given)


@pytest.mark.parametrize("given", [{}, {"tolerance": 1.0, "relative": 1.0}])
def test_outside_check__wants_one_tolerance(given):
    with pytest.raises(TypeError):
        check(expected=1.0, got=1.0, **given)


def test_write_rows__what_failed_stands_in_the_table_too(rows, tmp_path):
    with pytest.raises(AssertionError):
        check(expected=0.0, got=np.inf, tolerance=1.0)
    check(expected=0.0, got=0.0, tolerance=0.0)
    write_rows(tmp_path / "checks.json")
    written = json.loads((tmp_path / "checks.json").read_text())["checks"]
    assert [row["holds"] for row in written] == [False, True]
    assert written[0]["got"] == "inf"
