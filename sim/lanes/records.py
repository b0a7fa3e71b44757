"""Records: the rows of a work array by name, `p.mass`."""

import difflib
from collections.abc import Callable, Iterable
from typing import Any

_VIEWS: list[Any] = []
_DECLARED_TO: list[Callable[[Any], None]] = []  # the compiler, once it has been loaded


def declare_to(declare: Callable[[Any], None]) -> None:
    """Tell the compiler of the records that there are, and of those to come."""
    _DECLARED_TO.append(declare)
    for view in _VIEWS:
        declare(view)


def lane_record(title: str, fields: Iterable[str]) -> Callable[[Any, Any], Any]:
    """Return a function view(lanes, array) that gives the rows of an array their names.

    The array is float64, C-ordered, of shape (len(fields), lanes.width); `p = view(lanes, array)`
    then reads and writes `p.name`. A name that is no field is an error that names it. `p` cannot
    be passed between Python and a kernel: pass the array, and look through it inside. It does not
    keep the array alive: the array must come into the kernel as an argument.

    Parameters
    ----------
    title : str
        What error messages call it.
    fields : iterable of str
        Names of the rows, in order; valid identifiers, no two alike.

    Raises
    ------
    ValueError
        If a name is no identifier or stands twice.
    """
    fields = tuple(fields)
    for name in fields:
        if not name.isidentifier() or fields.count(name) > 1:
            raise ValueError(f"{title}: field {name!r} stands twice or is no identifier")

    rows = {name: row for row, name in enumerate(fields)}

    def view(lanes: Any, array: Any) -> Any:  # noqa: ARG001
        if "plain" not in kept:
            kept["plain"] = _plain_record(title, rows)
        return kept["plain"](array)

    kept: dict[str, type] = {}
    view.title, view.fields = title, fields  # type: ignore[attr-defined]
    _VIEWS.append(view)
    for declare in _DECLARED_TO:
        declare(view)
    return view


def field_error(title: str, fields: tuple[str, ...], name: str) -> str:
    near = difflib.get_close_matches(name, fields, 1)
    return f"{title} has no field '{name}'" + (f"; did you mean '{near[0]}'?" if near else "")


def _plain_record(title: str, rows: dict[str, int]) -> type:
    """Make the class of such a view in plain Python, at width 1."""
    shape = (len(rows), 1)

    class PlainRecord:
        __slots__ = ("column",)
        column: Any

        def __init__(self, array: Any) -> None:
            if array.shape != shape:
                raise ValueError(f"{title}: the array must have shape {shape}")
            object.__setattr__(self, "column", array[:, 0])

        def __getattr__(self, name: str) -> Any:  # of what is no field: those are below
            raise AttributeError(field_error(title, tuple(rows), name))

        def __setattr__(self, name: str, value: Any) -> None:
            if name not in rows:
                raise AttributeError(field_error(title, tuple(rows), name))
            self.column[rows[name]] = value

    for name, row in rows.items():
        setattr(PlainRecord, name, _reader(row))
    return PlainRecord


def _reader(row: int) -> property:
    return property(lambda record: record.column[row])
