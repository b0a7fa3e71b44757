import numpy as np
import pytest

from sim.analysis.densest import densest


def _areas(found, half, cells=120):
    return [(found.cells >= level).sum() * (2.0 * half / cells) ** 2 for level in found.levels]


def test_densest__of_a_normal_law_has_the_area_of_its_ellipse(random):
    # -2 pi a b log(1 - share): the ellipse of a normal law in two dimensions (common practice)
    east, north = random.normal(0.0, 1.5, 20_000), random.normal(0.0, 0.9, 20_000)
    shares = (0.5, 0.8, 0.95)
    found = densest(east, north, 8.0, shares=shares)
    for share, area in zip(shares, _areas(found, 8.0), strict=True):
        assert area == pytest.approx(-2.0 * np.pi * 1.5 * 0.9 * np.log(1.0 - share), rel=0.08)


def test_densest__holds_the_share_it_says(random):
    east, north = random.standard_t(2, (2, 5_000))  # long tails
    found = densest(east, north, 12.0, shares=(0.5, 0.9))
    column, row = (np.clip(((x + 12.0) / 0.2).astype(int), 0, 119) for x in (east, north))
    inside = (np.abs(east) < 12.0) & (np.abs(north) < 12.0)
    for share, level in zip((0.5, 0.9), found.levels, strict=True):
        held = np.mean(inside & (found.cells[column, row] >= level))
        assert held == pytest.approx(share, abs=0.01)


def test_densest__share_beyond_the_square_has_no_level(random):
    east, north = random.normal(0.0, 5.0, (2, 1_000))
    assert densest(east, north, 2.0, shares=(0.95,)).levels[0] == 0.0


def test_densest__needs_points_with_spread():
    assert densest(np.zeros(5), np.zeros(5), 1.0, shares=(0.5,)) is None
    assert densest(np.zeros(50), np.arange(50.0), 1.0, shares=(0.5,)) is None
