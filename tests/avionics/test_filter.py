"""The navigation filter against matrices, Riccati's equation, and its own promises."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import solve_discrete_are
from scipy.stats import chi2

from sim.avionics.filter import COVARIANCE, READ, move_on, take_in
from sim.avionics.filter_memory import FILTER_SETTINGS, MEASURED_FIELDS, STATES
from sim.avionics.memory import MEMORY, SETTINGS
from sim.lanes import lane_record, lane_types
from tests.avionics.heron_numbers import heron
from tests.avionics.on_board import STEP, WIDTH, OnBoard

ONE = lane_types(1)
GRAVITY = 9.807636571711571  # of the stand-in's launch point
UPRIGHT = (0.5, -0.5, -0.5, -0.5)
memory_record, settings_record = lane_record("m", MEMORY), lane_record("s", SETTINGS)


def block(array, lane=0):
    """The covariance (15, 15) of one lane."""
    return array[COVARIANCE : COVARIANCE + STATES**2, lane].reshape(STATES, STATES)


class Plain:
    """A memory block and settings for the filter in plain Python."""

    def __init__(self, **settings):
        self.array, told = np.zeros((len(MEMORY), 1)), np.zeros((len(SETTINGS), 1))
        self.memory = memory_record(ONE, self.array)
        self.settings = settings_record(ONE, told)
        for name, value in ({"gravity": GRAVITY, "gate": 1e9} | settings).items():
            setattr(self.settings, name, value)
        for i, part in enumerate(UPRIGHT):
            setattr(self.memory, f"quaternion_{i}", part)

    def move(self, interval, gained=(0.0, 0.0, 0.0)):
        self.memory.carried_interval = interval
        for axis, value in zip(("east", "north", "up"), gained, strict=True):
            setattr(self.memory, f"velocity_{axis}", value)
            setattr(self.memory, f"carried_{axis}", 0.0)
        move_on(ONE, True, self.array, self.memory, self.settings)

    def read(self, place, off, variance, tilts=(0.0, 0.0, 0.0), whole=1.0):
        row = READ + MEASURED_FIELDS * place
        self.array[row : row + MEASURED_FIELDS, 0] = [whole, *tilts, off, variance, 1.0]


def test_covariance__moves_on_as_the_matrices_say():
    """Groves 2013, ch. 14 (from memory): P = Phi P Phi' + Q, Phi of second order in the place."""
    plain = Plain(push_noise=0.3, turn_noise=0.2, gyro_bias_noise=0.1, force_bias_noise=0.4)
    generator = np.random.default_rng(3)
    root = generator.normal(size=(STATES, STATES))
    before = root @ root.T
    plain.array[COVARIANCE : COVARIANCE + STATES**2, 0] = before.ravel()
    h, gained = 0.02, np.array([0.3, -0.2, 0.1])
    plain.move(h, gained)
    felt = gained + np.array([0.0, 0.0, GRAVITY * h])
    # columns of UPRIGHT: body x up, y east, z north
    axes = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
    across = np.array([[0, felt[2], -felt[1]], [-felt[2], 0, felt[0]], [felt[1], -felt[0], 0]])
    phi = np.eye(STATES)
    phi[3:6, 6:9], phi[3:6, 12:15], phi[6:9, 9:12] = across, h * axes, h * axes
    phi[0:3] += h * 0.5 * (phi[3:6] + np.eye(STATES)[3:6])
    noise = np.diag(np.repeat([0.0, 0.3, 0.2, 0.1, 0.4], 3)) * h
    np.testing.assert_allclose(block(plain.array), phi @ before @ phi.T + noise, atol=1e-12)


def test_reading__corrects_as_the_textbook_says():
    """Joseph-free form K = P H' / S, P - K H P; two scalars in a row as one vector of two."""
    plain = Plain()
    root = np.random.default_rng(4).normal(size=(STATES, STATES))
    before = root @ root.T
    plain.array[COVARIANCE : COVARIANCE + STATES**2, 0] = before.ravel()
    tilts = np.array([0.2, -0.4, 0.1])
    plain.read(1, 0.7, 0.5, tilts)
    plain.read(7, -0.3, 0.25, whole=1.5)
    assert take_in(ONE, plain.array, plain.memory, plain.settings) == 1.0
    h = np.zeros((2, STATES))
    h[0, 1], h[0, 6:9], h[1, 2] = 1.0, tilts, 1.5
    variance = h @ before @ h.T + np.diag([0.5, 0.25])
    gain = before @ h.T @ np.linalg.inv(variance)
    start = MEMORY.index("error_0")
    np.testing.assert_allclose(plain.array[start : start + STATES, 0], gain @ [0.7, -0.3])
    np.testing.assert_allclose(block(plain.array), before - gain @ h @ before, atol=1e-10)
    # the two scaled innovations squared add up to the vector's
    off = np.array([0.7, -0.3])
    total = off @ np.linalg.solve(variance, off)
    assert plain.memory.innovation_sum == pytest.approx(total)
    assert plain.memory.innovation_count == 2.0


