"""Bounds under optional stopping, by looking after every flight."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special
from scipy.integrate import quad

from sim.analysis.order_statistics import upper_rank
from sim.analysis.proportions import clopper_pearson
from sim.analysis.sequential import (
    log_evidence,
    sequential_lower_bound,
    sequential_lower_rank,
    sequential_proportion,
    sequential_upper_rank,
)
from tests.outside import outside_check


@pytest.mark.parametrize(("count", "trials", "chance"), [(0, 3, 0.4), (9, 10, 0.6), (28, 40, 0.7)])
def test_log_evidence__is_the_mixture_integral(count, trials, chance):
    """The closed form against quadrature of the likelihood ratio over alternatives above p0."""

    def prior(t):
        return 1.0 / (np.pi * np.sqrt(t * (1.0 - t)))

    def ratio(t):
        return (t / chance) ** count * ((1.0 - t) / (1.0 - chance)) ** (trials - count)

    weight, _ = quad(prior, chance, 1.0)
    mixed, _ = quad(lambda t: prior(t) * ratio(t), chance, 1.0)
    outside_check(
        what=f"log of the evidence of {count} in {trials} against {chance}",
        source="quadrature of the mixture, scipy.integrate.quad", expected=np.log(mixed / weight),
        got=log_evidence(count, trials, chance), tolerance=1e-7, unit="1",
    )  # fmt: skip


@pytest.mark.parametrize("chance", [0.3, 0.95])
def test_log_evidence__is_a_martingale_at_the_edge_and_falls_below_it(chance):
    """One step ahead: the mean under p0 is the present value, and less under any smaller p."""
    for count, trials in [(0, 0), (3, 5), (19, 20), (10, 60)]:
        now = np.exp(log_evidence(count, trials, chance))
        up = np.exp(log_evidence(count + 1, trials + 1, chance))
        same = np.exp(log_evidence(count, trials + 1, chance))
        assert chance * up + (1.0 - chance) * same == pytest.approx(now, rel=1e-9)
        assert 0.8 * chance * up + (1.0 - 0.8 * chance) * same < now


def test_log_evidence__does_not_overflow_into_a_refutation():
    assert log_evidence(0, 1_000_000, 0.95) < 0.0


def test_sequential_lower_bound__refutes_just_what_it_says():
    bound = sequential_lower_bound(93, 100, 0.95)
    assert log_evidence(93, 100, bound) == pytest.approx(np.log(20.0), abs=1e-6)
    assert sequential_lower_bound(0, 100, 0.95) == 0.0
    assert 0.0 < sequential_lower_bound(100, 100, 0.95) < 1.0
    assert sequential_lower_bound(0, 0, 0.95) == 0.0


def test_sequential_proportion__pays_for_the_freedom_and_still_closes_in():
    for count, trials in [(50, 100), (95, 100), (9500, 10_000)]:
        free, fixed = sequential_proportion(count, trials), clopper_pearson(count, trials)
        assert free.lower < fixed.lower
        assert fixed.upper < free.upper
        assert free.upper - free.lower < 2.2 * (fixed.upper - fixed.lower)


@pytest.mark.parametrize("share", [0.5, 0.95])
def test_sequential_upper_rank__is_the_first_count_refuted(share):
    for size in (1, 40, 300, 2000):
        rank = sequential_upper_rank(size, share, 0.95)
        assert rank > upper_rank(size, share, 0.95) - 1
        if rank <= size:
            assert log_evidence(rank, size, share) >= np.log(20.0) - 1e-12
            assert log_evidence(rank - 1, size, share) < np.log(20.0)
        assert sequential_lower_rank(size, 1.0 - share, 0.95) == size + 1 - rank


# ---- coverage at every look together; false-alarm rate 1e-6 each ---------------------------------


@pytest.mark.parametrize("chance", [0.2, 0.95])
def test_sequential_proportion__never_wrong_at_any_look(chance, random, covers):
    """Looked at after each of 250 flights; the fixed-sample bounds fail the same count."""
    trials, size = 2000, 250
    counts = np.cumsum(random.random((trials, size)) < chance, axis=1)
    looks = np.arange(1, size + 1)
    low, high = np.zeros(size), np.full(size, size)
    fixed_low, fixed_high = np.zeros(size), np.full(size, size)
    for look in looks:
        # counts that do not refute the true probability, for all looks at once
        possible = np.arange(look + 1)
        risk = np.log(40.0)
        above = np.array([log_evidence(k, look, chance) < risk for k in _around(look, chance)])
        below = np.array(
            [log_evidence(look - k, look, 1.0 - chance) < risk for k in _around(look, chance)]
        )
        allowed = _around(look, chance)[above & below]
        low[look - 1], high[look - 1] = allowed.min(), allowed.max()
        tail = special.bdtr(possible, look, chance)
        fixed_low[look - 1] = np.searchsorted(tail, 0.025)
        fixed_high[look - 1] = np.searchsorted(tail, 0.975)
    hits = np.all((counts >= low) & (counts <= high), axis=1)
    covers(int(hits.sum()), trials, 0.95)
    naive = np.all((counts >= fixed_low) & (counts <= fixed_high), axis=1)
    assert naive.mean() < 0.85


def _around(look, chance):
    reach = int(4.5 * np.sqrt(look * chance * (1.0 - chance))) + 6
    middle = int(look * chance)
    return np.arange(max(0, middle - reach), min(look, middle + reach) + 1)


@pytest.mark.parametrize("share", [0.8, 0.95])
def test_sequential_upper_rank__bounds_the_quantile_at_every_look(share, random, covers):
    trials, size = 2000, 600
    below = np.cumsum(random.random((trials, size)) < share, axis=1)
    ranks = np.array([sequential_upper_rank(n, share, 0.95) for n in range(1, size + 1)])
    # X(u) lies below the quantile just when u values do
    covers(int(np.all(below < ranks, axis=1).sum()), trials, 0.95)
