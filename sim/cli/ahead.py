"""Loading the libraries of the answer while the flights are flown."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib import import_module

Report = Callable[[int, int], None]


@contextmanager
def loading_ahead(report: Report, names: Sequence[str]) -> Iterator[Report]:
    """Import modules in a thread as soon as some flights are done; yields what reports progress.

    Flying leaves the interpreter idle, so that the wait for large libraries is hidden in it. Not
    before the first flights: until then the flying threads import modules themselves, and two
    threads that import what needs each other can meet half a module. Nor beyond the last flight:
    then the ensemble is opened, by the same libraries.

    Parameters
    ----------
    report : callable
        Told flights done and flights in all.
    names : sequence of str
        Of modules. One that cannot be imported is left for its user to complain of.
    """
    thread = threading.Thread(target=_import, args=(names,), name="loading ahead")
    begun: int | None = None

    def told(done: int, total: int) -> None:
        nonlocal begun
        begun = done if begun is None else begun
        if done > begun and thread.ident is None:
            thread.start()
        if done >= total and thread.ident is not None:
            thread.join()
        report(done, total)

    yield told
    if thread.ident is not None:  # whoever stops or fails does not wait for it
        thread.join()


def _import(names: Sequence[str]) -> None:
    for name in names:
        with suppress(Exception):
            import_module(name)
    with suppress(Exception):  # at its first dataset xarray looks for optional libraries, and loads
        import_module("xarray").Dataset(coords={"run": [0]})  # those that are there
