"""Mean wind, gust and Dryden turbulence, from the rooms themselves."""

from __future__ import annotations

import itertools
import os

import numpy as np
import pytest
from scipy import signal, stats

from tests.outside import outside_check
from tests.physics.room_kernels import (
    carry_of,
    in_lanes,
    inputs_of,
    lanes,
    run_gust,
    run_mean_wind,
    run_turbulence,
    run_wind_ticks,
)

SEED = int(os.environ.get("SETDOWN_TEST_SEED", "20240607"))
FOOT = 0.3048
POWER, LOG, PROFILE = 0.0, 1.0, 2.0


NO_PROFILE = np.zeros(2), np.zeros(2)


def wind_at(heights, profile=NO_PROFILE, **numbers):
    """East, north and their slopes at heights; arrays (4, n)."""
    usual = {
        "wind_speed": 1.0, "wind_to_east": 1.0, "wind_reference_height": 10.0,
        "wind_roughness": 0.03, "wind_exponent": 0.16,
    }  # fmt: skip
    rows, count = in_lanes(heights)
    out = np.zeros((4 * len(rows), 8))
    run_mean_wind(lanes(), rows, inputs_of(**(usual | numbers)), *profile, out)
    return np.array([out[i::4].ravel()[:count] for i in range(4)])


HEIGHTS = np.array([2.0, 50.0, 100.0, 200.0])

# IEC 61400-1, normal wind profile (from memory); R3.1
POWER_TABLE = {
    0.10: (0.85134, 1.17462, 1.25893, 1.34928),
    1.0 / 7.0: (0.79460, 1.25850, 1.38950, 1.53413),
    0.20: (0.72478, 1.37973, 1.58489, 1.82056),
    0.25: (0.66874, 1.49535, 1.77828, 2.11474),
}
# Stull, Meteorology for Scientists and Engineers; Panofsky and Dutton (from memory); R3.3
LOG_TABLE = {
    0.005: (0.7883, 1.2117, 1.3029, 1.3941),
    0.03: (0.7229, 1.2771, 1.3964, 1.5157),
    0.10: (0.6505, 1.3495, 1.5000, 1.6505),
    0.25: (0.5637, 1.4363, 1.6242, 1.8121),
}


@pytest.mark.parametrize("exponent", POWER_TABLE)
def test_power_law__table(exponent):
    # taken at sqrt(z^2 + 0.5^2): less than 0.0314 of ln z at 2 m, 5e-5 at 50 m
    east, *_ = wind_at(HEIGHTS, wind_log_law=POWER, wind_exponent=exponent)
    smoothing = 0.5 * np.log1p((0.5 / HEIGHTS) ** 2)
    expected = np.array(POWER_TABLE[exponent])
    assert np.all(np.abs(east / expected - 1.0) < exponent * smoothing * 1.01 + 1e-5)
    outside_check(
        what=f"wind by the power law, exponent {exponent:.3f}, at 2, 50, 100, 200 m over 10 m",
        source="IEC 61400-1, normal wind profile; R3.1, from memory", expected=expected,
        got=east * np.exp(-exponent * smoothing), tolerance=6e-6, unit="1",
    )  # fmt: skip


@pytest.mark.parametrize("roughness", LOG_TABLE)
def test_log_law__table(roughness):
    east, *_ = wind_at(HEIGHTS, wind_log_law=LOG, wind_roughness=roughness)
    smoothing = 0.5 * np.log1p((0.5 / HEIGHTS) ** 2) / np.log(10.0 / roughness)
    expected = np.array(LOG_TABLE[roughness])
    assert np.all(np.abs(east - expected) < smoothing * 1.01 + 6e-5)
    outside_check(
        what=f"wind by the log law, roughness {roughness} m, at 2, 50, 100, 200 m over 10 m",
        source="Stull; Panofsky and Dutton (1984); R3.3, from memory", expected=expected,
        got=east - smoothing, tolerance=6e-5, unit="1",
    )  # fmt: skip


@pytest.mark.parametrize("law", [POWER, LOG])
def test_mean_wind__slope_is_its_derivative(law):
    heights = np.array([0.1, 0.7, 3.0, 10.0, 80.0])
    high, low = (wind_at(heights + step, wind_log_law=law)[0] for step in (1e-4, -1e-4))
    _, _, slope, _ = wind_at(heights, wind_log_law=law)
    assert slope == pytest.approx((high - low) / 2e-4, rel=1e-6)


@pytest.mark.parametrize("law", [POWER, LOG])
def test_mean_wind__is_regular_at_the_ground_and_below(law):
    for height in (-0.3, 0.0, 0.01):
        assert np.all(np.isfinite(wind_at([height], wind_log_law=law)))
    assert wind_at([0.0], wind_log_law=law)[2, 0] == 0.0


