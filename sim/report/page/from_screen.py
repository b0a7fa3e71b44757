"""The tables that the screen shows, as blocks of a page: one place for rows, units and words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sim.report.page.blocks import Table

if TYPE_CHECKING:
    from rich.console import Group


def from_screen(shown: Group, first: str, *, left: int = 1, note: str = "") -> Table:
    """Make a block of a titled table.

    Parameters
    ----------
    shown : Group
        From `sim.report.tables.titled`: its title, then its table.
    first : str
        Head of the first column, which the screen may leave empty.
    left : int
        Columns, from the first, that hold words.
    note : str
        Below the table.
    """
    parts: Sequence[Any] = shown.renderables
    title, table = parts
    heads = [str(column.header) for column in table.columns]
    columns = [[str(cell) for cell in column.cells] for column in table.columns]
    rows = [row for row in zip(*columns, strict=True) if any(row)]
    return Table(str(title), [heads[0] or first, *heads[1:]], rows, left=left, note=note)
