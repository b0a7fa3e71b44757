"""Flights weighted by readings against flights flown anew at those readings."""

from __future__ import annotations

import base64
import math
from pathlib import Path

import numpy as np
import pytest

from sim.analysis.flights import came_down
from sim.analysis.proportions import clopper_pearson
from sim.analysis.reweight import Drawn, Reading, reweight, weighted_quantile, wilson_share
from sim.report.page import living
from sim.report.page.facts import gather
from sim.scenario import load_scenario
from sim.scenario.units import conversion

HERON = Path(__file__).parents[2] / "scenarios" / "heron.toml"
FLIGHTS = 4_000
UNITS = {row[0]: row[2] for row in living.READABLE}
# readings: value and standard deviation, in the unit of the page
CONDITIONS = [
    {"vehicle.dry_mass": (1958.0, 3.0)},
    {"vehicle.dry_mass": (1940.0, 3.0)},
    {"vehicle.cg": (564.0, 1.0)},
    {"launch_pad.tilt": (0.1, 0.05)},
    {"launch_pad.tilt": (0.5, 0.1)},
    {"wind.speed": (1.2, 0.3)},
    {"wind.speed": (3.6, 0.3)},
    {"ascent_motor.grain_temperature": (19.0, 1.0), "landing_motor.grain_temperature": (19.0, 1.0)},
    {"ascent_motor.grain_temperature": (11.0, 1.0), "landing_motor.grain_temperature": (12.0, 1.0)},
    {"wind.speed": (3.1, 0.4), "launch_pad.tilt": (0.3, 0.1)},
    {"wind.speed": (2.0, 0.3), "vehicle.dry_mass": (1955.0, 4.0)},
    {"vehicle.cg": (557.0, 1.5), "launch_pad.tilt": (0.35, 0.1), "wind.speed": (2.8, 0.4)},
]
# 12 conditions, two statistics each: a risk of 1 % in all that one fails by chance
CONFIDENCE = 1.0 - 0.01 / (2 * len(CONDITIONS))

pytestmark = pytest.mark.slow


def flown(scenario, out, seed):
    from sim.ensemble.run import disperse

    return disperse(scenario, flights=FLIGHTS, out=out, seed=seed)


@pytest.fixture(scope="module")
def carried(tmp_path_factory):
    """What a page carries of an ensemble, unpacked as the page does it."""
    path = tmp_path_factory.mktemp("base") / "base.nc"
    with flown(load_scenario(HERON), path, 1) as ds:
        facts = gather(path, ds)
        data = living.carried(facts, living.offered(ds, facts.scenario))
    drawn = {
        one["name"]: Drawn(one["kind"], tuple(one["parameters"]), living.unpacked(one["values"]))
        for one in data["inputs"]
    }
    assert set(drawn) == set(UNITS)
    flags = np.frombuffer(base64.b64decode(data["flags"]), dtype="u1")
    down = (flags & 4) > 0
    names = [one["name"] for one in data["inputs"]]
    return {
        "drawn": drawn, "success": (flags & 1) > 0, "inside": (flags & 2) > 0,
        "miss": np.where(down, np.hypot(*(living.unpacked(data[n]) for n in ("east", "north"))),
                         np.inf),
        "speed": np.where(down, living.unpacked(data["speed"]), np.inf),
        "correlation": {(names[a], names[b]): value for a, b, value in data["correlated"]},
    }  # fmt: skip


def today(condition, folder):
    """Scenario with the readings for laws; what is on board stays as it was."""
    base = load_scenario(HERON)
    text = HERON.read_text(encoding="utf-8")
    sets = []
    for key, (value, spread) in condition.items():
        number = base.numbers[key]
        factor, offset = conversion(UNITS[key], number.unit)
        middle, width = value * factor + offset, spread * factor
        law = f'{{ normal = ["{middle!r} {number.unit}", "{width!r} {number.unit}"] }}'
        if key == "launch_pad.tilt":
            law = (f'{{ truncated_normal = ["{middle!r} rad", "{width!r} rad", "0 rad", '
                   f'"{middle + 6.0 * width!r} rad"] }}')  # fmt: skip
        sets.append(f'{key}={{ value = {law}, believed = "{number.believed!r} {number.unit}" }}')
    motors = [condition.get(f"{which}_motor.grain_temperature") for which in ("ascent", "landing")]
    if all(motors):
        # the air goes with the motors: its mean and spread given both scores, correlation 0.8
        z = [(value - 15.0) / 4.0 for value, _ in motors]
        gain, left = 0.8 / 1.8, 1.0 - 2.0 * 0.8**2 / 1.8
        mean = 15.0 + 3.0 * gain * sum(z)
        spread = 3.0 * math.sqrt(left + gain**2 * sum((u / 4.0) ** 2 for _, u in motors))
        sets.append(f'site.temperature={{ value = {{ normal = ["{mean} degC", "{spread} K"] }}, '
                    'believed = "15 degC" }')  # fmt: skip
        tied = text[text.index("[[correlated]]", text.index("[[correlated]]") + 1) :]
        text = text.replace(tied[: tied.index("correlation = 0.8") + 17], "")
    for name in ("heron_ascent.csv", "heron_landing.csv"):
        (folder / name).write_bytes(HERON.with_name(name).read_bytes())
    (folder / "today.toml").write_text(text, encoding="utf-8")
    return load_scenario(folder / "today.toml", sets)


@pytest.mark.parametrize("condition", CONDITIONS, ids=lambda c: ", ".join(
    f"{key} {value} +/- {spread}" for key, (value, spread) in c.items()
))  # fmt: skip
def test_weighted_flights__say_what_fresh_flights_say(
    carried, condition, tmp_path, record_property
):
    readings = {}
    for key, (value, spread) in condition.items():
        factor, offset = conversion(UNITS[key], load_scenario(HERON).numbers[key].unit)
        readings[key] = Reading(value * factor + offset, spread * factor)
    parts = dict(carried)
    drawn, correlation = parts.pop("drawn"), parts.pop("correlation")
    seen = reweight(drawn, readings, correlation, **parts, confidence=CONFIDENCE)
    ordinary = reweight(drawn, readings, correlation, **parts)
    with flown(today(condition, tmp_path), tmp_path / "new.nc", 2) as ds:
        good = ds["success"].to_numpy() == 1
        miss = np.where(came_down(ds), ds["miss_distance"].to_numpy(), np.inf)
    fresh = clopper_pearson(int(good.sum()), len(good), CONFIDENCE)
    ends = wilson_share(0.95, len(miss), CONFIDENCE)
    radius = [weighted_quantile(miss, np.ones(len(miss)), p) for p in (ends[0], 0.95, ends[1])]
    low, middle, high = (100.0 * x for x in ordinary.success)
    near, far, out = ordinary.radius_95
    told = (
        f"| {condition} | {seen.effective:.0f} | {middle:.1f} ({low:.1f} to {high:.1f}) % | "
        f"{100.0 * fresh.estimate:.1f} % | {far:.2f} ({near:.2f} to {out:.2f}) m | "
        f"{radius[1]:.2f} m |"
    )
    record_property("row", told)
    assert apart(seen.success, (fresh.lower, fresh.estimate, fresh.upper)) <= 1.0, told
    assert apart(seen.radius_95, radius) <= 1.0, told


def apart(one, other):
    """Distance of two estimates over the reach of both bounds, put together as squares."""
    a, b = (one, other) if one[1] < other[1] else (other, one)
    return (b[1] - a[1]) / math.hypot(a[2] - a[1], b[1] - b[0])
