"""Order statistics against the tables of Wilks and by counting coverage."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq

from sim.analysis.order_statistics import (
    attained_confidence,
    flights_for_bound,
    flights_for_interval,
    lower_rank,
    quantile_bounds,
    quantile_ranks,
    quantile_table,
    upper_rank,
)
from tests.outside import outside_check

# R5.2: S. S. Wilks, Ann. Math. Statistics 12 (1941) 91; Nutt and Wallis, Reliability Engineering
# and System Safety 83 (2004) 57; recomputed from the binomial formula R5.1 (from memory).
SOURCE = "Wilks, Ann. Math. Statistics 12 (1941) 91; R5.2, recomputed, formula from memory"
WILKS = [
    (0.90, 0.90, (22, 38, 52, 65, 78), (38, 65)),
    (0.90, 0.95, (29, 46, 61, 76, 89), (46, 76)),
    (0.95, 0.90, (45, 77, 105, 132, 158), (77, 132)),
    (0.95, 0.95, (59, 93, 124, 153, 181), (93, 153)),
    (0.95, 0.99, (90, 130, 165, 198, 229), (130, 198)),
    (0.99, 0.90, (230, 388, 531, 667, 798), (388, 667)),
    (0.99, 0.95, (299, 473, 628, 773, 913), (473, 773)),
    (0.99, 0.99, (459, 662, 838, 1001, 1157), (662, 1001)),
    (0.9973, 0.90, (852, 1440, 1970, 2473, 2959), (1440, 2473)),
    (0.9973, 0.95, (1109, 1756, 2330, 2870, 3388), (1756, 2870)),
    (0.99865, 0.90, (1705, 2880, 3941, 4947, 5920), (2880, 4947)),
    (0.99865, 0.95, (2218, 3513, 4662, 5742, 6778), (3513, 5742)),
]


@pytest.mark.parametrize(("share", "confidence", "one_sided", "two_sided"), WILKS)
def test_flights_for_bound__table_of_wilks(share, confidence, one_sided, two_sided):
    case = f"the {share:.5g} quantile at {confidence:.2f}"
    outside_check(
        what=f"flights whose r-th largest bounds {case}, r = 1 to 5", source=SOURCE,
        expected=one_sided, got=[flights_for_bound(share, confidence, r) for r in range(1, 6)],
        tolerance=0, unit="flights",
    )  # fmt: skip
    outside_check(
        what=f"flights whose r-th from each end hold {case}, r = 1, 2", source=SOURCE,
        expected=two_sided, got=[flights_for_interval(share, confidence, r) for r in (1, 2)],
        tolerance=0, unit="flights",
    )  # fmt: skip


@pytest.mark.parametrize(("share", "confidence", "one_sided", "two_sided"), WILKS)
def test_upper_rank__is_the_rth_largest_from_the_table_on(share, confidence, one_sided, two_sided):
    assert two_sided[0] == one_sided[1]
    for order, size in enumerate(one_sided, start=1):
        assert upper_rank(size, share, confidence) == size + 1 - order
        assert upper_rank(size - 1, share, confidence) == size - 1 + 2 - order


# R5.3: attained confidence, Wilks (1941).
@pytest.mark.parametrize(
    ("size", "share", "order", "confidence"),
    [
        (59, 0.95, 1, 0.951505),
        (58, 0.95, 1, 0.948953),
        (93, 0.95, 2, 0.950024),
        (92, 0.95, 2, 0.947864),
        (299, 0.99, 1, 0.950464),
    ],
)
def test_attained_confidence__of_wilks(size, share, order, confidence):
    outside_check(
        what=f"confidence of number {order} from the top of {size} for the {share} quantile",
        source="binomial; Wilks (1941), R5.3, recomputed", expected=confidence,
        got=attained_confidence(size, share, 0, size + 1 - order), tolerance=6e-7, unit="1",
    )  # fmt: skip


def test_quantile_ranks__of_a_thousand():
    """R5.4: p = 0.95, n = 1000, central 95 %: ranks 936 and 964, coverage 0.9581 (binomial)."""
    outside_check(
        what="ranks that hold the 0.95 quantile of 1000 flights at 0.95", source="binomial; R5.4",
        expected=(936, 964), got=quantile_ranks(1000, 0.95, 0.95), tolerance=0, unit="rank",
    )  # fmt: skip
    outside_check(
        what="confidence of ranks 936 and 964 of 1000 for the 0.95 quantile",
        source="binomial; R5.4", expected=0.9581,
        got=attained_confidence(1000, 0.95, 936, 964), tolerance=5e-5, unit="1",
    )  # fmt: skip


@pytest.mark.parametrize("size", [1, 7, 58, 59, 400, 10_001])
@pytest.mark.parametrize("share", [0.05, 0.5, 0.95, 0.99])
def test_upper_rank__least_that_scipy_binomial_allows(size, share):
    rank = upper_rank(size, share, 0.95)
    law = stats.binom(size, share)
    assert law.sf(rank - 1) <= 0.05 + 1e-12
    assert law.sf(rank - 2) > 0.05 - 1e-12
    assert lower_rank(size, 1.0 - share, 0.95) == size + 1 - rank


def test_quantile_bounds__too_few_flights_give_no_bound():
    bounds = quantile_bounds(np.arange(1.0, 11.0), 0.95, 0.95, lowest=0.0)
    assert bounds.upper == np.inf
    assert bounds.lower > 0.0
    alone = quantile_bounds(np.array([3.0]), 0.5, 0.95, lowest=0.0)
    assert (alone.lower, alone.estimate, alone.upper) == (0.0, 3.0, np.inf)


def test_quantile_bounds__infinity_is_a_value_and_nan_is_not():
    ordered = np.array([1.0, 2.0, np.inf, np.inf])
    assert quantile_bounds(ordered, 0.5, 0.95).estimate == np.inf
    assert quantile_bounds(ordered, 0.9, 0.95).estimate == np.inf
    assert quantile_bounds(ordered, 1.0 / 3.0, 0.95).estimate == 2.0
    with pytest.raises(ValueError, match="NaN"):
        quantile_bounds(np.array([1.0, np.nan]), 0.5, 0.95)


def test_quantile_table__estimate_as_numpy_between_its_bounds(random):
    values = random.standard_normal(501)
    table = quantile_table(values, (0.1, 0.5, 0.95), 0.9)
    assert table[:, 1] == pytest.approx(np.quantile(values, (0.1, 0.5, 0.95)))
    assert np.all(table[:, 0] <= table[:, 1])
    assert np.all(table[:, 1] <= table[:, 2])


@pytest.mark.parametrize("bad", [0.0, 1.0, -1.0, 95.0, np.nan])
def test_upper_rank__refuses_what_is_no_share(bad):
    with pytest.raises(ValueError, match="between 0 and 1"):
        upper_rank(10, bad, 0.95)
    with pytest.raises(ValueError, match="between 0 and 1"):
        upper_rank(10, 0.95, bad)


# ---- coverage: what is claimed is counted on thousands of small ensembles ------------------------


def _normal_with_bias(random, trials, size):
    points = random.standard_normal((2, trials, size))
    return np.hypot(1.2 + points[0], points[1])


def _heavy_tailed(random, trials, size):
    wide = random.random((trials, size)) < 0.1
    radius = np.sqrt(-2.0 * np.log(random.random((trials, size))))
    return radius * np.where(wide, 8.0, 1.0)


def _with_failures(random, trials, size):
    failed = random.random((trials, size)) < 0.03
    return np.where(failed, np.inf, random.random((trials, size)))


def _heavy_tailed_quantile(share):
    def missing(r):
        return 0.9 * np.exp(-0.5 * r * r) + 0.1 * np.exp(-0.5 * (r / 8.0) ** 2) - (1.0 - share)

    return brentq(missing, 0.0, 100.0)


LAWS = {
    "normal with bias": (_normal_with_bias, lambda p: np.sqrt(stats.ncx2.ppf(p, 2, 1.44))),
    "heavy-tailed mixture": (_heavy_tailed, _heavy_tailed_quantile),
    "uniform with 3 % failed": (
        _with_failures,
        lambda p: p / 0.97 if p < 0.97 else np.inf,
    ),
}


@pytest.mark.parametrize("law", list(LAWS))
@pytest.mark.parametrize(("share", "size"), [(0.5, 25), (0.95, 80), (0.95, 200), (0.99, 120)])
def test_quantile_bounds__cover_as_often_as_they_say(law, share, size, random, covers):
    """False-alarm rate 1e-6 a side."""
    draw, quantile = LAWS[law]
    truth, trials = quantile(share), 1500
    hits, said = 0, 0.0
    for sample in np.sort(draw(random, trials, size), axis=1):
        bounds = quantile_bounds(sample, share, 0.95, lowest=0.0)
        hits += bounds.lower <= truth <= bounds.upper
        said = bounds.confidence
    assert said >= 0.95
    # beyond the share that comes down the quantile is infinite, a tie: coverage may be more
    covers(hits, trials, said, exact=np.isfinite(truth))


@pytest.mark.parametrize("share", [0.5, 0.9, 0.95])
def test_quantile_bounds__cover_a_discrete_law_at_least(share, random, covers):
    """Poisson numbers of mean 3: many ties, coverage may only be more. False-alarm rate 1e-6."""
    truth, trials = stats.poisson.ppf(share, 3.0), 2000
    hits = 0
    for sample in np.sort(random.poisson(3.0, (trials, 60)), axis=1).astype(float):
        bounds = quantile_bounds(sample, share, 0.95)
        hits += bounds.lower <= truth <= bounds.upper
    covers(hits, trials, 0.95)


@pytest.mark.parametrize("law", list(LAWS))
def test_upper_rank__bounds_the_quantile_as_often_as_said(law, random, covers):
    """False-alarm rate 1e-6 a side."""
    draw, quantile = LAWS[law]
    trials, size = 6000, 93
    rank = upper_rank(size, 0.95, 0.95)
    bound = np.sort(draw(random, trials, size), axis=1)[:, rank - 1]
    hits = int(np.count_nonzero(bound >= quantile(0.95)))
    covers(hits, trials, attained_confidence(size, 0.95, 0, rank), exact=True)
