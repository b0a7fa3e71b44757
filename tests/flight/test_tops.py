"""Bodies on which nothing acts, flown by the whole flight loop, against their closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ellipj, ellipk

from tests.flight.eight import fly_eight, quaternion_product, rotation, same_attitude
from tests.outside import outside_check

# lanes: what turns in each, as inertia about x, y, z and rates at the start
SYMMETRIC, ASYMMETRIC, FLIPS, BRICK, STEADY, SKEWED = 0, 1, (2, 3, 4), 5, 6, 7
DEGREE = np.pi / 180.0
BODIES = (
    ((0.004, 0.12, 0.12), (2.0, 0.5, 0.0)),
    ((1.0, 2.0, 3.0), (0.6, 0.0, 1.0)),
    ((1.0, 2.0, 3.0), (0.0, 1.0, 0.1)),
    ((1.0, 2.0, 3.0), (0.0, 1.0, 0.01)),
    ((1.0, 2.0, 3.0), (0.0, 1.0, 0.001)),
    ((0.001894220, 0.006211019, 0.007194665), (10 * DEGREE, 20 * DEGREE, 30 * DEGREE)),  # slug ft2
    ((1.0, 1.0, 1.0), (0.3, -0.2, 0.5)),
    ((0.02, 0.12, 0.11), (2.0, 0.5, -0.3)),
)
SKEWED_XZ = 0.03  # kg m2, tensor element of the last body


@pytest.fixture(scope="module")
def tops():
    (jx, jy, jz), (wx, wy, wz) = np.array(BODIES).transpose(1, 2, 0)
    products = np.where(np.arange(8) == SKEWED, SKEWED_XZ, 0.0)
    changes = {
        "core_jxx": jx, "core_jyy": jy, "core_jzz": jz, "core_jxz": products,
        "start_rate_x": wx, "start_rate_y": wy, "start_rate_z": wz,
        "start_tilt": 0.4, "start_tilt_direction": 1.0, "start_heading": -0.7,
        "start_velocity_north": 3.0,
    }  # fmt: skip
    return fly_eight(changes=changes, longest=30.0)


def turn_since_start(tops, time, lane):
    """Quaternion from the attitude at the start to that of a time, in body axes at the start."""
    # attitude at time zero: from the first row, undone by a check of its own (see below)
    first = first_attitude()
    return quaternion_product(first * [1, -1, -1, -1], tops.quaternion(time, lane))


def first_attitude():
    """Attitude at the start: upright, turned by the heading, then leant (body x up, y east)."""
    columns = np.array([[0, 1, 0], [0, 0, 1], [1, 0, 0]], dtype=float)  # x up, y east, z north
    heading, tilt, toward = -0.7, 0.4, 1.0
    about_up = axis_turn([0.0, 0.0, 1.0], -heading)  # heading counts east of north
    lean = axis_turn([-np.cos(toward), np.sin(toward), 0.0], tilt)
    matrix = lean @ about_up @ columns
    scalar = 0.5 * np.sqrt(1.0 + np.trace(matrix))
    skew = np.array(
        [matrix[2, 1] - matrix[1, 2], matrix[0, 2] - matrix[2, 0], matrix[1, 0] - matrix[0, 1]]
    )
    return np.array([scalar, *(skew / (4.0 * scalar))])


def axis_turn(axis, angle):
    """Rodrigues' formula."""
    x, y, z = axis
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.eye(3) + np.sin(angle) * k + (1.0 - np.cos(angle)) * k @ k


def test_start__nose_leans_towards_the_direction(tops):
    nose = rotation(first_attitude())[:, 0]
    assert nose == pytest.approx(
        [np.sin(0.4) * np.sin(1.0), np.sin(0.4) * np.cos(1.0), np.cos(0.4)], abs=1e-12
    )


# Goldstein, Classical Mechanics, ch. 5 and Landau and Lifshitz, Mechanics, par. 33; R1.2 and R1.3.
# Axes 1, 2, 3 of the table, 3 of symmetry, are body y, z, x here.
SYMMETRIC_TABLE = {
    1: (-0.1773237367, -0.4675000454, 0.522931248, 0.140510698, -0.203574805, 0.815694154),
    5: (-0.4854436461, 0.1197683861, 0.161729857, 0.113900565, 0.937163733, -0.287392159),
    10: (0.4426221343, -0.2325632091, 0.808864817, -0.558754628, 0.137855631, 0.120527172),
    20: (0.2836574152, -0.4117504958, 0.346532933, -0.829601902, 0.435890719, 0.040925434),
}


