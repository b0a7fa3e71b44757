"""Small circles and rectangles around a cloud of points.

The shapes found here are good choices, not claims: a shape chosen on a sample fits that sample
better than it fits the law. `sim.analysis.landing_pad` bounds what they hold on other flights.

Sources, from memory: E. Welzl, New Results and New Trends in Computer Science (1991) 359 (smallest
enclosing circle); A. M. Andrew, Information Processing Letters 9 (1979) 216 (hull); the trimming is
the concentration step of P. J. Rousseeuw and K. Van Driessen, Technometrics 41 (1999) 212.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Circle(NamedTuple):
    """Centre and radius [m]."""

    east: float
    north: float
    radius: float


class Rectangle(NamedTuple):
    """Centre [m], azimuth [rad] of the length east of north, half length and half width [m]."""

    east: float
    north: float
    azimuth: float
    half_length: float
    half_width: float


def hull(points: Floats) -> Floats:
    """Corners of the convex hull, counterclockwise.

    Parameters
    ----------
    points : ndarray (n, 2)

    Returns
    -------
    ndarray (m, 2)
    """
    ordered = np.unique(_outer(points) if len(points) > 500 else points, axis=0)
    if len(ordered) < 3:
        return ordered
    corners = ordered.tolist()
    half: list[list[float]] = []
    for chain in (corners, corners[::-1]):
        start = len(half)
        for point in chain:
            while len(half) >= start + 2 and _turn(half[-2], half[-1], point) <= 0.0:
                half.pop()
            half.append(point)
        half.pop()
    return np.array(half if half else corners[:1])


def enclosing_circle(points: Floats) -> Circle:
    """Smallest circle that holds every point.

    Parameters
    ----------
    points : ndarray (n, 2) [m]
        At least one.

    Returns
    -------
    Circle

    Notes
    -----
    The circle of the two or three corners that need it: start from any circle, take in the farthest
    point, and keep the smallest circle of the support and that point. The radius grows at each
    step, so it ends. After Welzl (1991).
    """
    corners = hull(points)
    support = corners[:1]
    circle = Circle(float(corners[0, 0]), float(corners[0, 1]), 0.0)
    for _ in range(4 * len(corners) + 10):
        distance = np.hypot(corners[:, 0] - circle.east, corners[:, 1] - circle.north)
        farthest = int(np.argmax(distance))
        if distance[farthest] <= circle.radius * (1.0 + 1e-12):
            return circle
        circle, support = _smallest(np.vstack([support, corners[farthest]]))
    # rounding kept two supports in turn: the last circle, widened to hold all
    return Circle(circle.east, circle.north, float(distance.max()))


def trimmed_circle(points: Floats, share: float) -> Circle:
    """Small circle that holds at least `share` of the points, with a free centre.

    Parameters
    ----------
    points : ndarray (n, 2) [m]
    share : float [1]
        0 < share <= 1.

    Returns
    -------
    Circle
        A local optimum from several starts; not proven the smallest.
    """
    count = _held(share, len(points))
    starts = [points.mean(axis=0), np.median(points, axis=0)]
    best = Circle(np.nan, np.nan, np.inf)
    for centre in starts:
        circle = Circle(float(centre[0]), float(centre[1]), np.inf)
        while True:
            squared = (points[:, 0] - circle.east) ** 2 + (points[:, 1] - circle.north) ** 2
            nearest = np.argpartition(squared, count - 1)[:count]
            smaller = enclosing_circle(points[nearest])
            if not smaller.radius < circle.radius * (1.0 - 1e-9):
                break
            circle = smaller
        if circle.radius < best.radius:
            best = circle
    return best


def trimmed_rectangle(points: Floats, share: float, directions: int = 36) -> Rectangle:
    """Rectangle of small area that holds at least `share` of the points, centre and turn free.

    Parameters
    ----------
    points : ndarray (n, 2) [m]
    share : float [1]
        0 < share <= 1.
    directions : int
        Tried over a quarter turn.

    Returns
    -------
    Rectangle
        The least area over a grid of directions and of ways to share out the excluded points.
    """
    total = len(points)
    count = _held(share, total)
    best, least = Rectangle(np.nan, np.nan, np.nan, np.inf, np.inf), np.inf
    for azimuth in np.arange(directions) * (0.5 * np.pi / directions):
        turn = np.array([[np.sin(azimuth), np.cos(azimuth)], [np.cos(azimuth), -np.sin(azimuth)]])
        along, across = turn @ points.T
        ordered = np.sort(along)
        for part in np.unique(np.linspace(count, total, 6).astype(int)):
            low, high = _shortest(ordered, int(part))
            inside = across[(along >= low) & (along <= high)]
            left, right = _shortest(np.sort(inside), count)
            area = (high - low) * (right - left)
            if area < least:
                least = area
                centre = turn.T @ np.array([low + high, left + right]) / 2.0
                halves = (high - low) / 2.0, (right - left) / 2.0
                best = Rectangle(float(centre[0]), float(centre[1]), float(azimuth), *halves)
    return _lengthwise(best)


def circle_distance(circle: Circle, points: Floats) -> Floats:
    """Distance (n,) [m] of points from the circle's centre."""
    return np.hypot(points[:, 0] - circle.east, points[:, 1] - circle.north)


