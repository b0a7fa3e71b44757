"""Today's readings in the page: the same numbers as its twin in Python, and plain refusals."""

from __future__ import annotations

import base64
import json
import re
from pathlib import Path

import numpy as np
import pytest

from sim.analysis.reweight import Drawn, Reading, reweight
from sim.ensemble.draws import draw_numbers
from sim.report.page import living
from sim.report.page.blocks import Page
from sim.report.page.facts import gather
from sim.report.page.render import html
from sim.scenario import load_scenario

HERON = Path(__file__).parents[3] / "scenarios" / "heron.toml"
FLIGHTS = 3_000
SHOW = "#today-form button[type=submit]"


@pytest.fixture(scope="module")
def scenario():
    return load_scenario(HERON)


@pytest.fixture
def data(ensemble, scenario, tmp_path):
    """Invented flights whose success depends on what can be read; the section written of them."""
    ds = ensemble(FLIGHTS)
    drawn = draw_numbers(scenario, 1, np.arange(FLIGHTS))
    for key, *_ in living.READABLE:
        about = {"scenario_key": key, "units": scenario.numbers[key].unit}
        ds[key.replace(".", "__")] = ("run", drawn[key], about)
    bad = (drawn["wind.speed"] > 3.0) & (drawn["launch_pad.tilt"] > 0.004)
    ds["success"] = ("run", (ds["success"].to_numpy() == 1) & ~bad, ds["success"].attrs)
    ds["touchdown_speed"] = ds["touchdown_speed"] + 0.2 * ds["wind__speed"]
    ds["ignition_height"] = 14.0 + 3.0 * ds["wind__speed"]  # invented: the more wind, the higher
    ds["ignition_height"].attrs["units"] = "m"
    ds.attrs |= {"title": "Heron: ensemble", "scenario": scenario.text, "seed": 1}
    return gather(tmp_path / "a.nc", ds)


@pytest.fixture
def page(data, opened, tmp_path):
    path = tmp_path / "a.html"
    path.write_text(html(Page("Heron", "about", [], [living.section(data)])), encoding="utf-8")
    return lambda width=390: opened(path, width)


def typed(page, *readings):
    page.click("#today-form button[type=reset]")
    for place, value, doubt in readings:
        page.fill(f"#today-{place}", value)
        page.fill(f"#today-{place}-doubt", doubt)
    page.click(SHOW)


def twin(page, readings):
    """The same by Python, from what stands in the page."""
    data = json.loads(page.locator("#today-data").text_content())
    flags = np.frombuffer(base64.b64decode(data["flags"]), dtype="u1")
    down = (flags & 4) > 0
    drawn, seen = {}, {}
    for place, one in enumerate(data["inputs"]):
        drawn[one["name"]] = Drawn(
            one["kind"], tuple(one["parameters"]), living.unpacked(one["values"])
        )
        for at, value, doubt in readings:
            if at == place:
                value, doubt = (float(text.replace(",", ".").split()[0]) for text in (value, doubt))
                seen[one["name"]] = Reading(
                    value * one["factor"] + one["offset"], doubt * one["factor"]
                )
    names = [one["name"] for one in data["inputs"]]
    east, north = (living.unpacked(data[name]) for name in ("east", "north"))
    return reweight(
        drawn, seen, {(names[a], names[b]): value for a, b, value in data["correlated"]},
        success=(flags & 1) > 0, inside=(flags & 2) > 0,
        miss=np.where(down, np.hypot(east, north), np.inf),
        speed=np.where(down, living.unpacked(data["speed"]), np.inf),
        confidence=data["confidence"], ignition=living.unpacked(data["ignition"]),
    )  # fmt: skip


READINGS = [
    [(0, "1954", "3")],
    [(1, "561,5", "1 mm")],
    [(2, "0.4 deg", "0.1")],
    [(2, "0.02", "0.05"), (5, "3.2", "0.4")],
    [(3, "17", "1.5"), (4, "16.5 degC", "1.5")],
    [(3, "12", "1.5")],
    [(0, "1948 g", "6"), (4, "18", "2"), (5, "2 m/s", "0.6")],
]


@pytest.mark.browser
def test_page__says_what_its_twin_says(page):
    browser = page().page
    for readings in READINGS:
        typed(browser, *readings)
        expected = twin(browser, readings)
        found = json.loads(browser.get_attribute("#today-answer", "data-result"))
        assert found["effective"] == pytest.approx(expected.effective, rel=1e-9)
        assert found["inside"] == pytest.approx(expected.inside, rel=1e-9)
        for name in ("success", "radius_95", "speed_50", "speed_95"):
            bounds = [np.inf if x is None else x for x in found[name]]  # JSON has no infinity
            assert bounds == pytest.approx(getattr(expected, name), rel=1e-9), (readings, name)
        assert np.allclose(found["ignition"], expected.ignition, rtol=1e-9)
        low, middle, high = (f"{100.0 * x:.1f}" for x in expected.success)
        told = browser.inner_text("#today-answer").replace("\u00a0", " ")
        assert f"{middle} % of flights succeed" in told
        assert f"between {low} % and {high} %" in told
        assert f"{expected.effective:.0f} of {FLIGHTS}" in told


