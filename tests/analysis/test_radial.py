"""Plane normal law: radii, ellipses, normality."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from sim.analysis import radial
from tests.outside import outside_check


# R5.17, R5.19: Rayleigh law; the ellipse scale is the root of the chi-square quantile, 2 d.o.f.
@pytest.mark.parametrize(
    ("share", "radius"),
    [
        (0.50, 1.177410),
        (0.6321205588, 1.414214),
        (0.90, 2.145966),
        (0.95, 2.447747),
        (0.99, 3.034854),
        (0.9973, 3.439332),
        (0.99865, 3.635286),
        (0.999, 3.716922),
    ],
)
def test_rayleigh_radius__table(share, radius):
    outside_check(
        what=f"radius with {share:.5g} of a circular normal law: closed form, quadrature",
        source="Rayleigh law; R5.17, recomputed", expected=(radius, radius),
        got=(radial.rayleigh_radius(share), radial.normal_radius(share, 1.0, 1.0)),
        tolerance=6e-7, unit="sigma",
    )  # fmt: skip


# R5.18: Rayleigh law within 1, 2, 3 sigma.
@pytest.mark.parametrize(("radius", "share"), [(1, 0.393469), (2, 0.864665), (3, 0.988891)])
def test_share_within__sigmas(radius, share):
    outside_check(
        what=f"share of a circular normal law within {radius} sigma",
        source="Rayleigh law; R5.18, recomputed", expected=share,
        got=radial.share_within(radius, 1.0, 1.0, (0.0, 0.0)), tolerance=6e-7, unit="1",
    )  # fmt: skip


# R5.23: smin/smax, CEP exact (quadrature), Grubbs-Wilson-Hilferty, R90, R95, R99. F. E. Grubbs,
# Operations Research 12 (1964) 51, for the fifth-digit formula; recomputed.
@pytest.mark.parametrize(
    ("ratio", "cep", "grubbs", "r90", "r95", "r99"),
    [
        (1.0, 1.17741, 1.18519, 2.14597, 2.44775, 3.03485),
        (0.8, 1.05769, 1.06355, 1.94716, 2.23029, 2.79069),
        (0.6, 0.93365, 0.93703, 1.79152, 2.08130, 2.66533),
        (0.5, 0.87042, 0.87444, 1.73708, 2.03586, 2.63257),
        (0.4, 0.80785, 0.81534, 1.69918, 2.00514, 2.60995),
        (0.3, 0.74994, 0.76314, 1.67383, 1.98420, 2.59421),
        (0.2, 0.70585, 0.72181, 1.65731, 1.97041, 2.58377),
        (0.1, 0.68199, 0.69516, 1.64791, 1.96253, 2.57778),
    ],
)
def test_normal_radius__elliptical(ratio, cep, grubbs, r90, r95, r99):
    found = [radial.normal_radius(p, 1.0, ratio) for p in (0.5, 0.9, 0.95, 0.99)]
    outside_check(
        what=f"CEP, R90, R95, R99 of a normal law of axes 1 to {ratio}",
        source="quadrature; R5.23, recomputed", expected=[cep, r90, r95, r99], got=found,
        tolerance=6e-6, unit="sigma",
    )  # fmt: skip
    outside_check(
        what=f"CEP of axes 1 to {ratio} by Grubbs' approximation",
        source="Grubbs, Operations Research 12 (1964) 51; R5.22 and R5.23, formula from memory",
        expected=grubbs, got=radial.grubbs_cep(1.0, ratio), tolerance=6e-6, unit="sigma",
    )  # fmt: skip


# R5.24: Rice law, sx = sy = 1, and Grubbs (1964) with bias.
@pytest.mark.parametrize(
    ("bias", "cep", "r95", "grubbs"),
    [
        (0.5, 1.25158, 2.59166, 1.25999),
        (1.0, 1.47548, 2.93976, 1.48189),
        (2.0, 2.24580, 3.82625, 2.22622),
    ],
)
def test_normal_radius__with_bias(bias, cep, r95, grubbs):
    outside_check(
        what=f"CEP and R95 of a circular normal law with a bias of {bias} sigma",
        source="Rice law; R5.24, recomputed", expected=(cep, r95),
        got=(
            radial.normal_radius(0.5, 1.0, 1.0, (bias, 0.0)),
            radial.normal_radius(0.95, 1.0, 1.0, (0.0, bias)),
        ),
        tolerance=6e-6, unit="sigma",
    )  # fmt: skip
    outside_check(
        what=f"CEP with a bias of {bias} sigma by Grubbs' approximation",
        source="Grubbs, Operations Research 12 (1964) 51; R5.22 and R5.24, formula from memory",
        expected=grubbs, got=radial.grubbs_cep(1.0, 1.0, bias), tolerance=6e-6, unit="sigma",
    )  # fmt: skip


# R5.20: prediction-ellipse scale, 95 %. H. Hotelling, Ann. Math. Statistics 2 (1931) 360.
@pytest.mark.parametrize(
    ("size", "scale"), [(20, 2.80700), (30, 2.67395), (100, 2.51075), (1000, 2.45388)]
)
def test_prediction_ellipse_scale__table(size, scale):
    outside_check(
        what=f"scale of the ellipse that holds one more point at 95 %, from {size}",
        source="Hotelling, Ann. Math. Statistics 2 (1931) 360; R5.20, formula from memory",
        expected=scale, got=radial.prediction_ellipse_scale(size, 0.95), tolerance=6e-6,
        unit="sigma",
    )  # fmt: skip


def test_ellipse__azimuth_is_east_of_north():
    for azimuth in np.radians([0.0, 30.0, 90.0, 150.0]):
        turn = np.array([[np.sin(azimuth), np.cos(azimuth)], [np.cos(azimuth), -np.sin(azimuth)]])
        found = radial.ellipse(turn.T @ np.diag([9.0, 4.0]) @ turn)
        assert found.major == pytest.approx(3.0)
        assert found.minor == pytest.approx(2.0)
        assert np.sin(found.azimuth - azimuth) == pytest.approx(0.0, abs=1e-12)
        assert 0.0 <= found.azimuth < np.pi


def test_moments__too_few_points_have_none():
    nothing = radial.moments(np.array([]), np.array([]))
    assert nothing.size == 0
    assert np.isnan(nothing.mean).all()
    assert np.isnan(radial.moments(np.ones(1), np.ones(1)).covariance).all()
    assert radial.mean_ellipse_scale(2, 0.95) == np.inf


def test_mean_ellipse_scale__covers_the_mean_of_correlated_normals(random, covers):
    """Hotelling's region, n = 12, correlated normal with bias. False-alarm rate 1e-6 a side."""
    trials, size = 4000, 12
    mix = np.array([[2.0, 0.0], [1.2, 0.4]])
    mean = np.array([0.7, -3.0])
    scale, hits = radial.mean_ellipse_scale(size, 0.95), 0
    for sample in random.standard_normal((trials, size, 2)) @ mix.T + mean:
        known = radial.moments(*sample.T)
        gap = known.mean - mean
        hits += gap @ np.linalg.solve(known.covariance, gap) <= scale**2
    covers(hits, trials, 0.95, exact=True)


