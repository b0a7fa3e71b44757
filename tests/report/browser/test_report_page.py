"""The report as people see it: quiet, complete, readable on a telephone, usable without a mouse."""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.registry import OUTCOMES, attributes
from sim.report.page import comparing, contents
from sim.report.page.facts import Facts, gather
from sim.report.page.render import html

pytestmark = pytest.mark.browser

WIDTHS = (390, 1280)


def _with_inputs(ds):
    random = np.random.default_rng(9)
    for key in ("launch_pad.tilt", "wind.speed"):
        ds[key.replace(".", "__")] = (
            "run", random.normal(0.0, 1.0, ds.sizes["run"]),
            {"scenario_key": key, "law": "normal", "units": "1"},
        )  # fmt: skip
    for name, size in (("rest_tilt", 0.02), ("peak_strut_force", 30.0), ("hops", 1.0)):
        ds[name] = ("run", np.full(ds.sizes["run"], size), attributes(OUTCOMES[name]))
    return ds


@pytest.fixture(scope="module")
def heron():
    """Text of the demonstration scenario."""
    from pathlib import Path

    from sim.scenario import load_scenario

    return load_scenario(Path(__file__).parents[3] / "scenarios" / "heron.toml").text


@pytest.fixture
def written(ensemble, heron, tmp_path):
    """Write a page of a kind: one, two, swept or none (nothing came down)."""
    import xarray as xr

    def facts_of(name, size=300, **options) -> Facts:
        ds = _with_inputs(ensemble(size, **options))
        ds.attrs |= {"title": "Heron: ensemble", "scenario": heron, "kernel": "made up"}
        return gather(tmp_path / name, ds)

    def write(kind):
        if kind == "two":
            page = comparing.page(facts_of("a.nc"), facts_of("b.nc"))
        elif kind == "swept":
            one = facts_of("a.nc", 60).ds
            both = xr.concat([one] * 3, dim="launch_pad_tilt")
            both["launch_pad_tilt"] = (
                "launch_pad_tilt", [0.0, 0.01, 0.02],
                {"scenario_key": "launch_pad.tilt", "units": "rad"},
            )  # fmt: skip
            both.attrs = one.attrs
            page = contents.page(gather(tmp_path / "s.nc", both))
        else:
            page = contents.page(facts_of("a.nc", down=kind == "one"))
        target = tmp_path / f"{kind}.html"
        target.write_text(html(page), encoding="utf-8")
        return target

    return write


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("kind", ["one", "two", "swept", "none"])
def test_page__is_quiet_and_fits(written, opened, kind, width):
    path = written(kind)
    seen = opened(path, width)
    assert seen.complaints == []
    assert [url for url in seen.asked if not url.startswith("data:")] == [path.as_uri()]
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    assert seen.beyond() == []
    assert seen.too_small() == []


@pytest.mark.parametrize(
    ("kind", "width"), [("one", 390), ("one", 1280), ("two", 390), ("swept", 1280), ("none", 390)]
)
def test_page__has_no_serious_fault_of_accessibility(written, opened, kind, width):
    assert opened(written(kind), width).faults() == []


def test_page__every_figure_shows_something(written, opened):
    page = opened(written("one")).page
    figures = page.locator("figure .drawing svg")
    assert figures.count() >= 5
    for i in range(figures.count()):
        box = figures.nth(i).bounding_box()
        assert box["width"] > 300
        assert box["height"] > 100
        assert figures.nth(i).locator("path").count() > 5
        assert len(figures.nth(i).get_attribute("aria-label")) > 30
        picture = figures.nth(i).screenshot()
        assert len(picture) > 4_000  # a blank one packs to less


def test_page__words_in_figures_can_be_found(written, opened):
    page = opened(written("one")).page
    assert page.evaluate("window.find('east of the mark [m]')")
    assert page.evaluate("window.find('touchdown speed [m/s]')")


def test_figure__is_enlarged_from_the_keyboard_and_put_back(written, opened):
    page = opened(written("one"), 390).page
    button = page.locator("button.enlarge").first
    before = page.locator("figure .drawing svg").first.inner_html()
    button.focus()
    page.keyboard.press("Enter")
    dialog = page.locator("dialog#large")
    assert dialog.is_visible()
    assert dialog.locator("svg:not(.swatch)").bounding_box()["width"] > 600
    assert page.locator("#large-title").inner_text() == "Where it touches the ground"
    page.keyboard.press("Escape")
    assert not dialog.is_visible()
    assert page.locator("figure .drawing svg").first.inner_html() == before
    assert page.evaluate("document.activeElement.className") == "enlarge"


def test_page__prints_without_what_only_a_screen_needs(written, opened, tmp_path):
    seen = opened(written("one"))
    seen.page.emulate_media(media="print")
    assert not seen.page.locator("nav").is_visible()
    assert not seen.page.locator("button.enlarge").first.is_visible()
    assert seen.page.locator("#cautions").is_visible()
    assert seen.page.pdf(prefer_css_page_size=True)[:5] == b"%PDF-"


def test_page__stays_whole_without_script(written, opened):
    page = opened(written("one"), 390, java_script_enabled=False).page
    assert page.locator("button.enlarge").first.is_hidden()
    assert page.locator("figure .drawing svg").first.is_visible()