def test_gate__a_reading_beyond_it_changes_nothing():
    plain = Plain(gate=9.0, push_noise=0.1)
    plain.move(1.0)
    before = block(plain.array).copy()
    plain.read(3, 10.0, 0.1)
    assert take_in(ONE, plain.array, plain.memory, plain.settings) == 0.0
    np.testing.assert_array_equal(block(plain.array), before)
    assert plain.memory.refused_count == 1.0


def test_steady_case__is_the_solution_of_riccatis_equation():
    """One axis, a place at a constant rate, white acceleration noise: scipy's discrete solution."""
    h, noise, variance = 0.1, 0.05, 0.3
    plain = Plain(push_noise=noise)
    for _ in range(150):
        plain.move(h)
        predicted = block(plain.array)[np.ix_([0, 3], [0, 3])].copy()
        plain.read(0, 0.0, variance)
        take_in(ONE, plain.array, plain.memory, plain.settings)
    step, sees = np.array([[1.0, h], [0.0, 1.0]]), np.array([[1.0, 0.0]])
    wanted = solve_discrete_are(step.T, sees.T, np.diag([0.0, noise * h]), [[variance]])
    np.testing.assert_allclose(predicted, wanted, rtol=1e-7)


# ---- on board ------------------------------------------------------------------------------------

QUIET = dict.fromkeys(FILTER_SETTINGS, 0.0) | {"aided": 1.0, "gate": 1e9}
PUSH = 2.0 * GRAVITY  # for PUSHED, upright; then held up by as much as gravity
PUSHED, FLOWN = 40, 300  # ticks
PLACES = ("east", "north", "up")
NAVIGATED = (
    "phase", *PLACES, *(f"velocity_{a}" for a in PLACES), *(f"quaternion_{i}" for i in range(4)),
)  # fmt: skip


def board(errors=None, settings=None, first=0, seed=1):
    made = OnBoard(
        heron({"alignment.wait": 1e9, "flight_computer.control_rate": 1.0 / STEP}), errors,
        settings=settings, first_flight=first, seed=seed,
    )  # fmt: skip
    made.begin([GRAVITY, 0.0, 0.0])
    return made


def test_no_aid__is_dead_reckoning_to_the_last_bit():
    generator = np.random.default_rng(1)
    alone, aided = board(), board(settings=QUIET | {"start_tilt": 0.01, "push_noise": 1.0})
    for _ in range(80):
        rate, force = generator.normal(size=3), generator.normal(size=3)
        force[0] += 25.0
        alone.tick(rate, force)
        aided.tick(rate, force)
    assert alone.belief.phase[0] > 0.0
    for name in NAVIGATED:
        np.testing.assert_array_equal(getattr(alone.belief, name), getattr(aided.belief, name))
    assert aided.belief.deviation_east[0] > 0.0
    assert np.all(alone.belief.deviation_east == 0.0)


def fix_of(made, place, velocity, time):
    """Put a fix into the sample; place and velocity of shape (3, width)."""
    for axis, one, two in zip(PLACES, place, velocity, strict=True):
        getattr(made.sample, f"gnss_{axis}")[:] = one
        getattr(made.sample, f"gnss_velocity_{axis}")[:] = two
    made.sample.gnss_time[:], made.sample.gnss_valid[:] = time, 1.0


def truth(ticks):
    """Height gained and speed after so many ticks."""
    pushed = min(ticks, PUSHED)
    gain, time = (PUSH - GRAVITY) * STEP * pushed, STEP * (ticks - pushed)
    return 0.5 * gain * STEP * pushed + gain * time, gain


