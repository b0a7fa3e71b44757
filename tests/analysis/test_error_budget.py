"""Sobol' indices of vectors through our interface."""

import numpy as np
import pytest

from sim.analysis.error_budget import error_budget, vector_indices
from sim.errors import UserMistake


def sets(function, random, sources, replicates=8, size=4096):
    a, b = random.random((2, replicates, size, sources))
    mixed = []
    for i in range(sources):
        swapped = a.copy()
        swapped[..., i] = b[..., i]
        mixed.append(function(swapped))
    return function(a), function(b), np.stack(mixed, axis=1)


def test_vector_indices__ishigami(random):
    """T. Ishigami and T. Homma, ISUMA 1990; a = 7, b = 0.1; R5.30."""

    def ishigami(u):
        x = np.pi * (2.0 * u - 1.0)
        y = np.sin(x[..., 0]) * (1.0 + 0.1 * x[..., 2] ** 4) + 7.0 * np.sin(x[..., 1]) ** 2
        return y[:, None, :]

    found = vector_indices(*sets(ishigami, random, 3))
    assert found.variance == pytest.approx(13.844588, rel=0.02)
    assert found.first[:, 1] == pytest.approx([0.313905, 0.442411, 0.0], abs=0.03)
    assert found.total[:, 1] == pytest.approx([0.557589, 0.442411, 0.243684], abs=0.03)


def test_vector_indices__linear_vector_adds_the_variances(random):
    """Definition, R5.31: shares a_i^2 over their sum, here over both components."""
    matrix = np.array([[3.0, 0.0, 1.0], [0.0, 2.0, 1.0]])
    expected = (matrix**2).sum(axis=0) / (matrix**2).sum()

    def linear(u):
        return np.moveaxis(u @ matrix.T, -1, 1)

    found = vector_indices(*sets(linear, random, 3))
    assert found.first[:, 1] == pytest.approx(expected, abs=0.02)
    assert found.total[:, 1] == pytest.approx(expected, abs=0.02)
    assert found.variance == pytest.approx((matrix**2).sum() / 12.0, rel=0.02)


def test_vector_indices__intervals_hold_the_truth(random, covers):
    weights = np.array([2.0, 1.0])
    expected = weights**2 / 5.0
    hits = 0
    trials = 500
    for _ in range(trials):
        data = sets(lambda u: (u @ weights)[:, None, :], random, 2, replicates=8, size=64)
        found = vector_indices(*data, confidence=0.9)
        hits += found.total[0, 0] <= expected[0] <= found.total[0, 2]
    covers(hits, trials, 0.87)  # a ratio estimate is a little biased in so small replicates


def test_error_budget__own_units(random):
    data = sets(lambda u: (u @ np.array([3.0, 4.0]))[:, None, :], random, 2)
    found = error_budget(["one", "two"], {"miss": (*data, "m")})
    spread = float(found["spread"].sel(quantity="miss"))
    alone = found["alone"].sel(quantity="miss", bound="estimate").to_numpy()
    assert spread == pytest.approx(5.0 / np.sqrt(12.0), rel=0.02)
    assert alone == pytest.approx(np.array([3.0, 4.0]) / np.sqrt(12.0), rel=0.05)
    left = found["left_if_fixed"].sel(quantity="miss", source="two", bound="estimate")
    assert float(left) == pytest.approx(3.0 / np.sqrt(12.0), rel=0.08)


def test_vector_indices__refuses_what_does_not_vary():
    flat = np.ones((2, 1, 8))
    with pytest.raises(UserMistake, match="does not vary"):
        vector_indices(flat, flat, np.ones((2, 1, 1, 8)))