@pytest.mark.parametrize("time", SYMMETRIC_TABLE)
def test_symmetric_top__rates_and_attitude(tops, time):
    w1, w2, qw, q1, q2, q3 = SYMMETRIC_TABLE[time]
    source = "Goldstein, ch. 5; Landau and Lifshitz, par. 33; R1.2 and R1.3, derived, from memory"
    outside_check(
        what=f"rates of a free symmetric top after {time} s", source=source,
        expected=[2.0, w1, w2], got=tops.rates(time, SYMMETRIC), tolerance=2e-9, unit="rad/s",
    )  # fmt: skip
    outside_check(
        what=f"attitude of a free symmetric top after {time} s, largest part of the difference",
        source=source, expected=0.0,
        got=same_attitude(turn_since_start(tops, time, SYMMETRIC), [qw, q3, q1, q2]),
        tolerance=1e-8, unit="1",
    )  # fmt: skip


# Landau and Lifshitz, Mechanics, par. 37 (from memory); R1.4.
ASYMMETRIC_TABLE = {
    1: (0.332384819356, 0.499520101559, 0.957510603621),
    2: (-0.209205730287, 0.562345945495, 0.945827157851),
    5: (0.076267824648, -0.595132942227, 0.939116034910),
    10: (-0.578062627732, -0.160759442706, 0.995683417153),
}


@pytest.mark.parametrize("time", ASYMMETRIC_TABLE)
def test_asymmetric_top__rates(tops, time):
    outside_check(
        what=f"rates of a free asymmetric top after {time} s",
        source="Landau and Lifshitz, Mechanics, par. 37; R1.4, from memory",
        expected=ASYMMETRIC_TABLE[time], got=tops.rates(time, ASYMMETRIC), tolerance=5e-11,
        unit="rad/s",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("lane", "interval"),
    list(zip(FLIPS, (10.821061, 18.851036, 26.828561), strict=True)),
    ids=("0.1", "0.01", "0.001"),
)
def test_intermediate_axis__interval_between_reversals(tops, lane, interval):
    # from R1.4: the rate about the middle axis is a2 sn(u), zero every 2 K(m) / n; R1.6.
    # It starts at its crest, so that the first zero comes after half an interval.
    rate = tops["rate_y"][:, lane]
    after = int(np.flatnonzero(rate < 0.0)[0])
    share = rate[after - 1] / (rate[after - 1] - rate[after])
    first = tops.time[after - 1] + share * (tops.time[after] - tops.time[after - 1])
    outside_check(
        what=f"time between reversals about the middle axis, start {BODIES[lane][1][2]} off",
        source="Jacobi form, Landau and Lifshitz, par. 37; R1.6, from memory", expected=interval,
        got=2.0 * first, tolerance=2e-6, unit="s",
    )  # fmt: skip


# NASA/TM-2015-218675, check-case 2, through the Jacobi form; R1.19. Published at 30 s: 12.618424,
# -17.397444, 31.119603 deg/s. Only the ratios of the inertias count.
BRICK_TABLE = {
    10: (-2.418902, -23.552570, 28.128593),
    20: (-5.422735, 22.715931, 28.608282),
    30: (12.618391, -17.397475, 31.119589),
}


@pytest.mark.parametrize("time", BRICK_TABLE)
def test_tumbling_brick__rates(tops, time):
    outside_check(
        what=f"rates of the tumbling brick after {time} s",
        source="NASA/TM-2015-218675, check-case 2, through the Jacobi form; R1.19, recomputed",
        expected=BRICK_TABLE[time], got=tops.rates(time, BRICK) / DEGREE, tolerance=1e-4,
        unit="deg/s",
    )  # fmt: skip


