"""The aids one by one: closed forms of their lags, drifts, geometry, outages and latency."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from sim.avionics import aids, seam
from sim.avionics.sensors import INPUTS as INERTIAL
from sim.lanes import lane_record, lane_types

ONE = lane_types(1)
STEP = 0.005
PLACE = tuple(f"unit_{axis}" for axis in ("east", "north", "up"))
SPEED = tuple(f"unit_velocity_{axis}" for axis in ("east", "north", "up"))
READ = (*aids.INPUTS, "unit_x", "unit_y", "unit_z", "pad_up")
KEPT = (*aids.CARRY, *PLACE, *SPEED)
UPRIGHT = SimpleNamespace(xx=0.0, xy=1.0, xz=0.0, yx=0.0, yy=0.0, yz=1.0, zx=1.0, zy=0.0, zz=0.0)
STILL = SimpleNamespace(rate_x=0.0, rate_y=0.0, rate_z=0.0)


class Aids:
    """The aids of one flight in plain Python, told where the inertial unit is."""

    def __init__(self, **numbers):
        self.p = lane_record("p", READ)(ONE, np.zeros((len(READ), 1)))
        self.w = lane_record("w", KEPT)(ONE, np.zeros((len(KEPT), 1)))
        self.sample = lane_record("s", seam.SAMPLE)(ONE, np.zeros((len(seam.SAMPLE), 1)))
        self.rest = lane_record("r", seam.AT_REST)(ONE, np.zeros((len(seam.AT_REST), 1)))
        numbers = {"gnss_outage_start": 1e30, "gnss_outage_end": 1e30} | numbers
        for name, value in numbers.items():
            setattr(self.p, name, value)
        aids.aids_at_rest(ONE, 1, 5, UPRIGHT, self.p, self.w, self.rest)

    def tick(self, count, place=(0.0, 0.0, 0.0), velocity=(0.0, 0.0, 0.0), *, r=UPRIGHT,
             burning=False, speed=0.0, state=STILL):  # fmt: skip
        for names, values in ((PLACE, place), (SPEED, velocity)):
            for name, value in zip(names, values, strict=True):
                setattr(self.w, name, value)
        aids.aids_tick(
            ONE, 1, 5, count, count * STEP, burning, speed, state, r, self.p, self.w, self.sample
        )
        return self.sample


def barometer(lag=0.0, **numbers):
    ticks = lag / STEP
    keep = np.exp(-1.0 / ticks) if lag else 0.0
    return Aids(
        barometer_fitted=1.0, barometer_interval=STEP, barometer_resolution=2.0**-40,
        barometer_steps=2.0**40, barometer_keep=keep, barometer_ticks=ticks, **numbers,
    )  # fmt: skip


def test_numbers__stand_in_no_other_list():
    assert not set(aids.INPUTS) & set(INERTIAL)


def test_barometer__ramp_comes_late_by_the_lag():
    """First order: output of a ramp v t is v (t - T + T exp(-t / T))."""
    lag, climb = 0.05, 20.0
    made = barometer(lag)
    for count in range(1, 40):
        time = count * STEP
        shown = made.tick(count, place=(0.0, 0.0, climb * time)).barometer_height
        wanted = climb * (time - lag + lag * np.exp(-time / lag))
        assert shown == pytest.approx(wanted, abs=1e-9)


def test_barometer__drift_pressure_and_plume_add_up():
    made = barometer(barometer_drift=0.02, barometer_speed_share=0.06 / (2.0 * 9.80665),
                     barometer_plume=0.5)  # fmt: skip
    shown = made.tick(200, place=(0.0, 0.0, 3.0), speed=15.0, burning=True).barometer_height
    assert shown == pytest.approx(3.0 + 0.02 * 1.0 + 0.06 * 225.0 / 19.6133 + 0.5, abs=1e-9)


def test_barometer__fooled_from_a_moment_on_feels_air_and_plume():
    """By hand: C v^2 / 2 g and an offset, besides its usual ones, and nothing before."""
    made = barometer(barometer_plume=0.5, barometer_fooled_from=1.0, barometer_fooled_plume=-2.0,
                     barometer_fooled_speed_share=0.4 / 19.6133)  # fmt: skip
    before = made.tick(199, speed=15.0, burning=True).barometer_height
    after = made.tick(200, speed=15.0, burning=True).barometer_height
    coasting = made.tick(201, speed=15.0).barometer_height
    assert before == pytest.approx(0.5, abs=1e-9)
    assert after == pytest.approx(0.5 - 2.0 + 0.4 * 225.0 / 19.6133, abs=1e-9)
    assert coasting == pytest.approx(0.4 * 225.0 / 19.6133, abs=1e-9)


def test_barometer__step_approaches_exponentially():
    lag = 0.04
    made = barometer(lag, barometer_plume=1.0)
    made.tick(1, burning=True)  # rises within this tick
    first = 1.0 - made.w.barometer_output
    made.tick(9, burning=True)
    for count in range(2, 9):
        made.tick(count, burning=True)
    assert (1.0 - made.w.barometer_output) / first == pytest.approx(np.exp(-8 * STEP / lag))


def tilted(angle):
    """Leaning to the east by this angle."""
    s, c = np.sin(angle), np.cos(angle)
    return SimpleNamespace(xx=s, xy=c, xz=0.0, yx=0.0, yy=0.0, yz=1.0, zx=c, zy=-s, zz=0.0)


RANGE = {"range_fitted": 1.0, "range_interval": STEP, "range_longest": 12.0, "range_x": -0.95,
         "unit_x": -0.35, "pad_up": 0.2}  # fmt: skip


def test_range__is_the_height_over_the_cosine_of_the_tilt():
    for angle in (0.0, 0.2, -0.5):
        made = Aids(**RANGE)
        sample = made.tick(1, place=(3.0, 1.0, 8.0), r=tilted(angle))
        height = 8.0 - 0.6 * np.cos(angle) - 0.2  # the window is 0.6 m towards the tail
        assert sample.range_valid == 1.0
        assert sample.range_distance == pytest.approx(height / np.cos(angle))


def test_range__sees_nothing_too_far_or_lying():
    assert Aids(**RANGE).tick(1, place=(0.0, 0.0, 13.0)).range_valid == 0.0
    assert Aids(**RANGE).tick(1, place=(0.0, 0.0, 5.0), r=tilted(1.2)).range_valid == 0.0
    assert Aids(**RANGE).tick(1, place=(0.0, 0.0, 5.0)).range_valid == 1.0


def test_range__dust_takes_its_share_near_the_ground_under_thrust():
    """400 readings: the share lost is known to 2.4 points; four of them are allowed."""
    made = Aids(**RANGE, range_dust_height=1.5, range_dust_chance=0.4)
    low, high = (0.0, 0.0, 1.5), (0.0, 0.0, 4.0)
    seen = [made.tick(i, place=low, burning=True).range_valid for i in range(1, 401)]
    assert abs(np.mean(seen) - 0.6) < 0.1
    assert all(made.tick(i, place=high, burning=True).range_valid for i in range(401, 440))
    assert all(made.tick(i, place=low).range_valid for i in range(440, 480))


GNSS = {"gnss_fitted": 1.0, "gnss_interval": 0.1, "gnss_latency": 0.15, "gnss_x": -0.1,
        "unit_x": -0.35}  # fmt: skip


def test_fixes__come_late_with_the_time_they_were_taken():
    made, seen = Aids(**GNSS), []
    for count in range(1, 100):
        time = count * STEP
        sample = made.tick(count, (time, 2.0 * time, 3.0 * time), (1.0, 2.0, 3.0))
        if sample.gnss_valid > 0.5:
            seen.append((time, sample.gnss_time, sample.gnss_east, sample.gnss_up))
            assert sample.gnss_velocity_north == pytest.approx(2.0)
    arrived, taken, east, up = np.array(seen).T
    np.testing.assert_allclose(taken, [0.1, 0.2, 0.3])
    np.testing.assert_allclose(arrived - taken, 0.15)
    np.testing.assert_allclose(east, taken)
    np.testing.assert_allclose(up, 3.0 * taken + 0.25)  # the antenna is ahead of the unit


def test_fix__velocity_is_that_of_the_antenna():
    made = Aids(**GNSS | {"gnss_latency": 0.0})
    turning = SimpleNamespace(rate_x=0.0, rate_y=0.0, rate_z=2.0)
    sample = made.tick(20, state=turning)
    # about body z (north): the nose goes east, the antenna 0.25 m ahead with it
    assert sample.gnss_velocity_east == pytest.approx(0.5)


def test_outage__no_fix_is_taken_in_it():
    made = Aids(**GNSS | {"gnss_latency": 0.0, "gnss_outage_start": 0.25, "gnss_outage_end": 0.55})
    taken = []
    for count in range(1, 200):
        sample = made.tick(count)
        if sample.gnss_valid > 0.5:
            taken.append(round(float(sample.gnss_time), 6))
    assert taken == [0.1, 0.2, 0.6, 0.7, 0.8, 0.9]


def test_interference__raises_the_noise_of_a_fix_while_it_lasts():
    """The same white noise, place and velocity, so many times as large in the window only."""
    noisy = GNSS | {
        "gnss_latency": 0.0, "gnss_noise_horizontal": 1.5, "gnss_noise_vertical": 2.5,
        "gnss_velocity_horizontal": 0.1, "gnss_velocity_vertical": 0.2,
    }  # fmt: skip
    window = {"gnss_disturbed_from": 0.25, "gnss_disturbed_until": 0.55}
    sound, disturbed = Aids(**noisy), Aids(**noisy, **window, gnss_disturbed_factor=6.0)
    up = np.array([0.0, 0.0, 0.25])  # the antenna is ahead of the unit
    ratios = {}
    for count in range(1, 200):
        pair = [each.tick(count) for each in (sound, disturbed)]
        if pair[0].gnss_valid > 0.5:
            places = [[s.gnss_east, s.gnss_north, s.gnss_up] - up for s in pair]
            speeds = [[s.gnss_velocity_east, s.gnss_velocity_north, s.gnss_velocity_up]
                      for s in pair]  # fmt: skip
            off = np.ravel([np.append(p, v) for p, v in zip(places, speeds, strict=True)])
            ratios[round(count * STEP, 6)] = np.ravel(off[6:] / off[:6])
    assert list(ratios) == [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9]
    for time, ratio in ratios.items():
        assert ratio == pytest.approx(6.0 if 0.25 <= time < 0.55 else 1.0), time


def test_fixes__drift_is_a_gauss_markov_process():
    """Correlation exp(-h / T) after a fix, spread as given (Gelb 1974, ch. 3, from memory).

    300 fixes of three axes: the correlation is known to 0.027, the spread to 3.5 % (they are not
    independent); four times as much is allowed.
    """
    keep = np.exp(-0.5)
    made = Aids(**GNSS | {
        "gnss_latency": 0.0, "gnss_interval": STEP, "gnss_drift_horizontal": 1.2,
        "gnss_drift_vertical": 2.2, "gnss_drift_keep": keep,
        "gnss_drift_step": np.sqrt(1.0 - keep**2),
    })  # fmt: skip
    rows = []
    for count in range(1, 301):
        sample = made.tick(count)
        up = (sample.gnss_up - 0.25) / 2.2
        rows.append([sample.gnss_east / 1.2, sample.gnss_north / 1.2, up])
    drift = np.array(rows)
    together = np.mean(drift[1:] * drift[:-1]) / np.mean(drift**2)
    assert abs(together - keep) < 0.11
    assert abs(drift.std() - 1.0) < 0.14
