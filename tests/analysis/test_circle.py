"""Smallest circles and rectangles on points whose answer is known."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from sim.analysis.circle import (
    Circle,
    Rectangle,
    circle_distance,
    enclosing_circle,
    hull,
    rectangle_excess,
    trimmed_circle,
    trimmed_rectangle,
)


def test_enclosing_circle__of_known_figures():
    triangle = np.array([[0.0, 0.0], [2.0, 0.0], [1.0, np.sqrt(3.0)]])
    assert enclosing_circle(triangle).radius == pytest.approx(2.0 / np.sqrt(3.0))
    flat = np.array([[0.0, 0.0], [4.0, 0.0], [2.0, 0.5], [1.0, -0.5]])
    assert enclosing_circle(flat) == pytest.approx((2.0, 0.0, 2.0))
    line = np.array([[0.0, 0.0], [1.0, 1.0], [3.0, 3.0]])
    assert enclosing_circle(line) == pytest.approx((1.5, 1.5, 1.5 * np.sqrt(2.0)))
    assert enclosing_circle(np.array([[1.0, 2.0], [1.0, 2.0]])) == (1.0, 2.0, 0.0)


def test_enclosing_circle__no_smaller_one_through_any_two_or_three_points(random):
    """Against trying every pair and triple, on 12 clouds of 8 points."""
    for points in random.standard_normal((12, 8, 2)):
        found = enclosing_circle(points)
        assert circle_distance(found, points).max() <= found.radius * (1.0 + 1e-9)
        assert found.radius == pytest.approx(_by_trying_all(points), rel=1e-9)


def _by_trying_all(points):
    best = np.inf
    for a, b in combinations(points, 2):
        centres = [(a + b) / 2.0]
        for c in points:
            matrix = 2.0 * np.array([b - a, c - a])
            if abs(np.linalg.det(matrix)) > 1e-12:
                centres.append(np.linalg.solve(matrix, [b @ b - a @ a, c @ c - a @ a]))
        for centre in centres:
            reach = np.hypot(*(points - centre).T).max()
            if reach <= np.hypot(*(a - centre)) * (1.0 + 1e-9):
                best = min(best, reach)
    return best


def test_hull__same_for_many_points_as_for_few(random):
    points = random.standard_normal((3000, 2))
    corners = hull(points)
    assert len(corners) < 60
    edges = np.roll(corners, -1, axis=0) - corners
    for corner, edge in zip(corners, edges, strict=True):
        side = edge[0] * (points[:, 1] - corner[1]) - edge[1] * (points[:, 0] - corner[0])
        assert side.min() >= -1e-12
    assert {tuple(c) for c in corners} <= {tuple(p) for p in points}


def test_trimmed_circle__leaves_the_stray_points_out(random):
    angle = random.random(95) * 2.0 * np.pi
    ring = np.stack([3.0 + np.cos(angle), -1.0 + np.sin(angle)], axis=1)
    points = np.vstack([ring, [[50.0, 0.0]] * 5])
    assert trimmed_circle(points, 0.95) == pytest.approx((3.0, -1.0, 1.0), abs=0.01)
    assert trimmed_circle(points, 1.0).radius > 20.0


def test_trimmed_circle__near_the_known_radius_of_a_normal_law(random):
    """R95 = 2.447747 sigma (Rayleigh; R5.17); standard error of a sample R95 of 20,000: 0.01."""
    points = 5.0 + random.standard_normal((20_000, 2))
    circle = trimmed_circle(points, 0.95)
    assert np.mean(circle_distance(circle, points) <= circle.radius * (1 + 1e-9)) >= 0.95
    assert circle.radius == pytest.approx(2.4477, abs=0.06)


def test_trimmed_rectangle__finds_a_turned_plank(random):
    inside = (random.random((3000, 2)) - 0.5) * [6.0, 1.0]
    azimuth = np.radians(30.0)
    turn = np.array([[np.sin(azimuth), np.cos(azimuth)], [np.cos(azimuth), -np.sin(azimuth)]])
    points = inside @ turn + [2.0, -1.0]
    found = trimmed_rectangle(points, 0.999)
    assert found.azimuth == pytest.approx(azimuth, abs=1e-9)
    assert (found.east, found.north) == pytest.approx((2.0, -1.0), abs=0.02)
    assert (found.half_length, found.half_width) == pytest.approx((3.0, 0.5), abs=0.02)
    assert np.mean(rectangle_excess(found, points) <= 1e-9) >= 0.999


def test_rectangle_excess__in_metres_outwards():
    box = Rectangle(1.0, 0.0, 0.0, 2.0, 1.0)  # two metres north and south, one east and west
    points = np.array([[1.0, 0.0], [1.0, 5.0], [-3.0, 0.0], [2.0, 2.0]])
    assert rectangle_excess(box, points) == pytest.approx([-1.0, 3.0, 3.0, 0.0])
    assert circle_distance(Circle(1.0, 0.0, 9.0), points) == pytest.approx([0, 5, 4, np.sqrt(5)])