@pytest.mark.browser
@pytest.mark.parametrize(
    ("reading", "doubt", "words"),
    [
        ("heavy", "3", "“heavy” is no number"), ("1950", "", "How sure is that"),
        ("1950", "lots", "“lots” is no number"), ("1950", "0", "above zero"),
        ("1950", "-3", "above zero"), ("", "3", "Reading missing"),
        ("1.95 kg", "3", "is no number: write the reading in g"),
        ("1e3000", "3", "no number"), ("2500", "3", "outside what was simulated"),
        ("1950", "60", "reaches beyond what was simulated"),
    ],
)  # fmt: skip
def test_page__bad_input_is_named_beside_its_field(page, reading, doubt, words):
    seen = page()
    typed(seen.page, (0, "1950", "5"))
    assert seen.page.get_attribute("#today-answer", "data-result")
    typed(seen.page, (0, reading, doubt), (5, "2.5", "0.4"))
    fault = seen.page.locator("#today-0-fault")
    assert words in fault.inner_text()
    assert fault.get_attribute("aria-live") == "polite"
    blamed = seen.page.locator("[aria-invalid=true]")
    assert blamed.count() == 1
    assert "today-0-fault" in blamed.get_attribute("aria-describedby")
    assert seen.page.evaluate("document.activeElement.id") == blamed.get_attribute("id")
    assert seen.page.get_attribute("#today-answer", "data-result") is None
    assert "succeed" not in seen.page.inner_text("#today-answer")
    assert seen.page.locator("#today-5-fault").inner_text() == ""
    assert seen.complaints == []


@pytest.mark.browser
def test_page__refuses_where_too_few_flights_fit(page):
    browser = page().page
    typed(browser, (0, "1950", "0.3"), (1, "560", "0.1"))
    told = browser.inner_text("#today-answer")
    assert "too few of the 3000 flights" in told
    assert "succeed" not in told


@pytest.mark.browser
def test_page__nothing_typed_is_said(page):
    browser = page().page
    typed(browser)
    assert "Nothing is typed in yet" in browser.inner_text("#today-answer")


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1280])
def test_page__is_quiet_fits_and_can_be_used_by_ear(page, width):
    seen = page(width)
    typed(seen.page, (0, "1954", "3"), (5, "3 m/s", "0.4"))
    assert seen.complaints == []
    assert len([url for url in seen.asked if not url.startswith("data:")]) == 1
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    assert seen.beyond() == []
    assert seen.too_small() == []
    assert seen.faults() == []
    typed(seen.page, (0, "heavy", "3"))
    assert seen.faults() == []
    for box in seen.page.locator("#today-form input").all():
        assert box.evaluate("e => e.labels.length") == 1
        assert box.bounding_box()["height"] >= 40.0


@pytest.mark.browser
def test_page__without_script_says_so(page, opened, tmp_path):
    page()
    browser = opened(tmp_path / "a.html", 390, java_script_enabled=False).page
    assert browser.locator("#today-form").is_hidden()
    assert browser.locator("#today-script").is_visible()


def test_section__carries_little_and_nothing_that_ends_its_element(data):
    text = html(Page("Heron", "about", [], [living.section(data)]))
    found = re.search(r'id="today-data">(.*?)</script>', text, re.S)[1]
    assert len(found) < 200_000
    assert "<" not in found
    assert len(json.loads(found)["inputs"]) == len(living.READABLE)


def test_section__values_come_back_to_a_sixty_five_thousandth(data):
    packed = living.carried(data, ["vehicle.dry_mass"])["inputs"][0]["values"]
    values = data.ds["vehicle__dry_mass"].to_numpy()
    step = (values.max() - values.min()) / living.STEPS
    assert np.abs(living.unpacked(packed) - values).max() <= 0.5001 * step


def test_section__says_why_it_is_not_offered(data, scenario):
    from dataclasses import replace

    none = replace(data, scenario=None, no_scenario="the ensemble carries no scenario")
    assert "carries no scenario" in living.section(none).blocks[0].text
    bare = replace(data, ds=data.ds.drop_vars([k.replace(".", "__") for k, *_ in living.READABLE]))
    assert "none of the inputs" in living.section(bare).blocks[0].text
