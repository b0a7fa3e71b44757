"""Dead reckoning and back-dated lift-off, carried along motions given by formula."""

from __future__ import annotations

import numpy as np

from sim.avionics.memory import SETTINGS
from tests.avionics.heron_numbers import DEGREE, heron
from tests.avionics.made_flights import REST, TIME, carried, height, samples
from tests.avionics.on_board import STEP, OnBoard
from tests.outside import outside_check

STANDARD = heron(choices={"site.gravity": "standard"})
GRAVITY = 9.80665


def waggle(t):
    """A way of turning that is nowhere simple, up to 20 degrees."""
    return 0.35 * np.sin(2.0 * t) * t / TIME, 0.3 * np.sin(1.3 * t), 0.25 * (1.0 - np.cos(1.7 * t))


def test_reckoning__ideal_sensors_within_a_millimetre():
    motion = samples(GRAVITY, roll_rate=1.0, attitude=waggle, sideways=8.0)
    way = carried(OnBoard(STANDARD), motion, keep=True)
    flying = round((REST + 0.1) / STEP)  # before lift-off is noticed nothing is believed
    error = way[flying:, :, 0] - motion[2][flying:]
    assert np.abs(error).max() < 1e-3


def test_reckoning__attitude_stays_exact_and_of_unit_length():
    board = OnBoard(STANDARD)
    motion = samples(GRAVITY, roll_rate=2.0 * np.pi / TIME * 3.0)
    carried(board, motion)
    q = np.array([getattr(board.belief, f"quaternion_{k}")[0] for k in range(4)])
    assert abs(np.sum(q * q) - 1.0) < 1e-14
    # three whole turns: as it stood
    assert abs(abs(q @ np.array([0.5, -0.5, -0.5, -0.5])) - 1.0) < 1e-10


def test_lift_off__back_dated_to_where_motion_began():
    board = OnBoard(STANDARD)
    carried(board, samples(GRAVITY))
    assert np.all(np.abs(board.belief.lift_off_time - REST) < 2.5 * STEP)


def test_lift_off__a_knock_is_no_lift_off():
    board = OnBoard(STANDARD)
    board.begin([GRAVITY, 0.0, 0.0])
    for count in range(60):
        knocked = 20 <= count < 26  # one sample fewer than would do, and some
        board.tick(np.zeros(3), [30.0 if knocked else GRAVITY, 0.0, 0.0])
    assert np.all(board.belief.phase == 0)
    assert np.all(board.belief.up == 0.0)


def test_lift_off__lanes_lift_off_one_by_one():
    """Each lane starts at a time of its own; all must believe the same climb, shifted."""
    board = OnBoard(STANDARD)
    board.begin([GRAVITY, 0.0, 0.0])
    starts = np.arange(8) * 3
    for count in range(400):
        pushed = count >= 50 + starts
        board.tick(np.zeros(3), np.array([np.where(pushed, 30.0, GRAVITY), 0 * starts, 0 * starts]))
    pushed_for = STEP * (400 - 50 - starts)
    expected = 0.5 * (30.0 - GRAVITY) * pushed_for**2
    np.testing.assert_allclose(board.belief.up, expected, rtol=1e-12)


def test_tilt_error__costs_g_theta_half_t_squared_at_launch_height():
    """0.2 degrees unknown, landing at launch height after 10 s: 1.7116 m, whatever the profile.

    Titterton and Weston 2004, Strapdown Inertial Navigation Technology; R4.9, R4.16.
    """
    lean = 0.2 * DEGREE
    believed = carried(OnBoard(STANDARD), samples(GRAVITY, lean=(lean, 0.0)))
    # the vehicle leans east and believes to stand upright: it feels less force from the east
    outside_check(
        what="believed place east, 0.2 deg unknown, ten seconds",
        source="Titterton and Weston (2004), from memory; R4.9 and R4.16, derived",
        expected=-1.7116 * np.ones_like(believed[0]), got=believed[0], relative=5e-3, unit="m",
    )  # fmt: skip
    np.testing.assert_allclose(believed[1], 0.0, atol=1e-9)


def test_gyro_bias__costs_what_the_profile_integrates_to():
    """x = b (g T^3 / 6 - 2 integral of z dt): 1034.4417 b for this profile; R4.17.

    The closed form is derived (D in the reference); integral of z is 300 m s.
    """
    bias = 0.05 * DEGREE
    scenario = heron({"alignment.wait": 0.0}, {"site.gravity": "standard"})
    board = OnBoard(scenario, {"inertial.gyro.bias.z": bias})
    believed = carried(board, samples(GRAVITY))
    since = REST + TIME - board.belief.lift_off_time[0]
    late = since - TIME  # reckoned a little longer than the motion lasts, at rest
    expected = bias * (1034.4417 + 0.5 * GRAVITY * TIME**2 * late) * np.ones_like(believed[0])
    # a turn about north, felt as leaning east
    outside_check(
        what="believed place east, gyro bias of 0.05 deg/s, up and down in ten seconds",
        source="R4.17, derived", expected=expected, got=believed[0], relative=2e-3, unit="m",
    )  # fmt: skip


def test_velocity_random_walk__grows_as_published():
    """Accelerometer noise of density N scatters the position by N sqrt(T^3 / 3); R4.11.

    Groves, Principles of GNSS, Inertial, and Multisensor Integrated Navigation Systems, 2013.

    160 flights of 2 s in still flight at 2 g; the spread of three axes has a standard error of
    3.2 %, four of them are allowed.
    """
    density = 100e-6 * GRAVITY
    scenario = heron({"inertial.accelerometer.noise": density, "alignment.wait": 1e9},
                     {"site.gravity": "standard"})  # fmt: skip
    ends = []
    for group in range(20):
        board = OnBoard(scenario, first_flight=8 * group)
        board.begin([GRAVITY, 0.0, 0.0])
        for count in range(420):
            board.tick(np.zeros(3), [GRAVITY if count < 20 else 20.0, 0.0, 0.0])
        since = board.sample.time[0] - board.belief.lift_off_time
        fair = 0.5 * (20.0 - GRAVITY) * 2.0**2
        end = np.array([board.belief.east, board.belief.north, board.belief.up - fair])
        ends.append(end / (density * np.sqrt(since**3 / 3.0)))
    spread = np.sqrt(np.mean(np.square(ends)))
    outside_check(
        what="scatter of the place from accelerometer noise over N sqrt(T^3 / 3), 160 flights",
        source="Groves (2013), from memory; R4.11, recomputed", expected=1.0, got=spread,
        tolerance=4.0 * 0.032, unit="1",
    )  # fmt: skip


def test_height__gravity_weakens_upwards():
    """Free-air gradient 3.086e-6 1/s2 (textbook; from memory): 60 m up it is 1.85e-4 m/s2 less."""
    board = OnBoard(heron())
    surface = board.settings[SETTINGS.index("gravity"), 0]
    gradient = board.settings[SETTINGS.index("gravity_gradient"), 0]
    rates, forces, positions, resting = samples(surface)
    before = np.vstack((np.zeros(3), positions[:-1]))
    forces[:, 0] -= gradient * before[:, 2]  # what is felt in weaker gravity
    believed = carried(board, (rates, forces, positions, resting))
    np.testing.assert_allclose(believed[2], height(TIME), atol=1e-3)
    assert abs(gradient * 60.0 - 1.85e-4) < 2e-6
