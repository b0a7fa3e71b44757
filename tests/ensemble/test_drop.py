"""The drop rig: what the kernel is started with, and what mechanics says must come of it."""

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from sim.ensemble.batches import outcome_dataset
from sim.ensemble.drop import drop_many, drop_one, even_ground, fly_drops, make_rig
from sim.ensemble.drop_map import WAYS, fly_map
from sim.ensemble.drop_release import PREFIX, Release, foot_direction, read_release
from sim.ensemble.drop_summary import drop_summary
from sim.ensemble.drop_vary import at_level, fly_vary
from sim.ensemble.registry import OUTCOME_MEANINGS, OUTCOMES
from sim.ensemble.vary import parse_vary
from sim.errors import UserMistake
from sim.scenario import load_scenario
from sim.scenario.laws import Law

TESTS = Path(__file__).parents[1]
STOOL = TESTS / "flight" / "data" / "stool.toml"
HERON = TESTS.parent / "scenarios" / "heron.toml"
GRAVITY = 9.80665
LIMIT = np.arctan(0.30 * np.cos(np.pi / 4) / 0.40)  # R9.1, R9.2: tilt at which the stool tips


@pytest.fixture(scope="module")
def stool():
    """Load 1.5 kg on four rigid feet, 0.30 m from the axis and 0.40 m below the cg; no air."""
    return load_scenario(STOOL)


@pytest.fixture(scope="module")
def heron():
    return load_scenario(HERON)


def nominal(scenario, **columns):
    """Nominal drops with these columns of the release; the others are zero."""
    columns = {name: np.atleast_1d(np.asarray(v, dtype=float)) for name, v in columns.items()}
    count = max(len(v) for v in columns.values())
    names = ("tilt", "tilt_direction", "side_speed", "side_direction", "turn_rate")
    values = {PREFIX + name: np.zeros(count) for name in names}
    values |= {PREFIX + name: np.broadcast_to(v, (count,)).copy() for name, v in columns.items()}
    runs = np.arange(count, dtype=np.int64)
    return fly_drops(make_rig(scenario).scenario, 1, runs, values | even_ground(count))


def released(**texts):
    """Read a release as from the command line."""
    return lambda scenario, drawn=False: read_release(texts, scenario, drawn=drawn)


# Torricelli, sqrt(2 g h): mechanics
def test_height__sets_the_sink_rate(stool):
    height = np.array([0.05, 0.1, 0.2, 0.4, 1.0, 3.0])
    found = nominal(stool, height=height)
    assert found["sink_rate"] == pytest.approx(np.sqrt(2.0 * GRAVITY * height), rel=1e-6)
    assert found["contact_time"] == pytest.approx(np.sqrt(2.0 * height / GRAVITY), rel=1e-6)


def test_height__is_that_of_the_lowest_foot_however_it_leans(stool):
    tilt, lean = np.meshgrid(np.deg2rad([5.0, 20.0, 30.0]), np.deg2rad([0.0, 45.0, 100.0, 290.0]))
    found = nominal(stool, height=0.3, tilt=tilt.ravel(), tilt_direction=lean.ravel())
    assert found["contact_time"] == pytest.approx(np.sqrt(2.0 * 0.3 / GRAVITY), rel=1e-6)
    assert found["tilt"] == pytest.approx(tilt.ravel(), abs=1e-9)
    assert np.all(found["contact_point"] == 1)  # a foot


def test_height__with_the_air_of_the_demonstration_vehicle_is_a_little_slower(heron):
    found = nominal(heron, height=0.4)
    free = np.sqrt(2.0 * 9.807 * 0.4)
    assert 0.99 * free < found["sink_rate"][0] < free


def test_sink_rate__is_reached(stool):
    sink = np.array([0.1, 0.3, 1.0, 2.5, 6.0])
    found = nominal(stool, sink_rate=sink, side_speed=0.7, side_direction=0.4)
    assert found["sink_rate"] == pytest.approx(sink, rel=1e-4)
    assert found["lateral_speed"] == pytest.approx(0.7, rel=1e-6)
    assert found["landing_east"] == pytest.approx(0.0, abs=1e-6)  # the middle of the pad
    assert found["landing_north"] == pytest.approx(0.0, abs=1e-6)


# free turning about an axis across the symmetric body goes on unchanged: mechanics
def test_turn_rate__makes_the_tilt_grow(stool):
    rate, lean = np.deg2rad([20.0, 40.0, 40.0]), np.deg2rad([0.0, 70.0, 200.0])
    found = nominal(stool, height=0.2, tilt=0.1, tilt_direction=lean, turn_rate=rate)
    assert found["tilt_rate"] == pytest.approx(rate, rel=1e-6)
    assert found["tilt"] == pytest.approx(0.1 + rate * found["contact_time"], rel=1e-6)


def test_upright_drop_on_level_ground__stands(stool):
    found = nominal(stool, height=[0.02, 0.1, 0.3])
    assert np.all(found["standing"] == 1.0)
    assert found["rest_tilt"] == pytest.approx(0.0, abs=1e-3)
    assert found["slide_distance"] == pytest.approx(0.0, abs=1e-3)


