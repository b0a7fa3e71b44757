"""Proportions against Clopper-Pearson and consumer's-risk tables, and by counting coverage."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from sim.analysis.proportions import (
    claim_confidence,
    clopper_pearson,
    failures_allowed,
    lower_bound,
    mcnemar_exact,
    paired_difference,
    runs_needed,
    upper_bound,
    wilson,
)
from tests.outside import outside_check

# R5.8-R5.16: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404; Wilson, J. American
# Statistical Association 22 (1927) 209; recomputed. Columns: k, n, two-sided 95 %, one-sided upper
# 95 %, Wilson 95 %.
TABLE = [
    (0, 10, 0.0, 0.3084971, 0.2588656, 0.0, 0.277533),
    (0, 59, 0.0, 0.0606089, 0.0495076, 0.0, 0.061129),
    (0, 100, 0.0, 0.0362167, 0.0295130, 0.0, 0.036993),
    (1, 100, 0.0002531, 0.0544594, 0.0465598, 0.001767, 0.054486),
    (5, 100, 0.0164319, 0.1128349, 0.1022534, 0.021544, 0.111750),
    (10, 100, 0.0490047, 0.1762226, 0.1637176, 0.055229, 0.174366),
    (0, 1000, 0.0, 0.0036821, 0.0029912, 0.0, 0.003827),
    (10, 1000, 0.0048055, 0.0183132, 0.0169032, 0.005441, 0.018309),
    (3, 2000, 0.0003094, 0.0043773, 0.0038722, 0.000510, 0.004401),
]


@pytest.mark.parametrize(("k", "n", "low", "high", "one_sided", "score_low", "score_high"), TABLE)
def test_clopper_pearson__table(k, n, low, high, one_sided, score_low, score_high):
    exact = "Clopper and Pearson, Biometrika 26 (1934) 404; R5.8 to R5.16, recomputed"
    outside_check(
        what=f"Clopper-Pearson bounds of {k} in {n}, two-sided 95 %", source=exact,
        expected=(low, k / n, high), got=clopper_pearson(k, n), tolerance=6e-8, unit="1",
    )  # fmt: skip
    outside_check(
        what=f"one-sided 95 % bounds, upper of {k} in {n} and lower of {n - k}", source=exact,
        expected=(one_sided, 1.0 - one_sided),
        got=(upper_bound(k, n, 0.95), lower_bound(n - k, n, 0.95)), tolerance=6e-8, unit="1",
    )  # fmt: skip
    outside_check(
        what=f"Wilson bounds of {k} in {n}, 95 %",
        source="Wilson, J. American Statistical Association 22 (1927) 209; R5.8 to R5.16, "
        "recomputed",
        expected=(score_low, k / n, score_high), got=wilson(k, n), tolerance=6e-7, unit="1",
    )  # fmt: skip


def test_clopper_pearson__ends_and_nothing():
    assert clopper_pearson(10, 10).upper == 1.0
    assert wilson(10, 10).upper == 1.0
    nothing = clopper_pearson(0, 0)
    assert (nothing.lower, nothing.upper) == (0.0, 1.0)
    assert np.isnan(nothing.estimate)
    with pytest.raises(ValueError, match="cannot be"):
        clopper_pearson(11, 10)


# R5.6: consumer's risk 10 %, Hanson and Beard, NASA/TP-2010-216447 (method); recomputed.
RISK = [
    (0.90, (22, 38, 52, 65, 78, 91, 152)),
    (0.95, (45, 77, 105, 132, 158, 184, 306)),
    (0.99, (230, 388, 531, 667, 798, 926, 1538)),
    (0.9973, (852, 1440, 1970, 2473, 2959, 3433, 5704)),
    (0.99865, (1705, 2880, 3941, 4947, 5920, 6868, 11410)),
    (0.999, (2302, 3889, 5321, 6679, 7992, 9273, 15404)),
]


@pytest.mark.parametrize(("success", "sizes"), RISK)
def test_runs_needed__table_of_consumers_risk(success, sizes):
    failures = (0, 1, 2, 3, 4, 5, 10)
    outside_check(
        what=f"flights that show a success of {success} with 0 to 10 failures, risk 10 %",
        source="Hanson and Beard, NASA/TP-2010-216447 (method); R5.6, recomputed",
        expected=sizes, got=[runs_needed(success, 0.90, k) for k in failures], tolerance=0,
        unit="flights",
    )  # fmt: skip
    for k, size in zip(failures, sizes, strict=True):
        assert failures_allowed(size, success, 0.90) == k
        assert failures_allowed(size - 1, success, 0.90) == k - 1


# R5.7: same source; 0.99865 from 1000 runs cannot be proven.
@pytest.mark.parametrize(
    ("runs", "allowed"),
    [
        (1000, (87, 40, 5, 0, -1)),
        (2000, (182, 87, 13, 2, 0)),
        (5000, (472, 229, 40, 8, 3)),
        (10000, (961, 471, 86, 19, 8)),
    ],
)
def test_failures_allowed__table(runs, allowed):
    levels = (0.90, 0.95, 0.99, 0.9973, 0.99865)
    outside_check(
        what=f"failures allowed in {runs} flights for success of 0.9 to 0.99865, risk 10 %",
        source="Hanson and Beard, NASA/TP-2010-216447 (method); R5.7, recomputed",
        expected=allowed, got=[failures_allowed(runs, p, 0.90) for p in levels], tolerance=0,
        unit="failures",
    )  # fmt: skip


def test_failures_allowed__one_run_and_a_weak_claim():
    assert failures_allowed(1, 0.5, 0.4) == 0
    assert failures_allowed(1, 0.5, 0.6) == -1


def test_claim_confidence__turns_where_the_table_does():
    assert claim_confidence(0, 59, 0.95) == pytest.approx(0.951505, abs=6e-7)  # Wilks (1941); R5.3
    assert claim_confidence(8, 10000, 0.99865) >= 0.90 > claim_confidence(9, 10000, 0.99865)


@pytest.mark.parametrize(("b", "c"), [(0, 0), (1, 6), (10, 10), (3, 15), (40, 71)])
def test_mcnemar_exact__is_scipys_sign_test(b, c):
    expected = stats.binomtest(b, b + c, 0.5).pvalue if b + c else 1.0
    outside_check(
        what=f"exact sign test of {b} against {c} flights, p", source="scipy.stats.binomtest",
        expected=expected, got=mcnemar_exact(b, c), relative=1e-12, unit="1",
    )  # fmt: skip
    assert mcnemar_exact(c, b) == mcnemar_exact(b, c)


# ---- coverage; false-alarm rate 1e-6 each --------------------------------------------------------


@pytest.mark.parametrize("chance", [0.003, 0.05, 0.5, 0.93])
@pytest.mark.parametrize("size", [20, 150])
def test_clopper_pearson__covers(chance, size, random, covers):
    trials = 4000
    counts, often = np.unique(random.binomial(size, chance, trials), return_counts=True)
    hits = 0
    for count, times in zip(counts.tolist(), often.tolist(), strict=True):
        bounds = clopper_pearson(count, size, 0.95)
        hits += times * (bounds.lower <= chance <= bounds.upper)
    covers(hits, trials, 0.95)


@pytest.mark.parametrize("chances", [(0.02, 0.02), (0.1, 0.02), (0.3, 0.25), (0.0, 0.05)])
def test_paired_difference__covers_and_mcnemar_keeps_its_level(chances, random, covers):
    trials, size = 1500, 120
    only_a, only_b = chances
    draws = random.multinomial(size, [only_a, only_b, 1.0 - only_a - only_b], trials)
    found = [paired_difference(int(a), int(b), size) for a, b, _ in draws]
    hits = sum(pair.lower <= only_b - only_a <= pair.upper for pair in found)
    covers(hits, trials, 0.95)
    if only_a == only_b:
        covers(sum(pair.p_value >= 0.05 for pair in found), trials, 0.95)
