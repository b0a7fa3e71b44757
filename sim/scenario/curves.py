"""Tables of numbers that a scenario names: thrust curves, wind profiles, coefficients.

A table is a CSV file of numbers (commas, semicolons, tabs or blanks between them, lines starting
with # and one line of titles allowed), or a list of rows in the scenario itself.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

from sim.scenario.amounts import AmountProblem
from sim.scenario.declare import Curve, CurveSpec
from sim.scenario.layers import FileTrouble, read_text
from sim.scenario.units import unit_scale

_BLANK = re.compile(r"[,;\t ]+")


def read_curve(spec: CurveSpec, raw: object, folder: Path) -> Curve | AmountProblem:
    """Read and check a table.

    Parameters
    ----------
    spec : CurveSpec
        Its columns.
    raw : object
        File name, or list of rows.
    folder : Path
        That a file name is relative to.
    """
    columns = ", ".join(f"{name} [{unit}]" for name, unit in spec.columns)
    if isinstance(raw, str):
        rows = _read_file(spec, folder / raw, raw)
        source = raw
    elif isinstance(raw, list):
        rows = _inline_rows(spec, raw)
        source = "in place"
    else:
        return AmountProblem(repr(raw), f"name a CSV file with the columns {columns}")
    if isinstance(rows, AmountProblem):
        return rows
    problem = _check_rows(spec, rows, source)
    if problem is not None:
        return problem
    return Curve([row for _, row in rows], _to_array(spec, rows), source)


Rows = list[tuple[str, list[float]]]
"""Each row with the words that tell where it stands."""


def _read_file(spec: CurveSpec, path: Path, name: str) -> Rows | AmountProblem:
    text = read_text(path)
    if isinstance(text, FileTrouble):
        return AmountProblem(f"{name}: {text.found}", text.right)
    width = len(spec.columns)
    rows: Rows = []
    titles_seen = False
    for number, line in enumerate(text.splitlines(), 1):
        content = line.split("#", 1)[0].strip()
        if not content:
            continue
        cells = _cells(content)
        where = f"{name}, line {number}"
        if not rows and not titles_seen and not any(_number(cell) is not None for cell in cells):
            titles_seen = True
            continue
        if len(cells) != width:
            wanted = " and ".join(f"{title} [{unit}]" for title, unit in spec.columns)
            return AmountProblem(f"{where}: {len(cells)} columns", f"write {width}: {wanted}")
        values = []
        for (title, _), cell in zip(spec.columns, cells, strict=True):
            value = _number(cell)
            if value is None or not math.isfinite(value):
                found = f'"{cell}"' if cell else "nothing"
                return AmountProblem(f"{where}: {title} is {found}", "write a finite number there")
            values.append(value)
        rows.append((where, values))
    return rows


def _cells(content: str) -> list[str]:
    for separator in (";", ",", "\t"):
        if separator in content:
            return [cell.strip() for cell in content.split(separator)]
    return _BLANK.split(content)


def _number(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def _inline_rows(spec: CurveSpec, raw: list[Any]) -> Rows | AmountProblem:
    rows: Rows = []
    for index, row in enumerate(raw, 1):
        good = isinstance(row, list) and len(row) == len(spec.columns)
        if not good or not all(_is_finite(item) for item in row):
            wanted = ", ".join(f"{title} [{unit}]" for title, unit in spec.columns)
            return AmountProblem(f"row {index} is {row!r}", f"write numbers for {wanted}")
        rows.append((f"row {index}", [float(item) for item in row]))
    return rows


def _is_finite(item: object) -> bool:
    return isinstance(item, (int, float)) and not isinstance(item, bool) and math.isfinite(item)


def _check_rows(spec: CurveSpec, rows: Rows, source: str) -> AmountProblem | None:
    """Check what every table must obey, then what a thrust curve must."""
    least = 4 if spec.columns[1][0] == "thrust" else 2
    if len(rows) < least:
        return AmountProblem(f"{source} has {len(rows)} rows of numbers", f"give {least} or more")
    title = spec.columns[0][0]
    if rows[0][1][0] < 0:
        return AmountProblem(
            f"{rows[0][0]}: {title} {rows[0][1][0]:g} is below zero",
            f"start the {title} at zero or later",
        )
    for (_, before), (where, row) in pairwise(rows):
        if row[0] <= before[0]:
            return AmountProblem(
                f"{where}: {title} {row[0]:g} after {before[0]:g}",
                f"sort the rows by {title}, each once",
            )
    return _check_thrust(rows, source) if spec.columns[1][0] == "thrust" else None


def _check_thrust(rows: Rows, source: str) -> AmountProblem | None:
    values = [row for _, row in rows]
    peak = max(thrust for _, thrust in values)
    impulse = sum(0.5 * (b[0] - a[0]) * (a[1] + b[1]) for a, b in pairwise(values))
    if peak <= 0 or impulse <= 0:
        return AmountProblem(
            f"{source} has a total impulse of {impulse:.3g} N s", "check the sign of the thrust"
        )
    if abs(values[-1][1]) > 0.05 * peak:
        return AmountProblem(
            f"{rows[-1][0]}: thrust ends at {values[-1][1]:g} N",
            f"log on until it is below 5 % of the peak, {0.05 * peak:.3g} N",
        )
    return None


def _to_array(spec: CurveSpec, rows: Rows) -> Any:
    import numpy as np

    array = np.array([row for _, row in rows], dtype=np.float64)
    array *= [unit_scale(unit)[0] for _, unit in spec.columns]
    array.flags.writeable = False
    return array
