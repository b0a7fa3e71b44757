"""`setdown drop`, with real drops of a small vehicle."""

import json
from pathlib import Path

import pytest

FLIGHT = Path(__file__).parents[1] / "flight" / "data"
STOOL, BRICK = FLIGHT / "stool.toml", FLIGHT / "brick.toml"


@pytest.fixture
def undrawn(monkeypatch):
    """Leave the pictures out where none is looked at: they take most of the time."""
    from sim.report import drop_many_picture, drop_map_picture, drop_picture, drop_vary_picture

    monkeypatch.setattr(drop_picture, "draw_drop", lambda *a: None)
    monkeypatch.setattr(drop_many_picture, "draw_drops", lambda *a: None)
    monkeypatch.setattr(drop_map_picture, "draw_map", lambda *a: None)
    monkeypatch.setattr(drop_vary_picture, "draw_vary", lambda *a: None)


def words(text):
    return " ".join(text.split())


def test_one_drop__outcome_first_then_loads(setdown, here):
    done = setdown("drop", STOOL, "--height", "0.1 m", "--tilt", "4 deg", "--surface", "dirt")
    assert done.exit_code == 0, done.output
    text = words(done.stdout)
    assert text.startswith("It stands: at rest")
    assert text.index("peak force in a strut") < text.index("How it touched down")
    assert "rigid struts on dry dirt" in text
    assert "Next:" in text
    assert (here / "results" / "stool_drop.png").read_bytes()[:4] == b"\x89PNG"


def test_one_drop__trace_and_json(setdown, here, undrawn):
    import xarray as xr

    done = setdown("drop", STOOL, "--sink-rate", "1 m/s", "--run", 2, "-o", "one", "--json")
    found = json.loads(done.stdout)
    assert found["outcomes"]["sink_rate"]["value"] == pytest.approx(1.0, rel=1e-6)
    assert found["outcomes"]["standing"]["value"] == "standing"
    assert found["made_for"]["peak_strut_force"] == 1000.0
    with xr.open_dataset(here / "one.nc") as trace:
        assert trace["trace_run"].to_numpy().tolist() == [2]
        assert trace.attrs["time_origin"] == "the moment of letting go"
        assert float(trace["foot_force_0"].max()) > 1.0


def test_one_drop__that_tips_says_so(setdown, undrawn):
    done = setdown("drop", STOOL, "--height", "0 m", "--tilt", "40 deg")
    assert done.exit_code == 0
    assert done.stdout.startswith("It tips over.")


def test_one_drop__beyond_what_it_is_made_for(setdown, undrawn):
    done = setdown("drop", STOOL, "--height", "0.3 m", "--set", "legs.strut_strength=20 N",
                   "--set", "legs.rated_speed=1 m/s")  # fmt: skip
    text = words(done.stdout)
    assert "Beyond what it is made for: peak force in a strut" in text
    assert "rated speed 1.00 m/s" in text


def test_many_drops__probability_with_bounds(setdown, here, undrawn):
    import xarray as xr

    arguments = ("drop", STOOL, "--height", "0.1 m", "--tilt", "5 deg +/- 2 deg", "-n", 40)
    done = setdown(*arguments)
    assert done.exit_code == 0, done.output
    text = words(done.stdout)
    assert text.startswith("100.0 % of drops end standing (40 of 40); with 95 % confidence the "
                           "chance lies between 91.2 %")  # fmt: skip
    assert "What became of the drops" in text
    assert "bounds of the 95th" in text
    with xr.open_dataset(here / "results" / "stool_drops.nc") as drops:
        assert drops.sizes["run"] == 40
        assert float(drops["release_tilt"].std()) > 0.01
    again = json.loads(setdown(*arguments, "--json").stdout)
    assert again["summary"]["variables"]["standing_count"]["value"] == 40


def test_map__both_ways(setdown, undrawn):
    ranges = ("--sink-rates", "0.5..1.5 m/s/3", "--side-speeds", "0..2.4 m/s/4")
    done = setdown("drop", STOOL, "--map", *ranges)
    assert done.exit_code == 0, done.output
    text = words(done.stdout)
    assert text.startswith("Drifting along a leg, it stands in the nominal drop: up to")
    assert "Drifting between two legs: o stands, x does not" in text
    assert "Written: results/stool_drop_map.png" in text
    found = json.loads(setdown("drop", STOOL, "--map", *ranges, "-n", 4, "--json").stdout)
    assert list(found["map"]["variables"]["standing"]["value"]) == ["any direction"]


def test_vary__best_level(setdown, undrawn):
    done = setdown("drop", STOOL, "--sink-rate", "0.5 m/s", "--side-speed", "1.2 m/s", "-n", 24,
                   "--set", "surface.friction_static=2", "--set", "surface.friction_kinetic=2",
                   "--vary", "legs.foot_radius=0.18, 0.2, 0.42 m")  # fmt: skip
    assert done.exit_code == 0, done.output
    text = words(done.stdout)
    assert text.startswith("Best is legs.foot_radius = 0.42 m")
    assert "McNemar" in text or "sign test" in text
    assert "Written: results/stool_drop_vary.png" in text


@pytest.mark.parametrize(
    ("arguments", "right"),
    [
        ((), "--height"),
        (("--height", "1 m", "--sink-rate", "1 m/s"), "give one of them"),
        (("--height", "-0.4 m"), "zero or more"),
        (("--height", "1 m", "--tilt", "70 deg"), "60 deg at most"),
        (("--height", "1 m", "--surface", "gras"), 'did you mean "grass"?'),
        (("--height", "1 m", "--surface", "lava", "--slope", "-3 deg"), "--slope"),
        (("--height", "1 m", "--motor", "half"), "spent"),
        (("--height", "1 m", "--motor", "full"), "no [landing_motor]"),
        (("--height", "1 m", "--run", "1", "-n", "3"), "leave -n"),
        (("--height", "1 m", "--sink-rates", "0..1 m/s/3"), "add --map"),
        (("--map", "--height", "1 m"), "--sink-rates"),
        (("--map", "--sink-rates", "0..1 kg/3"), "kg"),
        (("--map", "--vary", "legs.damping=1, 2 N s/m"), "give one of them"),
        (("--height", "1 m", "--vary", "wind.speed=1, 2 m/s"), "does not matter"),
        (("--height", "1 m", "--vary", "legs.dampin=1, 2 N s/m"), "legs.damping"),
    ],
)
def test_mistakes__say_what_would_be_right_and_write_nothing(arguments, right, setdown, here):
    done = setdown("drop", STOOL, *arguments)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert right in words(done.stderr)
    assert not list(here.rglob("*.png")) + list(here.rglob("*.nc"))


def test_mistake__no_legs(setdown):
    done = setdown("drop", BRICK, "--height", "1 m", "--struts", "gas")
    assert done.exit_code == 2
    assert "no legs" in done.stderr
