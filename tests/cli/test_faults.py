"""The verbs for faults and hazard, and the options that force faults, on cheap flights."""

import json
from pathlib import Path

import numpy as np
import pytest
import stub_flights
import xarray as xr
from cli_places import HERON

from sim.cli.options import with_faults
from sim.scenario import load_scenario

FAULTY = HERON.with_name("heron_faults.toml")
FEW = ("-n", "50")


@pytest.fixture
def faulty(stubbed, monkeypatch):
    """Cheap flights that feel faults: no light is hard, a parachute soft, a hung stage far."""
    from sim.ensemble import fly_runs
    from sim.ensemble.fault_fields import which_faults

    def fly(scenario, seed, runs, values, width=8):
        out = stub_flights.fly(scenario, seed, runs + 100, values)
        size = len(runs)

        def value(name):
            return values.get(name, scenario.numbers[name].value)

        has = {name: np.broadcast_to(flag, (size,))
               for name, flag in which_faults(value, scenario).items()}  # fmt: skip
        dark = has.get("landing_no_light", np.zeros(size, dtype=bool))
        hung = has.get("stage_hangs_on", np.zeros(size, dtype=bool))
        seen = scenario.choices["flight_computer.check_continuity"] and scenario.has("parachute")
        out["touchdown_speed"] = np.where(dark, 6.0 if seen else 23.0, out["touchdown_speed"])
        out["success"] = out["success"] * ~dark
        out["standing"] = out["success"]
        scale = np.where(hung, 10.0, 1.0)
        out["landing_east"], out["landing_north"] = scale * out["miss_east"], out["miss_north"]
        out["stage_east"] = np.where(hung, np.nan, 2.0)
        out["stage_north"] = np.where(hung, np.nan, 0.0)
        out["separation_time"] = np.where(hung, np.nan, 1.8)
        out["apogee_height"] = np.full(size, 50.0)
        return out

    monkeypatch.setattr(fly_runs, "fly_runs", fly)


def spoken(done):
    return " ".join(done.stdout.split())


def test_faults__answer_first_then_tables_and_what_to_try(setdown, faulty):
    done = setdown("faults", FAULTY, *FEW)
    text = spoken(done)
    assert done.exit_code == 0, done.output
    assert text.startswith("Costliest fault: landing no light")
    assert "saved by them" in text
    assert "--fault landing-no-light" in text
    assert "3.2 % (0.4-8.8)" in text  # 1 of 60: Beta(2, 60), 2.5 % and 97.5 %
    assert "safety officer" in text
    assert list(Path("results").glob("heron_faults_faults.png"))


@pytest.mark.slow
def test_faults__json_has_what_a_detector_is_worth(setdown, faulty):
    done = setdown("faults", FAULTY, *FEW, "--json")
    found = json.loads(done.stdout)["faults"]["variables"]
    saved = found["saved"]["value"]["landing_no_light"]
    assert saved["estimate"] == 1.0
    assert saved["lower"] > 0.7
    assert found["lost_without"]["value"]["landing_no_light"] == 1.0
    assert found["lost_with"]["value"]["landing_no_light"] == 0.0
    assert found["saved_overall"]["value"]["estimate"] > 0.02


@pytest.mark.slow
def test_faults__without_sections_says_what_was_assumed(setdown, faulty, heron):
    done = setdown("faults", heron, *FEW, "--chance", "0.01")
    text = spoken(done)
    assert done.exit_code == 0, done.output
    assert "ASSUMED to have a chance of 1 %" in text
    assert "without a [parachute]" in text
    assert "parachute stays in" not in text


@pytest.mark.slow
def test_hazard__answer_codes_and_who_decides(setdown, faulty):
    done = setdown("hazard", FAULTY, "-n", "2500")
    text = spoken(done)
    assert done.exit_code == 0, done.output
    assert text.startswith("Of all flights, all scatter and all faults, everything comes down 99 %")
    assert "range safety officer and the local law decide" in text
    assert "14 CFR 101.25" in text
    assert "457.2 m" in text  # 1500 ft; R12.5
    assert list(Path("results").glob("heron_faults_hazard.png"))


