"""Bounds of landing pads that stay true although one looks and flies on."""

import numpy as np
import pytest

from sim.analysis.pad_size import pad_sizes


def make(ensemble, points):
    ds = ensemble(len(points))
    ds["miss_east"][:], ds["miss_north"][:] = points[:, 0], points[:, 1]
    ds["miss_distance"][:] = np.hypot(points[:, 0], points[:, 1])
    return ds


def bivariate(random, size):
    return random.standard_normal((size, 2)) * (1.0, 0.5) + (0.4, -0.2)


def heavy(random, size):
    wide = np.where(random.random(size) < 0.1, 6.0, 1.0)
    return random.standard_normal((size, 2)) * wide[:, None]


def discrete(random, size):
    return random.integers(-3, 4, (size, 2)).astype(float)


@pytest.mark.slow
@pytest.mark.parametrize("law", [bivariate, heavy, discrete])
def test_pad_sizes__coverage_while_one_flies_on(law, random, covers, ensemble):
    """A bound that is wrong at any of the looks is a miss; 150 whole sequences of each law."""
    trials, share, hits = 150, 0.8, 0
    truth = law(random, 200_000)
    for _ in range(trials):
        points = law(random, 800)
        good = True
        for looked in (200, 300, 500, 800):
            found = pad_sizes(
                make(ensemble, points[:looked]), foot_radius=0.0, probability=[share],
                confidence=0.9, pilot=100,
            ).isel(probability=0)  # fmt: skip
            east, north = (truth[:, i] - float(found[f"circle_{n}"]) for i, n in
                           enumerate(("east", "north")))  # fmt: skip
            held = np.mean(np.hypot(east, north) <= float(found["circle_radius"]) + 1e-12)
            good &= bool(held >= share - 0.004)  # of 200,000: 4 standard errors
        hits += good
    covers(hits, trials, 0.9)


def test_pad_sizes__slack_is_bound_minus_quantile(ensemble, random):
    points = bivariate(random, 4000)
    found = pad_sizes(make(ensemble, points), foot_radius=0.3, probability=[0.9],
                      confidence=0.95, pilot=500).isel(probability=0)  # fmt: skip
    centre = np.array([float(found["circle_east"]), float(found["circle_north"])])
    reach = np.sort(np.hypot(*(points[500:] - centre).T))
    shown = float(found["circle_radius"]) - float(found["circle_slack"])
    assert shown == pytest.approx(np.quantile(reach, 0.9) + 0.3, abs=1e-9)
    assert 0.0 < float(found["circle_slack"]) < 0.2
    assert 0.0 < float(found["rectangle_slack"]) < 0.2


def test_pad_sizes__infinite_slack_without_a_bound(ensemble, random):
    found = pad_sizes(make(ensemble, bivariate(random, 60)), foot_radius=0.0, probability=[0.99],
                      confidence=0.95, pilot=30)  # fmt: skip
    assert np.isinf(float(found["circle_slack"][0]))