def test_profile__is_linear_between_its_entries_and_held_above():
    east, north = np.array([0.0, 2.0, 3.0, 3.0]), np.array([1.0, 1.0, -1.0, -1.0])
    heights = [0.5, 1.25, 2.5, 40.0]
    found = wind_at(heights, profile=(east, north), wind_log_law=PROFILE)
    assert found[0] == pytest.approx(np.interp(heights, range(4), east), abs=1e-12)
    assert found[1] == pytest.approx(np.interp(heights, range(4), north), abs=1e-12)


# A launch at 25 m/s2 to 30 m/s, a coast to the top, a fall to 27 m/s, a landing burn to 1 m/s at
# the ground: the line of eight ticks against the law in the middle of each.
FLOWN = np.repeat([25.0, -10.0, -10.0, 13.5], [120, 300, 269, 192])  # m/s2


@pytest.mark.parametrize(
    ("law", "most"), [(POWER, 0.007), (LOG, 0.012)], ids=("power law", "log law")
)
def test_wind_tick__line_of_eight_ticks_stays_near_the_law(law, most):
    interval = 0.01
    climb = np.concatenate([[0.0], np.cumsum(FLOWN * interval)])
    height = 0.6 + np.concatenate([[0.0], np.cumsum((climb[1:] + climb[:-1]) * 0.5 * interval)])
    climb, height = climb[height >= 0.6], height[height >= 0.6]
    middles = height + 0.5 * interval * climb
    out = np.zeros((2 * len(height), 8))
    wind = {
        "wind_speed": 5.0, "wind_to_east": 0.6, "wind_to_north": 0.8, "wind_reference_height": 10.0,
        "wind_roughness": 0.03, "wind_exponent": 0.16, "wind_log_law": law,
    }  # fmt: skip
    rows = [np.repeat(x[:, None], 8, axis=1) for x in (height, climb)]
    flights = np.zeros((1, 8), dtype=np.uint64)
    run_wind_ticks(
        lanes(), flights, interval, *rows, inputs_of(**wind), carry_of(), np.zeros(2), out
    )
    exact = wind_at(middles, **wind)
    error = np.hypot(out[0::2, 0] - exact[0], out[1::2, 0] - exact[1])
    assert len(error) > 800
    assert np.max(height) > 60.0
    assert np.max(np.abs(climb)) > 28.0
    # m/s, of 5 m/s at 10 m: a hundredth of the turbulence that goes with it (0.86 m/s)
    assert np.max(error) < most


def test_gust__half_shape():
    # MIL-F-8785C section 3.7.1; R3.16: 3.5 m/s over 120 m, then it holds
    count, interval = 300, 0.1
    out = np.zeros((count, 8))
    run_gust(
        lanes(), count, interval, np.full((1, 8), 5.0),
        inputs_of(gust_speed=3.5, gust_length=120.0, gust_start=1.0), carry_of(), out,
    )  # fmt: skip
    # flown since the gust began, at the end of each tick
    distance = np.clip(np.arange(count) * interval - 1.0 + interval, 0.0, None) * 5.0
    places = (0.0, 30.0, 60.0, 90.0, 120.0)
    outside_check(
        what="one-minus-cosine gust of 3.5 m/s over 120 m, at 0, 30, 60, 90, 120 m",
        source="MIL-F-8785C 3.7.1, by a text that restates it; R3.16",
        expected=(0.0, 0.512563, 1.75, 2.987437, 3.5),
        got=[out[int(np.argmin(np.abs(distance - x))), 0] for x in places], tolerance=6e-7,
        unit="m/s",
    )  # fmt: skip
    assert np.all(out[distance >= 120.0] == pytest.approx(3.5))


# ---- turbulence ----------------------------------------------------------------------------------

# MIL-F-8785C section 3.7, low altitude model, for 20 ft/s at 20 ft; R3.9
DRYDEN_TABLE = {
    10.0: (75.639, 3.92596), 50.0: (310.788, 3.67729), 100.0: (505.169, 3.43170),
    200.0: (725.786, 3.07343), 328.084: (862.186, 2.75995), 500.0: (944.657, 2.47247),
    656.168: (978.077, 2.28463), 1000.0: (1000.000, 2.00000),
}  # fmt: skip


def turbulence(count, interval, height, speed, *, wind_at_20_ft, seed=SEED):
    """Series (3, count, 8) along, across and up, and the carry afterwards."""
    out, carry = np.zeros((3 * count, 8)), carry_of()
    inputs = inputs_of(turbulence=1.0, turbulence_speed=wind_at_20_ft)
    motion = np.array([np.broadcast_to(height, 8), np.broadcast_to(speed, 8)], dtype=float)
    flights = np.arange(8, dtype=np.uint64).reshape(1, 8)
    run_turbulence(lanes(), np.uint64(seed), flights, count, interval, motion, inputs, carry, out)
    return np.array([out[i::3] for i in range(3)]), carry


