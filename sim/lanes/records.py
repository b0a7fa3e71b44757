"""Records: the rows of a work array by name, `p.mass`."""

import difflib
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

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

    def view(lanes: Any, array: Any) -> Any:  # noqa: ARG001
        return _PythonRecord(title, fields, array)

    view.title, view.fields = title, fields  # type: ignore[attr-defined]
    _VIEWS.append(view)
    for declare in _DECLARED_TO:
        declare(view)
    return view


def field_error(title: str, fields: tuple[str, ...], name: str) -> str:
    near = difflib.get_close_matches(name, fields, 1)
    return f"{title} has no field '{name}'" + (f"; did you mean '{near[0]}'?" if near else "")


class _PythonRecord:
    """The same view in plain Python, at width 1."""

    _title: str
    _rows: dict[str, int]
    _array: np.ndarray[Any, np.dtype[np.float64]]

    def __init__(self, title: str, fields: tuple[str, ...], array: Any) -> None:
        if array.shape != (len(fields), 1):
            raise ValueError(f"{title}: the array must have shape ({len(fields)}, 1)")
        rows = {name: row for row, name in enumerate(fields)}
        self.__dict__.update(_title=title, _rows=rows, _array=array)

    def _row(self, name: str) -> int:
        if name not in self._rows:
            raise AttributeError(field_error(self._title, tuple(self._rows), name))
        return self._rows[name]

    def __getattr__(self, name: str) -> Any:
        return self._array[self._row(name), 0]

    def __setattr__(self, name: str, value: Any) -> None:
        self._array[self._row(name), 0] = value
