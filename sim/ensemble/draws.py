"""Drawing the uncertain numbers of a scenario for any set of runs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from sim.ensemble.protocols import Floats, Runs, ScenarioLike
from sim.ensemble.uniforms import LARGEST, SMALLEST, uniform_source
from sim.errors import UserMistake

_ROUNDING = 1e-12  # a pivot of a correlation matrix this small is a zero


def uncertain_names(scenario: ScenarioLike) -> list[str]:
    """Names of the numbers whose law is not fixed, in alphabetical order."""
    return sorted(name for name, n in scenario.numbers.items() if n.law.kind != "fixed")


def draw_numbers(
    scenario: ScenarioLike,
    seed: int,
    runs: Runs | Sequence[int],
    *,
    method: str = "random",
    flights: int | None = None,
) -> dict[str, Floats]:
    """Draw the true values of every uncertain number of a scenario, for each of some runs.

    The value for run i of a number depends on seed, name and i only (see
    `sim.ensemble.uniforms` for the two other methods), so that adding or removing a number leaves
    the others, and any set of runs in any order gives the same values.

    Parameters
    ----------
    scenario : Scenario
        Its `numbers` and `correlated` are read.
    seed : int
        Of the ensemble.
    runs : array of int, shape (n,)
        Run numbers, from 0.
    method : {"random", "latin_hypercube", "sobol"}
        How the laws are filled.
    flights : int, optional
        Flights of the whole ensemble; a Latin hypercube needs it.

    Returns
    -------
    dict of str to ndarray (n,) [SI]
        By dotted name, alphabetical.

    Raises
    ------
    UserMistake
        Unknown method, or correlations that contradict one another.

    Notes
    -----
    Correlated numbers are tied by a Gaussian copula: normal scores mixed by the Cholesky factor
    of the correlation matrix, members in alphabetical order, then mapped back, so that each keeps
    its law. The correlation is that of the normal scores. A fixed member still takes its part in
    the mixing: fixing one number leaves the draws of its companions.
    """
    wanted = np.ascontiguousarray(runs, dtype=np.int64)
    dimensions = {name: place for place, name in enumerate(sorted(scenario.numbers))}
    source = uniform_source(method, seed, wanted, flights, dimensions)
    names = uncertain_names(scenario)
    tied = _tied_uniforms(scenario.correlated, set(names), source)
    found: dict[str, Floats] = {}
    for name in names:
        uniform = tied[name] if name in tied else source(name)
        found[name] = np.asarray(scenario.numbers[name].law.quantile(uniform), dtype=np.float64)
    return found


def all_values(scenario: ScenarioLike, drawn: Mapping[str, Floats]) -> dict[str, Floats | float]:
    """Every number of a scenario: the drawn ones as arrays, the fixed ones as they stand."""
    fixed: dict[str, Floats | float] = {n: float(v.value) for n, v in scenario.numbers.items()}
    return fixed | dict(drawn)


# -- correlation -------------------------------------------------------------------------------


def _tied_uniforms(
    groups: Sequence[Any], wanted: set[str], source: Callable[[str], Floats]
) -> dict[str, Floats]:
    """Uniforms of the numbers that really are mixed with others."""
    found: dict[str, Floats] = {}
    for names, matrix in _merged(groups):
        if wanted.isdisjoint(names):
            continue
        factor = cholesky(matrix, names)
        scores: dict[str, Floats] = {}
        for row, name in zip(factor, names, strict=True):
            parts = [(c, n) for c, n in zip(row, names, strict=True) if c != 0.0]
            if name in wanted and [n for _, n in parts] != [name]:
                found[name] = _mix(parts, scores, source)
    return found


def _mix(
    parts: list[tuple[float, str]], scores: dict[str, Floats], source: Callable[[str], Floats]
) -> Floats:
    """Add weighted normal scores in a fixed order.

    Not by a matrix product: a library may add in another order for another number of runs, and a
    flight would then depend on its chunk.
    """
    from scipy.special import ndtr, ndtri

    total: Floats = np.zeros(1)
    for weight, name in parts:
        if name not in scores:
            scores[name] = ndtri(source(name))
        term = weight * scores[name]
        total = total + term
    mixed: Floats = np.clip(ndtr(total), SMALLEST, LARGEST)
    return mixed


def _merged(groups: Sequence[Any]) -> list[tuple[list[str], list[list[float]]]]:
    """Correlation matrices of numbers that hang together, names in alphabetical order."""
    pairs: dict[tuple[str, str], float] = {}
    clusters: list[set[str]] = []
    for group in groups:
        members = set(group.names)
        touching = [c for c in clusters if c & members]
        clusters = [c for c in clusters if not c & members] + [members.union(*touching)]
        _add_pairs(pairs, group)
    merged = []
    for cluster in sorted(map(sorted, clusters)):
        matrix = [
            [1.0 if a == b else pairs.get((min(a, b), max(a, b)), 0.0) for b in cluster]
            for a in cluster
        ]
        merged.append((cluster, matrix))
    return merged


def _add_pairs(pairs: dict[tuple[str, str], float], group: Any) -> None:
    table = np.asarray(group.correlation, dtype=np.float64)
    for i, a in enumerate(group.names):
        for j, b in enumerate(group.names[:i]):
            value = float(table if table.ndim == 0 else table[i, j])
            pairs[min(a, b), max(a, b)] = value  # a later group overrides an earlier one


def cholesky(matrix: list[list[float]], names: Sequence[str]) -> list[list[float]]:
    """Lower Cholesky factor of a correlation matrix that may be singular.

    Written out, so that its bits do not depend on a linear-algebra library.

    Raises
    ------
    UserMistake
        No set of numbers can have these correlations (the matrix has a negative eigenvalue).
    """
    size = len(matrix)
    factor = [[0.0] * size for _ in range(size)]
    for i in range(size):
        for j in range(i + 1):
            rest = matrix[i][j] - sum(factor[i][k] * factor[j][k] for k in range(j))
            if i == j and rest >= -_ROUNDING:
                factor[i][i] = float(np.sqrt(rest)) if rest > _ROUNDING else 0.0
            elif i > j and factor[j][j] > 0.0:
                factor[i][j] = rest / factor[j][j]
            elif i == j or abs(rest) > _ROUNDING**0.5:
                raise UserMistake(
                    "correlated: no numbers can have these correlations together: "
                    f"{', '.join(names)}; make them smaller, or give all pairs"
                )
    return factor
