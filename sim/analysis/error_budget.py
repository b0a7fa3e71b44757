"""Error budget of several outcomes at once, one of them the miss, which has two components.

Sources: F. Gamboa, A. Janon, T. Klein, A. Lagnoux, Electronic J. Statistics 8 (2014) 575
(generalised indices of a vector: variances of the components added); estimators as in
`sim.analysis.sensitivity`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.flights import BOUND, Floats
from sim.analysis.radial import mean_half_width
from sim.analysis.sensitivity import Indices, sobol_estimates
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset


def vector_indices(a: Floats, b: Floats, mixed: Floats, *, confidence: float = 0.95) -> Indices:
    """Sobol' indices of a vector, from independent replicates of the draws.

    Parameters
    ----------
    a, b : ndarray (replicates, components, n)
        Outcome at two independent sets of draws.
    mixed : ndarray (replicates, sources, components, n)
        Outcome at A with one source's draws from B.
    confidence : float [1]

    Returns
    -------
    Indices
        Mean over replicates with Student's interval; `variance` is that of all components together.

    Raises
    ------
    UserMistake
        Nothing varies, a value is not finite, or there is one replicate only.
    """
    if len(a) < 2:
        raise UserMistake("an interval needs two replicates of the draws or more")
    rows = [_one(*replicate) for replicate in zip(a, b, mixed, strict=True)]
    variance = float(np.mean([row[2] for row in rows]))
    if variance == 0.0:
        raise UserMistake("the outcome does not vary, so there is nothing to share out")
    # one variance for all: a small replicate may by chance have hardly any of its own
    firsts, totals = (np.array([row[i] for row in rows]) / variance for i in (0, 1))
    return Indices(_student(firsts, confidence), _student(totals, confidence), variance)


def _one(a: Floats, b: Floats, mixed: Floats) -> tuple[Floats, Floats, float]:
    """Parts of the variance, first order and total, and the variance, of one replicate."""
    first = np.zeros(len(mixed))
    total = np.zeros(len(mixed))
    variance = 0.0
    for component in range(len(a)):
        if np.ptp(a[component]) == 0.0 and np.ptp(b[component]) == 0.0:
            continue
        found = sobol_estimates(a[component], b[component], mixed[:, component])
        first += found[0] * found[2]
        total += found[1] * found[2]
        variance += found[2]
    return first, total, variance


def error_budget(
    sources: Sequence[str],
    outcomes: Mapping[str, tuple[Floats, Floats, Floats, str]],
    *,
    confidence: float = 0.95,
) -> Dataset:
    """Error budget of several outcomes.

    Parameters
    ----------
    sources : sequence of str
    outcomes : mapping
        By quantity: a, b, mixed as in `vector_indices`, and the unit.
    confidence : float [1]
        Of each interval by itself.

    Returns
    -------
    Dataset
        first and total(quantity, source, bound), shares of the variance; alone and
        with_interactions, the square roots of these parts in the quantity's own unit, and
        left_if_fixed, the root of the variance left on average without that source; spread and unit
        per quantity.
    """
    import xarray as xr

    found = {
        name: vector_indices(a, b, mixed, confidence=confidence)
        for name, (a, b, mixed, _) in outcomes.items()
    }
    where = ("quantity", "source", "bound")
    share = {"units": "1", "method": "Student, over independent replicates"}
    own = {"comment": "in the unit of the quantity", "method": share["method"]}
    every = list(found.values())
    entries: dict[str, Any] = {
        "first": (where, np.array([row.first for row in every]), share),
        "total": (where, np.array([row.total for row in every]), share),
        "alone": (where, np.array([_root(row.first, row.variance) for row in every]), own),
        "with_interactions": (
            where, np.array([_root(row.total, row.variance) for row in every]), own,
        ),
        "left_if_fixed": (
            where,
            np.array([_root(1.0 - row.first[:, ::-1], row.variance) for row in every]),
            own,
        ),
        "spread": (("quantity",), [np.sqrt(row.variance) for row in every], own),
        "unit": (("quantity",), [unit for _, _, _, unit in outcomes.values()]),
    }  # fmt: skip
    coords = {"quantity": list(found), "source": list(sources), "bound": list(BOUND)}
    return xr.Dataset(entries, coords=coords, attrs={"confidence": confidence})


def _student(samples: Floats, confidence: float) -> Floats:
    mean, spread = samples.mean(axis=0), samples.std(axis=0, ddof=1)
    half = np.array([mean_half_width(len(samples), float(s), confidence) for s in spread])
    return np.stack([mean - half, mean, mean + half], axis=1)


def _root(shares: Floats, variance: float) -> Floats:
    spread: Floats = np.sqrt(np.clip(shares, 0.0, None) * variance)
    return spread