@pytest.mark.parametrize("time", [5.0, 17.0, 30.0])
def test_tumbling_brick__rates_of_its_own_jacobi_form(tops, time):
    # Landau and Lifshitz, par. 37 (from memory), for these very inertias; the phase at the start
    # from the same functions
    inertia, start = (np.array(part) for part in BODIES[BRICK])
    one, two, three = inertia
    energy2, momentum2 = np.sum(inertia * start**2), np.sum((inertia * start) ** 2)
    short, long = energy2 * three - momentum2, momentum2 - energy2 * one
    crest = np.sqrt(
        [
            short / (one * (three - one)),
            short / (two * (three - two)),
            long / (three * (three - one)),
        ]
    )
    speed = np.sqrt((three - two) * long / (one * two * three))
    m = (two - one) * short / ((three - two) * long)
    phase = inverse_sn_cn(start[1] / crest[1], start[0] / crest[0], m)
    sn, cn, dn, _ = ellipj(speed * time + phase, m)
    outside_check(
        what=f"rates of the tumbling brick after {time:.0f} s, its own inertias",
        source="Landau and Lifshitz, par. 37, from memory; scipy.special.ellipj",
        expected=crest * [cn, sn, dn], got=tops.rates(time, BRICK), tolerance=1e-9, unit="rad/s",
    )  # fmt: skip


def inverse_sn_cn(sn, cn, m):
    """Argument u in [0, 2 K) or its mirror with these values, by bisection."""
    low, high = (0.0, ellipk(m)) if cn > 0.0 else (ellipk(m), 2.0 * ellipk(m))
    rising = cn > 0.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if (ellipj(middle, m)[0] < sn) == rising:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def test_steady_turn__quaternion(tops):
    # any text, for instance Kuipers, Quaternions and Rotation Sequences; R1.7
    turn = turn_since_start(tops, 2.0, STEADY)
    outside_check(
        what="quaternion after 2 s at a steady rate",
        source="Kuipers, Quaternions and Rotation Sequences; R1.7, from memory",
        expected=[0.81594097, 0.28135775, -0.18757183, 0.46892958], got=turn, tolerance=1e-8,
        unit="1",
    )  # fmt: skip


@pytest.mark.parametrize("lane", range(8))
def test_free_body__keeps_energy_and_momentum(tops, lane):
    # Euler's equations without torque (Goldstein, ch. 5; R1.1); R13.1 gives the drift at this step
    inertia = np.diag(BODIES[lane][0])
    if lane == SKEWED:
        inertia[0, 2] = inertia[2, 0] = SKEWED_XZ
    start = np.array(BODIES[lane][1])
    momentum = rotation(first_attitude()) @ inertia @ start
    for time in (0.005, 7.0, 15.0, 30.0):
        rates = tops.rates(time, lane)
        assert rates @ inertia @ rates == pytest.approx(start @ inertia @ start, rel=2e-9)
        now = rotation(tops.quaternion(time, lane)) @ inertia @ rates
        assert now == pytest.approx(momentum, abs=3e-9 * np.linalg.norm(momentum))


def test_free_body__centre_moves_straight_on(tops):
    # with 3 m/s from time zero, so that this also holds the trace's times against its states
    assert np.all(tops["east"] == 0.0)
    assert tops["north"] == pytest.approx(np.outer(tops.time, np.full(8, 3.0)), rel=1e-12)


def test_step__error_falls_with_its_fourth_power():
    # Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I; R13.1: largest error
    # of the rates at 10 s, steps of 0.2 s to 0.025 s
    published = {0.2: 7.692e-5, 0.1: 4.751e-6, 0.05: 2.944e-7, 0.025: 1.831e-8}
    jx, jy, jz = BODIES[ASYMMETRIC][0]
    wx, wy, wz = BODIES[ASYMMETRIC][1]
    body = {
        "core_jxx": jx, "core_jyy": jy, "core_jzz": jz,
        "start_rate_x": wx, "start_rate_y": wy, "start_rate_z": wz,
    }  # fmt: skip
    errors = []
    for step, expected in published.items():
        flown = fly_eight(changes=body, longest=10.0, tick=step)
        error = np.max(np.abs(flown.rates(10.0, 0) - ASYMMETRIC_TABLE[10]))
        outside_check(
            what=f"error of a free top's rates after 10 s in steps of {step} s",
            source="Runge-Kutta 4 elsewhere; R13.1, recomputed", expected=expected, got=error,
            relative=2e-3, unit="rad/s",
        )  # fmt: skip
        errors.append(error)
    outside_check(
        what="error at a step over that at half of it",
        source="fourth order; Hairer, Norsett and Wanner; R13.1, recomputed",
        expected=[16.19, 16.14, 16.08], got=np.array(errors[:-1]) / errors[1:], tolerance=0.1,
        unit="1",
    )  # fmt: skip
