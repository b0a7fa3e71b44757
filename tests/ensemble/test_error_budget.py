"""The budget of dead reckoning alone against linear covariance analysis."""

from pathlib import Path

import numpy as np
import pytest

from sim.ensemble.draws import uncertain_names
from sim.ensemble.error_budget import fly_budget, quantile_change
from sim.ensemble.fly_runs import WIDTH, fly_trace
from sim.ensemble.sources import NOISE
from sim.scenario import load_scenario

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"
G = 9.8075  # m/s2, near enough at 47 degrees
WALK = np.radians(0.02)  # rad per root second, the random-walk coefficient N


def dead_reckoning():
    """Heron going straight up and down, its only errors a launch-pad tilt and gyro noise."""
    plain = load_scenario(HERON)
    fixed = {
        name: plain.numbers[name].value
        for name in uncertain_names(plain)
        if not name.startswith("launch_pad.tilt")
    }
    return plain.with_values(fixed | {
        "wind.speed": 0.0,
        "landing_pad.east": 0.0, "flight_computer.climb": "programme",
        "flight_computer.climb_tilt": 0.0, "alignment.attitude": "plumb",
        "alignment.zeroing": "none", "wind.turbulence": "none",
        "inertial.accelerometer.noise": 0.0, "inertial.accelerometer.instability": 0.0,
        "inertial.accelerometer.resolution": 0.0, "inertial.gyro.instability": 0.0,
        "inertial.gyro.resolution": 0.0, "inertial.gyro.noise": WALK,
        "inertial.vibration.level": 0.0, "throttle.wander": 0.0,
    })  # fmt: skip


@pytest.mark.slow
def test_fly_budget__dead_reckoning_against_linear_covariance():
    """Constant tilt: x = th (g T^2/2 + z(T) - z(0)), R4.16. Gyro noise N per root second: var x =
    N^2 int_0^T [int_s^T (T - t) f dt]^2 ds, R4.18; and as the mean over the wait is taken for the
    gyro's bias, a bias of N / sqrt(wait): x = b (g T^3/6 + T z(T) + T z(0) - 2 int z dt), R4.17
    (strapdown error equations in the local frame).
    """
    scenario = dead_reckoning()
    outcomes, trace = fly_trace(scenario, 1, None, {}, width=WIDTH)
    start, contact = float(outcomes["lift_off_time"][0]), float(outcomes["contact_time"][0])
    seen = (trace["time"] >= start) & (trace["time"] <= contact)
    time, up = trace["time"][seen] - start, trace["true_unit_up"][seen]
    end = time[-1]
    by_tilt = G * end**2 / 2.0 + up[-1] - up[0]
    force = np.gradient(np.gradient(up, time), time) + G
    steps = np.gradient(time)
    inner = np.cumsum(((end - time) * force * steps)[::-1])[::-1]
    by_walk = np.sum(inner**2 * steps)
    by_bias = G * end**3 / 6.0 + end * (up[-1] + up[0]) - 2.0 * np.sum(up * steps)
    wait = scenario.numbers["alignment.wait"].value
    law = scenario.numbers["launch_pad.tilt"].law
    size = law.spread() ** 2 + law.mean() ** 2  # both axes together
    by_noise = 2.0 * WALK**2 * (by_walk + by_bias**2 / wait)
    expected = {"launch_pad.tilt": size * by_tilt**2, NOISE: by_noise}
    parts = ("navigation_error_east", "navigation_error_north")
    shares, _ = fly_budget(scenario, base=4096, follow=0, vectors={"navigation": (parts, "m")})
    spread = float(shares["spread"][0])
    assert spread == pytest.approx(np.sqrt(sum(expected.values())), rel=0.03)
    for name, variance in expected.items():
        # linear, so the total part is the first-order part; of 4,096 rows its root scatters by 1 %
        found = float(shares["with_interactions"].sel(source=name, bound="estimate")[0])
        assert found == pytest.approx(np.sqrt(variance), rel=0.05)


def test_quantile_change__paired_shift():
    before = np.random.default_rng(1).standard_normal(400)
    low, middle, high = quantile_change(before, before + 0.25, 0.95)
    assert low == pytest.approx(0.25)
    assert middle == pytest.approx(0.25)
    assert high == pytest.approx(0.25)


def test_quantile_change__nothing_between_two_that_are_lost():
    lost = np.full(50, np.nan)
    assert quantile_change(lost, lost, 0.95) == (0.0, 0.0, 0.0)