@pytest.mark.parametrize("size", [40, 400])
def test_mardia_p_value__rejects_normal_samples_no_more_than_it_should(size, random, covers):
    """Level 5 %: asymptotic laws, so 7 % is allowed at these sizes. False-alarm rate 1e-6."""
    trials = 3000
    kept = sum(
        radial.mardia_p_value(*sample) >= 0.05
        for sample in random.standard_normal((trials, 2, size))
    )
    covers(kept, trials, 0.93)


def test_mardia_p_value__sees_heavy_tails_and_skewness(random):
    x, y = random.standard_normal((2, 1000))
    assert radial.mardia_p_value(x * np.where(random.random(1000) < 0.1, 4.0, 1.0), y) < 1e-4
    assert radial.mardia_p_value(np.exp(0.5 * x), y) < 1e-4
    assert np.isnan(radial.mardia_p_value(x[:10], y[:10]))
    assert np.isnan(radial.mardia_p_value(x, 2.0 * x))


def test_mardia_p_value__does_not_depend_on_axes(random):
    sample = random.standard_normal((2, 60)) ** 3
    mixed = np.array([[2.0, 1.0], [-0.3, 0.5]]) @ sample + 7.0
    expected = radial.mardia_p_value(*sample)
    assert radial.mardia_p_value(*mixed) == pytest.approx(expected, rel=1e-9)


def test_share_within_ellipse__of_a_normal_sample(random):
    """A one-sigma ellipse holds 39.35 %, not 68 % (chi-square, 2 d.o.f.; R5.19). 5 sigma: 6e-7."""
    x, y = random.standard_normal((2, 40_000))
    x = x + 0.5 * y
    share = radial.share_within_ellipse(x, y, radial.moments(x, y), 1.0)
    assert share == pytest.approx(0.3935, abs=5 * np.sqrt(0.3935 * 0.6065 / 40_000))


def test_mean_half_width__is_students():
    outside_check(
        what="half width of the 90 % bounds of a mean of 10", source="scipy.stats.t",
        expected=stats.t.interval(0.9, 9, loc=0.0, scale=2.0 / np.sqrt(10.0))[1],
        got=radial.mean_half_width(10, 2.0, 0.9), relative=1e-6, unit="1",
    )  # fmt: skip


def test_mean_half_width__covers(random, covers):
    """Means of 12 normal values, biased. False-alarm rate 1e-6 a side."""
    trials, size, hits = 4000, 12, 0
    for sample in 0.3 + 2.0 * random.standard_normal((trials, size)):
        half = radial.mean_half_width(size, float(sample.std(ddof=1)), 0.95)
        hits += abs(sample.mean() - 0.3) <= half
    covers(hits, trials, 0.95, exact=True)