def carried(carry, name):
    from sim.flight_records import CARRY

    return carry[CARRY.index(name)]


def test_dryden__lengths_and_intensities():
    feet = np.array(list(DRYDEN_TABLE))
    _, carry = turbulence(1, 0.01, feet * FOOT, 10.0, wind_at_20_ft=20.0 * FOOT)
    lengths, sigmas = np.array(list(DRYDEN_TABLE.values())).T
    source = "MIL-F-8785C 3.7, by a text that restates it; R3.8 and R3.9, recomputed"
    outside_check(
        what="length of turbulence along, 20 ft/s at 20 ft, heights 10 to 1000 ft", source=source,
        expected=lengths, got=carried(carry, "turbulence_length") / FOOT, tolerance=6e-4, unit="ft",
    )  # fmt: skip
    assert carried(carry, "turbulence_length_up") / FOOT == pytest.approx(feet, rel=1e-12)
    outside_check(
        what="intensity of turbulence along, 20 ft/s at 20 ft, heights 10 to 1000 ft",
        source=source, expected=sigmas, got=carried(carry, "turbulence_sigma") / FOOT,
        tolerance=6e-6, unit="ft/s",
    )  # fmt: skip
    assert carried(carry, "turbulence_sigma_up") / FOOT == pytest.approx(np.full(8, 2.0))


def test_dryden__the_model_ends_at_10_and_at_1000_feet():
    edges = np.array([-5.0, 0.0, 3.0, 3.048, 304.8, 400.0, 1000.0, 5000.0])
    _, carry = turbulence(1, 0.01, edges, 10.0, wind_at_20_ft=5.0)
    assert np.ptp(carried(carry, "turbulence_length_up")[:4]) < 1e-12
    assert np.ptp(carried(carry, "turbulence_length_up")[4:]) < 1e-9


# One long series a lane: a pattern of 0.05 lengths a tick for u and v, 0.25 for w. 8 lanes of
# 60,000 ticks: 3,000 lengths for u and v in each lane, 15,000 for w.
TICKS, INTERVAL, HEIGHT, WIND = 60_000, 0.01, 30.0, 5.0
LENGTH, SIGMA, SIGMA_UP = 152.4648, 0.859646, 0.5  # R3.14, m and m/s


@pytest.fixture(scope="module")
def series():
    speed = 0.05 * LENGTH / INTERVAL
    found, _ = turbulence(TICKS, INTERVAL, HEIGHT, speed, wind_at_20_ft=WIND)
    return found / np.array([SIGMA, SIGMA, SIGMA_UP])[:, None, None]


STEPS = 0.05, 0.05, 0.05 * LENGTH / HEIGHT  # tick over length, for along, across and up


def correlation(kind, x):
    """Of the Dryden forms at x lengths (MIL-F-8785C); R3.13."""
    return np.exp(-x) if kind == 0 else np.exp(-x) * (1.0 - 0.5 * x)


def standard_error(kind, x):
    """Of the mean product over all lanes at a lag of x lengths, unit variance (Bartlett)."""
    step = STEPS[kind]
    lag = np.arange(-40 * round(1.0 / step), 40 * round(1.0 / step) + 1) * step
    r = lambda y: correlation(kind, np.abs(y))  # noqa: E731
    total = np.sum(r(lag) ** 2 + r(lag + x) * r(lag - x))
    return np.sqrt(total / (8 * TICKS))


# False alarms: each comparison at 4 standard errors, 6e-5 two-sided; 15 of them, 1e-3 together.
@pytest.mark.parametrize("kind", [0, 1, 2], ids=("along", "across", "up"))
@pytest.mark.parametrize("lengths", [0.0, 0.2, 1.0, 2.0, 3.0])
def test_dryden__variance_and_autocorrelation(series, kind, lengths):
    lag = round(lengths / STEPS[kind])
    x = lag * STEPS[kind]
    values = series[kind]
    found = np.mean(values[: TICKS - lag] * values[lag:])
    outside_check(
        what=f"autocorrelation of turbulence {('along', 'across', 'up')[kind]}, {lengths} lengths "
        "apart, 4 standard errors",
        source="Dryden forms, MIL-F-8785C; R3.13, forms from memory", expected=correlation(kind, x),
        got=found, tolerance=4.0 * standard_error(kind, x), unit="1",
    )  # fmt: skip


def test_dryden__published_autocorrelation():
    # R3.13, computed there from the forms
    expected = [0.736858, 0.183940, 0.0, -0.024894]
    assert correlation(2, np.array([0.2, 1.0, 2.0, 3.0])) == pytest.approx(expected, abs=6e-7)