# atan(r / h): geometry, R9.2; between two legs r is R cos(45 deg) (R9.1), along a leg it is R
def test_tilt__over_the_static_limit_tips(stool):
    firm = stool.with_values({
        "surface.damping": "5 s/m", "surface.friction_static": 2.0, "surface.friction_kinetic": 2.0,
        "surface.stiffness": "300 kN/m",
    })  # fmt: skip
    assert np.rad2deg(LIMIT) == pytest.approx(27.9384, abs=1e-4)
    between = nominal(firm, height=0.0, tilt=LIMIT * np.array([0.9, 0.96, 1.04, 1.1]),
                      tilt_direction=foot_direction(firm, between=True))  # fmt: skip
    assert list(between["standing"]) == [1.0, 1.0, 0.0, 0.0]
    tipped = OUTCOME_MEANINGS.index("tipped")
    assert np.all(between["outcome"][2:] == tipped)
    leg = nominal(firm, height=0.0, tilt=np.arctan(0.30 / 0.40) * np.array([0.9, 1.04]),
                  tilt_direction=foot_direction(firm, between=False))  # fmt: skip
    assert leg["outcome"][1] == tipped


def test_motor__full_or_spent(heron):
    mass = heron.numbers["vehicle.dry_mass"].value
    charge = heron.numbers["landing_motor.propellant_mass"].value
    release = released(height="0.1 m")(heron)
    for motor, wanted in (("spent", mass), ("full", mass + charge)):
        flight = drop_one(make_rig(heron, motor), release)
        assert flight.outcomes["mass_at_contact"] == pytest.approx(wanted, rel=1e-12)
        assert flight.outcomes["contact_time"] == pytest.approx(
            np.sqrt(2 * 0.1 / 9.807), rel=3e-3)  # the height follows the moved cg  # fmt: skip


def test_vehicle_without_legs__is_refused(stool):
    bare = load_scenario(TESTS / "flight" / "data" / "brick.toml")
    with pytest.raises(UserMistake, match="no legs"):
        make_rig(bare)


def test_one_drop__is_that_of_the_ensemble(heron):
    release = released(height="0.2 m", tilt="5 deg +/- 2 deg", side_speed="0.3 m/s")(heron, True)
    rig = make_rig(heron)
    many, one = drop_many(rig, release, 6), drop_one(rig, release, run=4)
    for name in ("tilt", "peak_strut_force", "slide_distance", "rest_tilt", "hops"):
        assert float(many[name][4]) == one.outcomes[name]
    fewer = drop_many(rig, release, 5)
    assert np.array_equal(fewer["peak_strut_force"], many["peak_strut_force"][:5])
    assert len(np.unique(many["release_tilt_direction"])) == 6  # drawn


def test_trace__begins_at_the_height_and_ends_at_rest(stool):
    flight = drop_one(make_rig(stool), released(height="0.2 m", tilt="8 deg")(stool))
    line = flight.trace
    assert line["tilt"][0] == pytest.approx(np.deg2rad(8.0))
    assert line["velocity_up"][0] == 0.0
    assert flight.about["release_height"] == pytest.approx(0.2)
    falling = line["time"] < flight.outcomes["contact_time"]
    assert np.all(line["foot_force_0"][falling] == 0.0)
    assert max(line[f"foot_force_{i}"].max() for i in range(4)) > 1.5 * GRAVITY
    # at rest: the feet bear the weight, and push against one another by friction
    assert sum(line[f"foot_force_{i}"][-1] for i in range(4)) > 0.999 * 1.5 * GRAVITY
    assert np.all(np.abs(line["velocity_up"][-10:]) < 0.02)
    assert np.degrees(line["tilt"][-1]) < 0.5


# Clopper and Pearson (1934): 9 of 10 at 95 %: 0.5550 to 0.9975 (tables, from memory)
def test_summary__bounds_and_what_has_no_value():
    count = 10
    found = {name: np.full(count, 1.0) for name in OUTCOMES}
    found["outcome"] = np.full(count, float(OUTCOME_MEANINGS.index("standing")))
    found["outcome"][0] = OUTCOME_MEANINGS.index("numerical_failure")
    found["outcome"][1] = OUTCOME_MEANINGS.index("too_fast")
    found["standing"] = np.array([0.0] + [1.0] * 9)
    found["peak_strut_force"] = np.array([np.nan, *np.arange(9.0)])
    ds = outcome_dataset(found, np.arange(count), 1).assign_attrs(title="made up")
    summary = drop_summary(ds)
    assert summary["standing"].to_numpy() == pytest.approx([0.5550, 0.9, 0.9975], abs=1e-4)
    assert int(summary["unharmed_count"]) == 8
    assert summary["outcome"].to_numpy()[0] == "standing"
    assert float(summary["outcome_probability"].sel(bound="estimate").sum()) == pytest.approx(1.0)
    force = summary["peak_strut_force"].sel(statistic="p95", bound="estimate")
    assert np.isinf(float(force))  # the failed drop counts as the worst


