"""Groups of numbers that are drawn together.

    [[correlated]]
    numbers = ["ascent_motor.label_bias", "landing_motor.label_bias"]
    correlation = 0.9

The correlation is of the normal scores behind the draws (a Gaussian copula), between each pair of
the group. Pairs that no group names are independent; a later group overrides an earlier one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim.scenario.amounts import AmountProblem, read_quantity
from sim.scenario.catalogue import nearest_name
from sim.scenario.dimensions import DIMENSIONS
from sim.scenario.numbers import Number

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_EXAMPLE = 'write numbers = ["ascent_motor.label_bias", "landing_motor.label_bias"]'


@dataclass(frozen=True)
class Correlated:
    """Names of two or more numbers and the correlation of each pair of them."""

    names: tuple[str, ...]
    correlation: float


Report = Callable[[tuple[str | int, ...], str, str], None]
"""Takes the path of a mistake, what was found and what would be right."""


def read_groups(
    groups: object,
    numbers: Mapping[str, Number],
    broken: set[str],
    may_drop: Callable[[str, int], bool],
    report: Report,
) -> tuple[Correlated, ...]:
    """Read and check all groups.

    Parameters
    ----------
    groups : object
        What stands under `correlated`.
    numbers : mapping
        All numbers that could be read.
    broken : set of str
        Names with a mistake of their own, about which nothing more is said.
    may_drop : callable
        Whether a number without a spread may silently leave group i, because another layer than
        the group's own fixed it.
    report : callable
        Called for each mistake.
    """
    if not isinstance(groups, list) or not all(isinstance(group, dict) for group in groups):
        report(("correlated",), "this is no group", "write [[correlated]] with two brackets")
        return ()
    good: list[Correlated] = []
    sound = True
    for index, group in enumerate(groups):
        path = ("correlated", index)
        before = len(good)
        names = _names(group, numbers, broken, path, report)
        value = _correlation(group, path, report)
        for key in group:
            if key not in ("numbers", "correlation"):
                report((*path, key), "unknown key", "a group has numbers and correlation")
        if names is None or value is None:
            sound = False
            continue
        kept = _with_laws(names, numbers, index, may_drop, report)
        if kept is None:
            sound = False
        elif len(kept) > 1:
            good.append(Correlated(kept, value))
        assert len(good) - before <= 1
    if sound and good and not _possible(good):
        report(
            ("correlated", len(groups) - 1), "the correlations contradict one another",
            "no numbers can be correlated so: bring some nearer to zero, or name the missing pairs",
        )  # fmt: skip
    return tuple(good)


def _names(
    group: dict[str, Any], numbers: Mapping[str, Number], broken: set[str],
    path: tuple[str | int, ...], report: Report,
) -> tuple[str, ...] | None:  # fmt: skip
    names = group.get("numbers")
    listed = isinstance(names, list) and all(isinstance(name, str) for name in names)
    if not isinstance(names, list) or not listed or len(names) < 2:
        where = (*path, "numbers") if "numbers" in group else path
        report(where, "a group needs the names of two numbers or more", _EXAMPLE)
        return None
    good = True
    for place, name in enumerate(names):
        here = (*path, "numbers", place)
        if name in names[:place]:
            report(here, f'"{name}" is named twice', "name each number once")
            good = False
        elif name not in numbers:
            good = False
            if name not in broken:
                report(here, f'there is no number "{name}"', _suggestion(name, numbers))
    return tuple(names) if good else None


def _suggestion(name: str, numbers: Mapping[str, Number]) -> str:
    axes = [full for full in numbers if full.startswith(name + ".") and len(full) == len(name) + 2]
    if axes:
        return f'it has axes: name one, such as "{axes[0]}"'
    near = nearest_name(name)
    return f'did you mean "{near}"?' if near else "name a number of this scenario"


def _correlation(
    group: dict[str, Any], path: tuple[str | int, ...], report: Report
) -> float | None:
    right = "write a number from -1 to 1, such as 0.9"
    if "correlation" not in group:
        report(path, "correlation is missing", right)
        return None
    here = (*path, "correlation")
    try:
        value = read_quantity(group["correlation"], DIMENSIONS["number"]).value
    except AmountProblem as problem:
        report(here, problem.found, right)
        return None
    if not -1 <= value <= 1:
        report(here, f"{value:g} is no correlation", right)
        return None
    return value


def _with_laws(
    names: Sequence[str], numbers: Mapping[str, Number], index: int,
    may_drop: Callable[[str, int], bool], report: Report,
) -> tuple[str, ...] | None:  # fmt: skip
    kept: list[str] = []
    good = True
    for place, name in enumerate(names):
        if numbers[name].law.varies:
            kept.append(name)
        elif not may_drop(name, index):
            report(
                ("correlated", index, "numbers", place), f'"{name}" has no spread to correlate',
                'give it one ("... +/- ..."), or take it out of the group',
            )  # fmt: skip
            good = False
    return tuple(kept) if good else None


def correlation_matrix(groups: Sequence[Correlated]) -> tuple[tuple[str, ...], NDArray[np.float64]]:
    """Correlation matrix of all numbers that stand in a group.

    Returns
    -------
    names : tuple of str
        Sorted, so that the order of the groups does not matter.
    matrix : ndarray (n, n)
        Of normal scores; positive semi-definite (singular where a correlation is 1 or -1).
    """
    import numpy as np

    names = tuple(sorted({name for group in groups for name in group.names}))
    place = {name: index for index, name in enumerate(names)}
    matrix = np.eye(len(names))
    for group in groups:
        for a in group.names:
            for b in group.names:
                if a != b:
                    matrix[place[a], place[b]] = group.correlation
    return names, matrix


def _possible(groups: Sequence[Correlated]) -> bool:
    import numpy as np

    _, matrix = correlation_matrix(groups)
    return bool(np.linalg.eigvalsh(matrix)[0] > -1e-9)
