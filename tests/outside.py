"""Checks against the outside: asserted where they stand, and kept as rows of one table.

A test that holds a result against something that this project did not make (a published table, a
closed form, another program) says so with `outside_check`. It fails the test when the two differ by
more than the tolerance; and `pytest --checks FILE.json` writes every check that ran as a row, so
that the table of outside checks cannot say anything that the tests do not.

Tests that call it carry the mark `outside` by themselves (see `tests/conftest.py`):

    pytest -m "outside and not slow" --checks checks.json
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

FROM_MEMORY = "from memory"
"""Said in the source of a value that was not read in the text that it is ascribed to."""

ROWS: list[dict[str, Any]] = []
"""Every check made so far in this process."""


def outside_check(
    *,
    what: str,
    source: str,
    expected: ArrayLike,
    got: ArrayLike,
    tolerance: ArrayLike | None = None,
    relative: float | None = None,
    unit: str,
) -> None:
    """Hold a result against the outside, and keep the comparison as a row.

    Parameters
    ----------
    what : str
        The quantity and the case, as a reader of the table needs it.
    source : str
        Who says so: reference, author, year; with `FROM_MEMORY` where that applies.
    expected, got : array-like of the same shape [unit]
        What the source says and what the project finds.
    tolerance : array-like [unit], optional
        Largest difference allowed; zero for whole numbers that must agree.
    relative : float, optional
        In place of `tolerance`: share of each expected value.
    unit : str
        Of all of them; "1" for a plain number.

    Raises
    ------
    AssertionError
        If a difference is larger, or not a number, or the shapes differ.
    TypeError
        Unless one of `tolerance` and `relative` is given.

    Notes
    -----
    Of several numbers the row shows the one nearest its limit, and how many there were.
    """
    if (tolerance is None) == (relative is None):
        raise TypeError("give either a tolerance or a relative one")
    wanted, found = np.asarray(expected, dtype=float), np.asarray(got, dtype=float)
    allowed = relative * np.abs(wanted) if relative is not None else np.asarray(tolerance, float)
    assert wanted.shape == found.shape, f"{what}: {found.shape} against {wanted.shape}"
    assert wanted.size, f"{what}: nothing to compare"
    row = _worst(wanted.ravel(), found.ravel(), np.broadcast_to(allowed, wanted.shape).ravel())
    # written down before it is judged, so that what fails stands in the table too
    ROWS.append(
        {"what": what, "source": source, **row, "unit": unit, "where": _where()}
    )  # fmt: skip
    assert row["holds"], (
        f"{what}: {row['got']!r} {unit}, but {row['expected']!r} {unit} by {source}; difference "
        f"{row['difference']:.3g}, allowed {row['tolerance']:.3g}"
    )


def _worst(wanted: Any, found: Any, allowed: Any) -> dict[str, Any]:
    """Judge each number, and show the one that is nearest to its limit or farthest beyond it."""
    difference = found - wanted
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.abs(difference) / allowed
    share[(difference == 0.0) & (allowed == 0.0)] = 0.0
    share[np.isnan(share)] = np.inf
    place = int(np.argmax(share))
    return {
        "expected": float(wanted[place]), "got": float(found[place]),
        "difference": float(difference[place]), "tolerance": float(allowed[place]),
        "share": float(share[place]), "numbers": len(wanted),
        "holds": bool(np.all(np.abs(difference) <= allowed)),
    }  # fmt: skip


def _where() -> str:
    """Test that is running, as pytest names it."""
    return os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0]


def write_rows(path: Path) -> None:
    """Write all rows so far as JSON; what is not finite as a word."""
    rows = [
        {key: _plain(value) for key, value in row.items()}
        for row in sorted(ROWS, key=lambda row: row["where"])
    ]
    path.write_text(json.dumps({"checks": rows}, indent=1) + "\n", encoding="utf-8")


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, float) and not np.isfinite(value) else value