def test_map__a_cell_is_the_drop_that_it_stands_for(stool):
    # a foot that grips tips it, one with less friction than r / h lets it slide (R9.5)
    stool = stool.with_values({"surface.friction_static": 2.0, "surface.friction_kinetic": 2.0})
    rig, sinks, sides = make_rig(stool), [0.5, 1.5], [0.0, 0.8, 2.5]
    release = released(sink_rate="0 m/s")(stool)
    found = fly_map(rig, release, sinks, sides)
    assert found["standing"].shape == (2, 2, 3, 3)
    assert list(found["way"].to_numpy()) == list(WAYS)
    for way in WAYS:
        angle = foot_direction(stool, between=way == WAYS[1])
        for side in sides:
            one = nominal(stool, sink_rate=1.5, side_speed=side, side_direction=angle,
                          tilt_direction=angle)  # fmt: skip
            cell = found["standing"].sel(way=way, sink_rate=1.5, side_speed=side, bound="estimate")
            assert float(cell) == one["standing"][0]
    assert np.all(found["standing"].sel(side_speed=0.0, bound="estimate") == 1.0)
    assert np.all(found["standing"].sel(side_speed=2.5, bound="estimate") == 0.0)


def test_map__drawn_cells_share_their_draws(heron):
    release = released(sink_rate="0 m/s", tilt="3 deg +/- 1 deg")(heron, True)
    found = fly_map(make_rig(heron), release, [0.5, 1.0], [0.0, 3.0], flights=6)
    assert found.sizes["way"] == 1
    again = fly_map(make_rig(heron), release, [1.0], [3.0], flights=6)
    cell = found.sel(sink_rate=[1.0], side_speed=[3.0])
    xr.testing.assert_equal(cell["standing"], again["standing"])


def test_vary__names_the_better_legs(stool):
    release = Release(released(sink_rate="0.5 m/s", side_speed="1.2 m/s")(stool, True).laws)
    grippy = stool.with_values({"surface.friction_static": 2.0, "surface.friction_kinetic": 2.0})
    vary = parse_vary("legs.foot_radius=0.18, 0.2, 0.42 m")
    found = fly_vary(grippy, "spent", release, vary, flights=40)
    standing = found["standing"].sel(bound="estimate").to_numpy()
    assert found.attrs["best"] == 2
    assert standing[2] > standing[0] + 0.5
    assert found.attrs["told_apart"] == 1
    assert found.attrs["only_best"] > found.attrs["only_next"] == 0


def test_vary__sliding_friction_goes_with_static(heron):
    wide = at_level(heron, "surface.friction_static", "0.9")
    kinetic, static = (
        np.array([s.numbers[f"surface.friction_{kind}"].value for s in (heron, wide)])
        for kind in ("kinetic", "static")
    )
    assert static[1] == 0.9
    assert (kinetic / static)[1] == pytest.approx((kinetic / static)[0])


def test_vary__a_number_that_does_nothing_is_not_told_apart(stool):
    release = released(sink_rate="0.5 m/s")(stool, True)
    found = fly_vary(stool, "spent", release, parse_vary("legs.vent=5, 10 mm"), flights=8)
    assert found.attrs["told_apart"] == 0
    assert found.attrs["p_value"] == 1.0
    with pytest.raises(UserMistake, match="does not matter"):
        fly_vary(stool, "spent", release, parse_vary("wind.speed=1, 2 m/s"), flights=8)


def test_release__words_and_laws(stool):
    laws = released(height="0.2 m", tilt='{ half_normal = "2 deg" }', tilt_direction="leg",
                    side_direction="any")(stool).laws  # fmt: skip
    assert laws["tilt"].kind == "half_normal"
    assert laws["side_direction"].kind == "uniform"
    # first foot at 45 deg from body y, which is east, towards z, which is north
    assert laws["tilt_direction"] == Law("fixed", (pytest.approx(np.pi / 4),))
    between = released(height="0.2 m")(stool).laws["side_direction"].nominal()
    assert np.mod(between - np.pi / 4, np.pi / 2) == pytest.approx(np.pi / 4)


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({}, ["--height", "--sink-rate"]),
        ({"height": "1 m", "sink_rate": "1 m/s"}, ["give one of them"]),
        ({"height": "-1 m", "tilt": "61 deg"}, ["zero or more", "60 deg at most"]),
        ({"height": "30 m"}, ["20 m at most"]),
        ({"height": "1 m", "tilt": "30 deg +/- 20 deg"}, ["60 deg at most"]),
        ({"height": "1 m", "side_speed": "3 kg"}, ["--side-speed", "kg"]),
        ({"height": "1 m", "tilt_direction": "up"}, ["leg, between, any"]),
        ({"height": "1 m", "tilt": "{ half = "}, ["--tilt", "no law"]),
    ],
)
def test_release__mistakes_are_collected(stool, texts, words):
    with pytest.raises(UserMistake) as caught:
        read_release(texts, stool, drawn=True)
    assert all(word in str(caught.value) for word in words), str(caught.value)
