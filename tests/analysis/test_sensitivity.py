"""Sobol' indices against Ishigami's function, a linear model and SciPy's estimators."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.stats import qmc

from sim.analysis.sensitivity import sobol_estimates, sobol_indices, sobol_replicates
from sim.errors import UserMistake
from tests.outside import outside_check


def _ishigami(u):
    x = np.pi * (2.0 * u - 1.0)
    return np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def _outcomes(model, a, b):
    mixed = []
    for source in range(len(a)):
        swapped = a.copy()
        swapped[source] = b[source]
        mixed.append(model(swapped))
    return model(a), model(b), np.array(mixed)


def _designed(model, sources, power, seed):
    both = qmc.Sobol(2 * sources, rng=np.random.default_rng(seed)).random_base2(power).T
    return _outcomes(model, both[:sources], both[sources:])


# R5.30: T. Ishigami and T. Homma, ISUMA 1990; A. Saltelli et al., Global Sensitivity Analysis: the
# Primer (2008). Closed forms, a = 7, b = 0.1.
VARIANCE = 13.844588
FIRST = (0.313905, 0.442411, 0.0)
TOTAL = (0.557589, 0.442411, 0.243684)


def test_sobol_estimates__ishigami(random):
    """Scrambled Sobol' draws, 2^14 rows: errors of a few thousandths."""
    first, total, variance = sobol_estimates(
        *_designed(_ishigami, 3, 14, int(random.integers(2**31)))
    )
    source = "closed form; Ishigami and Homma, ISUMA 1990; R5.30, from memory"
    outside_check(
        what="variance of Ishigami's function, 16,384 rows", source=source, expected=VARIANCE,
        got=variance, relative=0.005, unit="1",
    )  # fmt: skip
    outside_check(
        what="first-order Sobol' indices of Ishigami's function", source=source, expected=FIRST,
        got=first, tolerance=0.015, unit="1",
    )  # fmt: skip
    outside_check(
        what="total Sobol' indices of Ishigami's function", source=source, expected=TOTAL,
        got=total, tolerance=0.015, unit="1",
    )  # fmt: skip


def test_sobol_replicates__ishigami_within_its_intervals(random):
    """Eight scrambles; intervals at 1 - 1e-6 / 6, so the false-alarm rate is about 1e-6."""
    sets = [_designed(_ishigami, 3, 10, int(seed)) for seed in random.integers(2**31, size=8)]
    a, b, mixed = (np.array(part) for part in zip(*sets, strict=True))
    found = sobol_replicates(a, b, mixed, confidence=1.0 - 1e-6 / 6)
    for rows, truth in ((found.first, FIRST), (found.total, TOTAL)):
        assert np.all(rows[:, 0] <= truth)
        assert np.all(truth <= rows[:, 2])
    tight = sobol_replicates(a, b, mixed)
    assert np.all(tight.total[:, 2] - tight.total[:, 0] < 0.1)
    with pytest.raises(UserMistake, match="two replicates"):
        sobol_replicates(a[:1], b[:1], mixed[:1])


def test_sobol_indices__linear_model(random):
    """R5.31: S_i = T_i = a_i^2 sigma_i^2 / sum, by definition."""
    weights = np.array([3.0, 2.0, 1.0, 0.0])
    a, b = random.standard_normal((2, 4, 10_000))
    outcomes = _outcomes(lambda x: 10.0 + weights @ x, a, b)
    found = sobol_indices(*outcomes, confidence=1.0 - 1e-4, resamples=200)
    truth = weights**2 / 14.0
    # bootstrap ends of 200 resamples are its extremes: about 3 standard errors; twice that is safe
    half = np.maximum(found.first[:, 2] - found.first[:, 0], 1e-12)
    assert np.all(np.abs(found.first[:, 1] - truth) <= half)
    assert found.total[:, 1] == pytest.approx(truth, abs=0.04)
    assert found.variance == pytest.approx(14.0, rel=0.08)
    assert found.total[3] == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)


def test_sobol_estimates__are_scipys(random):
    a, b = random.random((2, 3, 256))
    f_a, f_b, f_ab = _outcomes(_ishigami, a, b)
    known = stats.sobol_indices(
        func={"f_A": f_a[None], "f_B": f_b[None], "f_AB": f_ab[:, None, :]}, n=256
    )
    first, total, _ = sobol_estimates(f_a, f_b, f_ab)
    outside_check(
        what="Sobol' indices from the same 256 rows, first and total",
        source="scipy.stats.sobol_indices",
        expected=[known.first_order.ravel(), known.total_order.ravel()], got=[first, total],
        tolerance=1e-12, unit="1",
    )  # fmt: skip


def test_sobol_indices__bootstrap_covers(random, covers):
    """Random rows, n = 200, additive model: percentile bootstrap, asymptotically 95 %.

    At this size a little less is allowed for (91 %). False-alarm rate 1e-6.
    """
    trials, hits = 200, 0
    for trial in range(trials):
        a, b = random.standard_normal((2, 2, 200))
        found = sobol_indices(*_outcomes(lambda x: x[0] + x[1], a, b), resamples=100, seed=trial)
        hits += found.total[0, 0] <= 0.5 <= found.total[0, 2]
    covers(hits, trials, 0.91)


def test_sobol_indices__says_so_when_a_flight_has_no_value(random):
    a, b = random.random((2, 3, 64))
    f_a, f_b, f_ab = _outcomes(_ishigami, a, b)
    f_ab[1, 7] = np.nan
    with pytest.raises(UserMistake, match="1 of 320 outcomes are not finite"):
        sobol_indices(f_a, f_b, f_ab)
    with pytest.raises(UserMistake, match="does not vary"):
        sobol_indices(np.ones(8), np.ones(8), np.ones((2, 8)))
    with pytest.raises(ValueError, match="shapes"):
        sobol_indices(f_a, f_b, f_ab.T)
