"""The design point against closed forms."""

import numpy as np
import pytest

from sim.analysis.design_point import find_design_point, fit_plane


def test_find_design_point__linear_limit_state(random):
    """Distance is the mean margin over its standard deviation (Hasofer and Lind, 1974)."""
    slope = np.array([0.6, -0.3, 0.2, 0.0, 0.0])
    mean = 1.4

    def margin(points):
        return mean + points @ slope + 0.05 * random.standard_normal(len(points))

    found = find_design_point(margin, np.zeros(5), random=random)
    distance = mean / np.linalg.norm(slope)
    assert found.distance == pytest.approx(distance, rel=0.02)
    assert found.point == pytest.approx(-slope * mean / (slope @ slope), abs=0.06)
    assert found.point[3:] == pytest.approx([0.0, 0.0], abs=0.0)  # not told from noise


def test_find_design_point__curved_limit_state(random):
    """Nearest point of the parabola x = 3 - 0.2 y^2 by hand: at y = 0, distance 3."""

    def margin(points):
        return 3.0 - 0.2 * points[:, 1] ** 2 - points[:, 0]

    found = find_design_point(margin, np.array([1.0, 0.3, 0.0]), random=random, iterations=10)
    assert found.distance == pytest.approx(3.0, abs=0.08)


def test_find_design_point__directions_cost_nothing(random):
    def margin(points):
        return 2.0 - points[:, 0] - 0.5 * points[:, 1]

    free = np.array([False, True])
    found = find_design_point(margin, np.zeros(2), free=free, random=random, iterations=12)
    assert found.point[1] > 2.0
    assert found.distance < 1.0


def test_fit_plane__exact_on_a_plane(random):
    x = random.standard_normal((50, 3))
    x[0] = 0.0
    values = 1.0 + x @ np.array([1.0, -2.0, 0.0])
    values[3] = np.nan
    found = fit_plane(x, values)
    assert found.value == pytest.approx(1.0)
    assert found.gradient == pytest.approx([1.0, -2.0, 0.0], abs=1e-12)


def test_fit_plane__too_few_values():
    with pytest.raises(ValueError, match="cannot give"):
        fit_plane(np.zeros((3, 3)), np.zeros(3))