def aliased_spectrum(kind, frequency):
    """One-sided spectrum, unit variance, in length / 2 pi cycles; sampled at the steps.

    R3.11 in O L: u (2 / pi) / (1 + x^2); v and w (1 / pi) (1 + 3 x^2) / (1 + x^2)^2. A sampled
    series shows the sum over the aliases.
    """
    x = frequency[:, None] + 2.0 * np.pi / STEPS[kind] * np.arange(-200, 201)
    if kind == 0:
        both = (1.0 / np.pi) / (1.0 + x**2)
    else:
        both = (0.5 / np.pi) * (1.0 + 3.0 * x**2) / (1.0 + x**2) ** 2
    return 2.0 * np.sum(both, axis=1)


# False alarms: 24 bands a component at a two-sided 1e-5 each, 7e-4 together; the mean of n
# periodogram ordinates is the spectrum times chi-squared of 2 n over 2 n.
@pytest.mark.parametrize("kind", [0, 1, 2], ids=("along", "across", "up"))
def test_dryden__spectrum(series, kind):
    step = STEPS[kind]
    cycles, power = signal.periodogram(
        series[kind], fs=1.0 / step, axis=0, detrend=False, window="boxcar"
    )
    x, power = 2.0 * np.pi * cycles[1:-1], power[1:-1] / (2.0 * np.pi)
    ratio = np.sum(power, axis=1) / 8.0 / aliased_spectrum(kind, x)
    edges = np.geomspace(0.05, 0.6 * np.pi / step, 25)
    for low, high in itertools.pairwise(edges):
        inside = (x >= low) & (x < high)
        freedom = 2 * 8 * np.count_nonzero(inside)
        assert freedom >= 16
        bounds = stats.chi2.ppf([5e-6, 1.0 - 5e-6], freedom) / freedom
        assert bounds[0] < np.mean(ratio[inside]) < bounds[1]


def test_dryden__components_and_flights_are_independent(series):
    # false alarms: 31 pairs at 4.5 standard errors, 2e-4 together
    for one, two in ((0, 1), (0, 2), (1, 2)):
        step = min(STEPS[one], STEPS[two])
        lag = np.arange(-1000, 1001) * step
        both = correlation(one, np.abs(lag) * STEPS[one] / step)
        both = both * correlation(two, np.abs(lag) * STEPS[two] / step)
        error = np.sqrt(np.sum(both) / (8 * TICKS))
        assert abs(np.mean(series[one] * series[two])) < 4.5 * error
    lag = np.arange(-1000, 1001) * STEPS[0]
    error = np.sqrt(np.sum(correlation(0, np.abs(lag)) ** 2) / TICKS)
    for one in range(8):
        for two in range(one):
            found = np.mean(series[0][:, one] * series[0][:, two])
            assert abs(found) < 4.5 * error


def test_dryden__starts_in_its_stationary_law():
    # the first value over many flights; false alarms: 3 at 4 standard errors, 2e-4
    first = []
    for block in range(250):
        found, _ = turbulence(1, 1e-6, HEIGHT, 1.0, wind_at_20_ft=WIND, seed=SEED + block)
        first.append(found[:, 0] / np.array([SIGMA, SIGMA, SIGMA_UP])[:, None])
    first = np.concatenate(first, axis=1)
    error = np.sqrt(2.0 / first.shape[1])
    assert np.all(np.abs(np.mean(first**2, axis=1) - 1.0) < 4.0 * error)


def test_dryden__published_step_of_the_exact_filter():
    # R3.14: V 5 m/s, 0.01 s: ph 0.99967211, noise 0.0220122 m/s
    found, carry = turbulence(2, INTERVAL, HEIGHT, 5.0, wind_at_20_ft=WIND)
    outside_check(
        what="length of turbulence along at 30 m, 5 m/s at 20 ft", source="R3.14, recomputed",
        expected=LENGTH, got=carried(carry, "turbulence_length")[0], tolerance=6e-5, unit="m",
    )  # fmt: skip
    many = [turbulence(2, INTERVAL, HEIGHT, 5.0, wind_at_20_ft=WIND, seed=s)[0] for s in range(60)]
    fresh = np.concatenate([m[0, 1] - 0.99967211 * m[0, 0] for m in many])
    # false alarm 6e-5
    spread = np.sqrt(np.mean(fresh**2))
    outside_check(
        what="new noise in a step of turbulence, 5 m/s, 0.01 s, 4 standard errors",
        source="exact discrete form of the Dryden filter; R3.14, recomputed", expected=0.0220122,
        got=spread, relative=4.0 / np.sqrt(2.0 * len(fresh)), unit="m/s",
    )  # fmt: skip
    assert found.shape == (3, 2, 8)