def rectangle_excess(rectangle: Rectangle, points: Floats) -> Floats:
    """How far (n,) [m] all four sides must move out to take in a point; negative inside."""
    sine, cosine = np.sin(rectangle.azimuth), np.cos(rectangle.azimuth)
    east, north = points[:, 0] - rectangle.east, points[:, 1] - rectangle.north
    along = np.abs(east * sine + north * cosine) - rectangle.half_length
    across = np.abs(east * cosine - north * sine) - rectangle.half_width
    excess: Floats = np.maximum(along, across)
    return excess


def _held(share: float, size: int) -> int:
    """How many points make up a share, rounded up but for rounding errors of the product."""
    if not 0.0 < share <= 1.0 or size == 0:
        raise ValueError(f"share {share!r} of {size} points is no number of points")
    return max(1, int(np.ceil(share * size - 1e-9)))


def _outer(points: Floats) -> Floats:
    """Points that may be corners: outside the polygon of the extremes in 16 directions."""
    angles = np.arange(16) * (np.pi / 8.0)
    normals = np.stack([np.cos(angles), np.sin(angles)])
    extremes = points[np.argmax(points @ normals, axis=0)]
    keep = np.zeros(len(points), dtype=bool)
    for here, after in zip(extremes, np.roll(extremes, -1, axis=0), strict=True):
        edge = after - here
        side = edge[0] * (points[:, 1] - here[1]) - edge[1] * (points[:, 0] - here[0])
        if edge.any():
            keep |= side <= 0.0
    return points[keep] if keep.any() else extremes


def _turn(a: list[float], b: list[float], c: list[float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _smallest(points: Floats) -> tuple[Circle, Floats]:
    """Smallest circle of at most four points, and those of them on its rim."""
    best, support = Circle(0.0, 0.0, np.inf), points
    size = len(points)
    pairs = [(i, j) for i in range(size) for j in range(i)]
    groups: list[tuple[int, ...]] = [*pairs, *((i, j, k) for i, j in pairs for k in range(j))]
    for group in groups:
        circle = _through(points[list(group)])
        distance = circle_distance(circle, points)
        if circle.radius < best.radius and distance.max() <= circle.radius * (1.0 + 1e-12):
            best, support = circle, points[list(group)]
    return best, support


def _through(points: Floats) -> Circle:
    """Circle on two points as a diameter, or through three; infinite if those are in line."""
    if len(points) == 2:
        middle = points.mean(axis=0)
        half = float(np.hypot(*(points[1] - points[0]))) / 2.0
        return Circle(float(middle[0]), float(middle[1]), half)
    origin = points[0]
    (bx, by), (cx, cy) = (points[1:] - origin).tolist()
    twice = 2.0 * (bx * cy - by * cx)
    if twice == 0.0:
        return Circle(float(origin[0]), float(origin[1]), np.inf)
    b, c = bx * bx + by * by, cx * cx + cy * cy
    x, y = (cy * b - by * c) / twice, (bx * c - cx * b) / twice
    centre = Circle(float(origin[0] + x), float(origin[1] + y), 0.0)
    return centre._replace(radius=float(circle_distance(centre, points).max()))


def _shortest(ordered: Floats, count: int) -> tuple[float, float]:
    """Find the ends of the shortest interval that holds `count` of the sorted values."""
    lengths = ordered[count - 1 :] - ordered[: len(ordered) - count + 1]
    start = int(np.argmin(lengths))
    return float(ordered[start]), float(ordered[start + count - 1])


def _lengthwise(shape: Rectangle) -> Rectangle:
    """Turn the same rectangle so that its length is the longer side."""
    if shape.half_width <= shape.half_length:
        return shape
    azimuth = (shape.azimuth + 0.5 * np.pi) % np.pi
    return Rectangle(shape.east, shape.north, azimuth, shape.half_width, shape.half_length)