def test_late_fix__is_compared_with_the_place_kept_at_its_time():
    told = QUIET | {"start_place": 1.0, "start_velocity": 1.0}
    told |= {f"gnss_{k}": 0.01 for k in ("horizontal", "vertical")}
    told |= {f"gnss_velocity_{k}": 0.01 for k in ("horizontal", "vertical")}
    made, alone = board(settings=told), board()
    for tick in range(120):
        force = [PUSH if tick < PUSHED else GRAVITY, 0.0, 0.0]
        made.sample.gnss_valid[:] = 0.0
        late = tick + 1 - 20
        if tick in (60, 80, 100):  # perfect, and 0.1 s late
            rise, speed = truth(late)
            fix_of(made, np.outer([0, 0, rise], np.ones(WIDTH)),
                   np.outer([0, 0, speed], np.ones(WIDTH)), late * STEP)  # fmt: skip
        made.tick([0, 0, 0], force)
        alone.tick([0, 0, 0], force)
    assert np.all(made.belief.innovation_count == 18.0)
    # between kept places the way is taken straight: a h^2 / 8 = 0.5 mm at most
    np.testing.assert_allclose(made.belief.up, alone.belief.up, atol=5e-4)
    np.testing.assert_allclose(made.belief.up, truth(120)[0], atol=1e-3)
    assert made.belief.deviation_up[0] < 0.2


def ensemble(believed=1.0, groups=25):
    """Normalised errors of 8 x groups flights under linear, ideal conditions, and all innovations.

    Straight up, attitude perfect; what is off at the start, the bias and the noises are drawn from
    what the filter believes, but for the noise of the fixes, believed smaller by `believed`.
    """
    generator = np.random.default_rng(11)
    place, speed, bias, noise, fix, rate = 0.3, 0.5, 0.1, 0.02, 0.4, 0.2
    told = QUIET | {
        "start_place": place, "start_velocity": speed, "start_nose_bias": bias,
        "start_side_bias": bias, "push_noise": noise**2,
        "gnss_horizontal": (believed * fix) ** 2, "gnss_vertical": (believed * fix) ** 2,
        "gnss_velocity_horizontal": (believed * rate) ** 2,
        "gnss_velocity_vertical": (believed * rate) ** 2,
    }  # fmt: skip
    found, innovations, count = [], 0.0, 0.0
    for group in range(groups):
        errors = {f"inertial.accelerometer.bias.{a}": bias * generator.normal(size=WIDTH)
                  for a in "xyz"}  # fmt: skip
        errors["inertial.accelerometer.noise"] = noise
        made = board(errors, told, first=8 * group)
        start = np.vstack([place * generator.normal(size=(3, WIDTH)),
                           speed * generator.normal(size=(3, WIDTH))])  # fmt: skip
        for i, name in enumerate((*PLACES, *(f"velocity_{a}" for a in PLACES))):
            made.memory.array[MEMORY.index(name)] += start[i]
        for tick in range(FLOWN):
            made.sample.gnss_valid[:] = 0.0
            if tick % 20 == 0 and tick >= PUSHED:
                rise, gone = truth(tick + 1)
                away = fix * generator.normal(size=(3, WIDTH))
                gone = np.outer([0, 0, gone], np.ones(WIDTH)) + rate * generator.normal(
                    size=(3, WIDTH)
                )
                fix_of(made, np.outer([0, 0, rise], np.ones(WIDTH)) + away, gone,
                       (tick + 1) * STEP)  # fmt: skip
            made.tick([0, 0, 0], [PUSH if tick < PUSHED else GRAVITY, 0.0, 0.0])
        rise, gone = truth(FLOWN)
        belief = made.belief
        off = np.array([belief.east, belief.north, belief.up - rise, belief.velocity_east,
                        belief.velocity_north, belief.velocity_up - gone])  # fmt: skip
        for lane in range(WIDTH):
            covariance = block(made.memory.array, lane)[:6, :6]
            found.append(off[:, lane] @ np.linalg.solve(covariance, off[:, lane]))
        innovations += belief.innovation_sum.sum()
        count += belief.innovation_count.sum()
    return np.array(found), innovations, count


def test_honest_filter__errors_and_innovations_are_chi_square():
    """Bar-Shalom, Li and Kirubarajan 2001, ch. 5 (from memory); false alarm 1 in 1000 each."""
    errors, innovations, count = ensemble()
    low, high = chi2.ppf([0.0005, 0.9995], 6 * len(errors)) / len(errors)
    assert low < errors.mean() < high
    low, high = chi2.ppf([0.0005, 0.9995], count) / count
    assert low < innovations / count < high


def test_optimistic_filter__is_found_out():
    errors, innovations, count = ensemble(believed=0.5, groups=10)
    assert errors.mean() > chi2.ppf(0.9999, 6 * len(errors)) / len(errors)
    assert innovations / count > chi2.ppf(0.9999, count) / count
