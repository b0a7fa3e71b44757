"""Probabilities over strata: forced ensembles put together by how likely each is.

Sources: W. G. Cochran, Sampling Techniques, 3rd ed. (1977), chapter 5 (the weighted estimate and
its variance), section 9.3 (flights of one number as one cluster); C. J. Clopper and E. S. Pearson,
Biometrika 26 (1934) 404 (one stratum); M. P. Fay, M. A. Proschan and E. Brittain, Biometrics 71
(2015) 146 (exact bounds of several samples joined by drawing from their confidence laws; from
memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.analysis.order_statistics import check_share

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_STREAM = 4242


class Weighted(NamedTuple):
    """A probability over all strata [1] between its bounds; `rest` of it was not flown."""

    lower: float
    estimate: float
    upper: float
    rest: float


class Strata:
    """Weights of strata, and the bounds that follow for any event.

    Parameters
    ----------
    weights : ndarray (strata,) [1]
        Probability of each stratum, at the mean chances.
    samples : ndarray (strata, samples) [1]
        Same, for equally likely samples of chances that are not known for certain.
    flights : sequence of int (strata,)
        Of each stratum; those of one number have the same draws in all strata.

    Notes
    -----
    With certain weights and one stratum the bounds are those of Clopper and Pearson.
    """

    def __init__(self, weights: Floats, samples: Floats, flights: Sequence[int]) -> None:
        self.weights = np.asarray(weights, dtype=np.float64)
        self.samples = np.asarray(samples, dtype=np.float64)
        self.flights = np.asarray(flights, dtype=np.int64)
        self.rest = float(np.clip(1.0 - self.weights.sum(), 0.0, 1.0))
        self.rests = np.clip(1.0 - self.samples.sum(axis=0), 0.0, 1.0)
        random = np.random.default_rng(_STREAM)
        # evenly spread in each stratum, in another order in each: one stratum gives exact bounds
        count = self.samples.shape[1]
        self._even = (np.arange(count) + 0.5) / count
        order = np.tile(np.arange(count), (len(self.weights), 1))
        self._order = random.permuted(order, axis=1)
        self._score = random.standard_normal(self.samples.shape[1])

    def probability(
        self, happened: Sequence[Flags], confidence: float, *, rest: bool = True
    ) -> Weighted:
        """Probability of an event.

        Parameters
        ----------
        happened : sequence of bool array (flights of the stratum,)
        confidence : float [1]
            Two-sided.
        rest : bool
            What the flights that were not flown count as in the estimate.

        Returns
        -------
        Weighted
            In the bounds what was not flown counts as the worse of the two for each.
        """
        check_share("confidence", confidence)
        tail = 0.5 * (1.0 + confidence)
        counts = np.array([int(np.sum(flags)) for flags in happened])
        shares = counts / self.flights
        common = self.shared_variance(happened)
        upper = self.upper(counts, tail, common)
        lower = 1.0 - self.upper(self.flights - counts, tail, common)
        estimate = float(self.weights @ shares) + (self.rest if rest else 0.0)
        return Weighted(min(lower, estimate), estimate, max(upper, estimate), self.rest)

    def upper(self, counts: NDArray[np.int64], confidence: float, common: float = 0.0) -> float:
        """One-sided upper bound of the probability of an event seen so often in each stratum.

        Parameters
        ----------
        counts : int array (strata,)
        confidence : float [1]
        common : float [1]
            Variance that strata have in common, from `shared_variance`.
        """
        laws = self._upper_laws(counts, self._order)
        total = (self.samples * laws).sum(axis=0) + self.rests
        total = total + np.sqrt(common) * self._score
        return float(min(1.0, np.quantile(total, confidence)))

    def difference(
        self, more: Sequence[Flags], fewer: Sequence[Flags], confidence: float
    ) -> Weighted:
        """Probability of one event less that of another that never comes with it.

        Parameters
        ----------
        more, fewer : sequence of bool array (flights of the stratum,)
        confidence : float [1]
            Two-sided.

        Returns
        -------
        Weighted
            From -1 to 1. What was not flown counts against each bound.
        """
        check_share("confidence", confidence)
        tail = 0.5 * (1.0 - confidence)
        up, down = (np.array([int(np.sum(flags)) for flags in each]) for each in (more, fewer))
        signed = [a.astype(np.float64) - b for a, b in zip(more, fewer, strict=True)]
        noise = np.sqrt(self.shared_variance(signed)) * self._score
        size, laws = self.flights, self._upper_laws
        first, second = self._order, np.roll(self._order, 1, axis=0)[:, ::-1]
        high = laws(up, first) - 1.0 + laws(size - down, second)
        low = 1.0 - laws(size - up, first) - laws(down, second)
        lower = np.quantile((self.samples * low).sum(axis=0) - self.rests + noise, tail)
        upper = np.quantile((self.samples * high).sum(axis=0) + self.rests + noise, 1.0 - tail)
        estimate = float(self.weights @ ((up - down) / size))
        return Weighted(
            max(-1.0, float(min(lower, estimate))), estimate,
            min(1.0, float(max(upper, estimate))), self.rest,
        )  # fmt: skip

    def shared_variance(self, happened: Sequence[Flags | Floats]) -> float:
        """Variance of the weighted share that comes of strata having the same draws; 0 or more.

        Notes
        -----
        Flights of one number, over all strata, are one cluster: the variance is the sum of squares
        of the clusters' parts; taken away is that of independent strata.
        """
        clusters = np.zeros(int(self.flights.max()))
        apart = 0.0
        for weight, flags, flights in zip(self.weights, happened, self.flights, strict=True):
            part = weight * (flags - flags.mean()) / flights
            clusters[:flights] += part
            apart += float(np.sum(part**2))
        return max(0.0, float(np.sum(clusters**2)) - apart)

    def _upper_laws(self, counts: NDArray[np.int64], order: NDArray[np.int64]) -> Floats:
        """Draws from Beta(k + 1, n - k), whose quantiles are the upper Clopper-Pearson bounds.

        Strata with as many events in as many flights have the same law, in another order.
        """
        from scipy import special

        pairs = np.stack([counts, self.flights], axis=1)
        kinds, which = np.unique(pairs, axis=0, return_inverse=True)
        k, n = kinds[:, :1].astype(np.float64), kinds[:, 1:].astype(np.float64)
        law = special.betaincinv(k + 1.0, np.where(k >= n, 1.0, n - k), self._even)
        table = np.where(k >= n, 1.0, law)
        found: Floats = table[which.reshape(-1, 1), order]
        return found
