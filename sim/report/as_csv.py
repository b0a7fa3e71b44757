"""Tables of the screen as comma-separated values, as they are shown there."""

from __future__ import annotations

import csv
import io
from typing import Any

from rich.console import Group
from rich.table import Table
from rich.text import Text


def csv_of(part: Any) -> str:
    """Write what is a table, or a titled one, as CSV (RFC 4180, but lines end as here).

    Parameters
    ----------
    part : Any
        What a verb says: text is left out.

    Returns
    -------
    str
        A line `# title` where there is one, the heads with their units, the rows; a blank line
        after it. Empty for what is no table.
    """
    if isinstance(part, Table):
        return _rows(part) + "\n"
    if isinstance(part, Group):
        text, name = "", ""
        for one in part.renderables:
            if isinstance(one, Table):
                text += (f"# {name}\n" if name else "") + _rows(one) + "\n"
            name = one.plain if isinstance(one, Text) else ""
        return text
    return ""


def _rows(table: Table) -> str:
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\n")
    if table.show_header:
        writer.writerow([_plain(column.header) for column in table.columns])
    cells = [[_plain(cell) for cell in column.cells] for column in table.columns]
    for row in zip(*cells, strict=True):
        if any(row):
            writer.writerow(row)
    return written.getvalue()


def _plain(cell: Any) -> str:
    return cell.plain if isinstance(cell, Text) else str(cell)
