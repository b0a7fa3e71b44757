"""The uncertain numbers of a scenario as independent standard normal ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.draws import cholesky, uncertain_names
from sim.ensemble.protocols import Floats, ScenarioLike
from sim.ensemble.sources import is_direction
from sim.ensemble.uniforms import LARGEST, SMALLEST


@dataclass(frozen=True)
class NormalSpace:
    """Map from points to values.

    Attributes
    ----------
    scenario : Scenario
    names : tuple of str
        Of the uncertain numbers, one a dimension.
    mixing : ndarray (d, d)
        Lower triangular factor of the correlations, rows in the order of `names`.
    free : ndarray of bool (d,)
        Directions with a uniform law: none is less probable than another.
    """

    scenario: Any
    names: tuple[str, ...]
    mixing: Floats
    free: NDArray[np.bool_]

    def values(self, points: Floats) -> dict[str, Floats]:
        """Values by name, each (n,), at points (n, d)."""
        from scipy.special import ndtr

        scores = points @ self.mixing.T
        uniforms = np.clip(ndtr(scores), SMALLEST, LARGEST)
        return {
            name: np.asarray(self.scenario.numbers[name].law.quantile(uniforms[:, i]))
            for i, name in enumerate(self.names)
        }


def normal_space(scenario: ScenarioLike) -> NormalSpace:
    """Make the space of a scenario's uncertain numbers.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    NormalSpace
        Correlated numbers are tied by a Gaussian copula, as in `sim.ensemble.draws`.
    """
    names = uncertain_names(scenario)
    matrix = np.eye(len(names))
    place = {name: i for i, name in enumerate(names)}
    for group in scenario.correlated:
        table = np.asarray(group.correlation, dtype=np.float64)
        for i, one in enumerate(group.names):
            for j, two in enumerate(group.names[:i]):
                if one in place and two in place:
                    value = float(table if table.ndim == 0 else table[i, j])
                    matrix[place[one], place[two]] = matrix[place[two], place[one]] = value
    mixing = np.array(cholesky(matrix.tolist(), names)) if names else matrix
    free = np.array([
        is_direction(name) and scenario.numbers[name].law.kind == "uniform" for name in names
    ], dtype=bool)  # fmt: skip
    return NormalSpace(scenario, tuple(names), mixing, free)