@pytest.mark.slow
def test_hazard__too_few_flights_show_nothing(setdown, faulty):
    done = setdown("hazard", FAULTY, "-n", "600", "--json")
    found = json.loads(done.stdout)
    assert any("NOT SHOWN" in remark for remark in found["remarks"])
    radii = found["hazard"]["variables"]["radius"]["value"]["launch_point"]["both"]
    assert radii["0.999"]["upper"] is None
    assert radii["0.999"]["estimate"] > 0.0


@pytest.mark.slow
def test_hazard__without_faults_is_no_clear_area(setdown, faulty, heron):
    text = spoken(setdown("hazard", heron, "-n", "600"))
    assert "NO FAULTS" in text
    assert "no clear area" in text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("faults", "HERON", "-n", "10"), "at least 50"),
        (("faults", "HERON", "--lost-above", "3 kg"), "--lost-above"),
        (("faults", "HERON", "--lost-above", "0 m/s"), "above zero"),
        (("faults", "HERON", "--chance", "1.5"), "--chance"),
        (("faults", str(FAULTY), "--chance", "0.1"), "chances of its own"),
        (("hazard", str(FAULTY), "--chance", "0.1"), "chances of its own"),
        (("hazard", "HERON", "-n", "20"), "at least 500"),
        (("disperse", "HERON", "--fault", "landing-no-ligt"), 'did you mean "landing_no_light"?'),
        (("disperse", "HERON", "--fault", "parachute-stays-in"), "[parachute]"),
        (("disperse", "HERON", "--faults"), "gives no chances"),
    ],
)
def test_mistakes__say_what_would_be_right(arguments, words, setdown, faulty, heron):
    done = setdown(*(heron if part == "HERON" else part for part in arguments))
    assert done.exit_code == 2
    assert words in " ".join(done.stderr.split())
    assert not list(Path().glob("**/*.png"))


def test_unknown_faults__are_told_all_at_once(setdown, faulty, heron):
    done = setdown("disperse", heron, "--fault", "leg-stays-up", "--fault", "landing_chuf")
    assert "legs_stay_up" in done.stderr
    assert "landing_chuff" in done.stderr


@pytest.mark.parametrize("name", ["landing-no-light", "landing_no_light"])
def test_fault__every_flight_has_it(heron, name):
    scenario = with_faults(load_scenario(heron), [name], mixed=False)
    assert scenario.choices["faults.landing_no_light.forced"] is True
    assert scenario.numbers["faults.landing_no_light.happens"].value == 1.0


def test_fault__none_asked_for_leaves_the_scenario_as_it_is(heron):
    loaded = load_scenario(heron)
    assert with_faults(loaded, [], mixed=False) is loaded


@pytest.mark.slow
def test_faults_option__flights_draw_their_own(setdown, faulty, heron):
    chance = ("--set", "faults.landing_no_light.happens=0.3")
    done = setdown("disperse", heron, "-n", "400", *chance, "--faults", "-o", "mixed.nc")
    assert done.exit_code == 0, done.output
    with xr.open_dataset("mixed.nc") as ds:
        share = float((ds["touchdown_speed"] == 23.0).mean())
    assert share == pytest.approx(0.3, abs=4.0 * np.sqrt(0.21 / 400))
    assert setdown("disperse", heron, "-n", "40", *chance, "-o", "sound.nc").exit_code == 0
    with xr.open_dataset("sound.nc") as ds:
        assert not (ds["touchdown_speed"] == 23.0).any()


@pytest.mark.slow
def test_fly_and_sweep__take_faults_too(setdown, faulty, heron):
    assert setdown("fly", heron, "--fault", "legs-late", "--no-picture").exit_code in (0, 1)
    done = setdown("sweep", heron, "--vary", "wind.speed=0, 2 m/s", "-n", "20", "--fault",
                   "landing-no-light", "-o", "s.nc")  # fmt: skip
    assert done.exit_code == 0, done.output
    with xr.open_dataset("s.nc") as ds:
        assert (ds["touchdown_speed"] == 23.0).all()


@pytest.mark.parametrize("verb", ["faults", "hazard"])
def test_help__has_an_example(verb, setdown):
    done = setdown(verb, "--help")
    assert done.exit_code == 0
    assert f"setdown {verb}" in done.stdout.partition("Example:")[2]
