"""The walk along a thrust curve, against the curve itself."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.physics.room_kernels import carry_of, inputs_of, lanes, run_motors

KNOTS = np.array([0.0, 0.08, 0.2, 0.9, 1.1, 1.6])
THRUSTS = np.array([0.0, 42.0, 30.0, 25.5, 12.0, 0.0])
CURVE = np.concatenate([KNOTS, THRUSTS])
OTHER = np.array([0.0, 0.5, 1.0, 0.0, 10.0, 0.0])
TOTAL = np.trapezoid(THRUSTS, KNOTS)
NEVER = 1e30

# each flight its own lighting time, thrust and pace; the last one's motor stays dark
LIGHT = np.array([0.0, 0.09, 0.25, 1.0, 0.0, 0.3, 0.1, NEVER])
SCALE = np.array([1.0, 1.1, 0.9, 1.0, 2.0, 1.0, 0.5, 1.0])
STRETCH = np.array([1.0, 0.95, 1.2, 1.0, 1.0, 0.8, 2.0, 1.0])


def walk(times):
    """Thrust, impulse and end of piece (n, 8) of the first motor at rising times."""
    times = np.broadcast_to(np.asarray(times, dtype=float)[:, None], (len(times), 8))
    out = np.zeros((6 * len(times), 8))
    inputs = inputs_of(
        ascent_thrust_scale=SCALE, ascent_time_scale=STRETCH, landing_thrust_scale=1.0,
        landing_time_scale=1.0,
    )  # fmt: skip
    carry = carry_of(
        ascent_light=LIGHT, ascent_piece_end=LIGHT, landing_light=0.4, landing_piece_end=0.4
    )
    run_motors(lanes(), np.ascontiguousarray(times), inputs, carry, CURVE, OTHER, out)
    return [out[i::6] for i in range(6)]


def test_walk__thrust_is_the_curve():
    times = np.linspace(0.0, 5.0, 1237)
    thrust = walk(times)[0]
    for lane in range(8):
        own = np.interp(times, LIGHT[lane] + STRETCH[lane] * KNOTS, SCALE[lane] * THRUSTS)
        own[times < LIGHT[lane]] = 0.0
        assert thrust[:, lane] == pytest.approx(own, abs=1e-11)


def test_walk__impulse_is_exact():
    end = walk([0.1, 0.33, 0.9001, 7.0])[1][-1]
    expected = np.where(LIGHT < NEVER, SCALE * STRETCH * TOTAL, 0.0)
    assert end == pytest.approx(expected, rel=1e-14)


def test_walk__impulse_on_the_way_is_the_integral():
    times = np.linspace(0.0, 4.0, 401)
    impulse = walk(times)[1]
    fine = np.linspace(0.0, 4.0, 400_001)
    for lane in range(7):
        own = np.interp(fine, LIGHT[lane] + STRETCH[lane] * KNOTS, SCALE[lane] * THRUSTS)
        own[fine < LIGHT[lane]] = 0.0
        integral = np.concatenate(([0.0], np.cumsum(0.5 * np.diff(fine) * (own[1:] + own[:-1]))))
        assert impulse[:, lane] == pytest.approx(integral[::1000], abs=1e-6)


def test_walk__pieces_end_at_the_knots():
    lane = 2
    knots = LIGHT[lane] + STRETCH[lane] * KNOTS
    for before, after in itertools.pairwise(knots):
        assert walk([0.5 * (before + after)])[2][0, lane] == pytest.approx(after, rel=1e-15)
    assert walk([knots[-1] + 1e-6])[2][0, lane] == NEVER
    assert walk([0.0])[2][0, 7] == NEVER


def test_walk__does_not_depend_on_where_it_stops():
    dense, sparse = walk(np.linspace(0.0, 3.0, 301)), walk([0.0, 3.0])
    for one, other in zip(dense, sparse, strict=True):
        assert np.all(one[-1] == other[-1])


def test_walk__the_two_motors_are_apart():
    times = np.linspace(0.0, 2.0, 101)
    landing = walk(times)[3]
    own = np.interp(times, [0.4, 0.9, 1.4], [0.0, 10.0, 0.0])
    assert landing == pytest.approx(np.repeat(own[:, None], 8, axis=1), abs=1e-12)
    assert walk([2.0])[4][0] == pytest.approx(np.full(8, 5.0), rel=1e-14)
