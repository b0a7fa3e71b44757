"""The card as people see it: one A4 page, quiet, readable on a telephone and by ear."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace

import pytest

from sim.ensemble.card import gather_card
from sim.report.card.contents import sheet
from sim.report.card.given import ClearArea, Limit
from sim.report.card.pdf import pdf
from sim.report.card.render import html
from sim.scenario import load_scenario

TOP = Path(__file__).parents[3]


@pytest.fixture(scope="module")
def card():
    """A card with a limit for every reading, and so as full as it gets."""
    import numpy as np

    from sim.ensemble.fly_one import EVENTS

    def flown(scenario, seed, run, values):
        time = np.linspace(0.0, 9.0, 50)
        names = ("height_feet", "velocity_up", "east", "north", "velocity_east", "velocity_north",
                 "tilt")  # fmt: skip
        state = {name: np.ones(50) for name in names}
        return {name: 1.0 + k for k, name in enumerate(EVENTS)}, {"time": time, **state}

    facts = gather_card(load_scenario(TOP / "scenarios" / "heron.toml"), fly_trace=flown)
    keys = ("vehicle.dry_mass", "vehicle.cg", "vehicle.cg_offset", "launch_pad.tilt",
            "ascent_motor.grain_temperature", "landing_motor.grain_temperature",
            "legs.delay")  # fmt: skip
    limits = [Limit(key, "deviation", 0.004, True, 0.9, 0.95) for key in keys]
    limits.append(Limit("wind.speed", "value", 6.0, True, 0.9, 0.95))
    return sheet(
        facts,
        file="heron.toml",
        limits=limits,
        area=ClearArea(93.0, 0.99, 0.95, "of Heron, scenario not said; chances of faults assumed"),
    )


@pytest.fixture
def page(card, tmp_path):
    path = tmp_path / "card.html"
    path.write_text(html(card, pdf(card)[1]), encoding="utf-8")
    return path


def pages_of(raw: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", raw))


@pytest.mark.slow
def test_card__pdf_is_one_page_and_the_same_bytes_again(card):
    raw, size = pdf(card)
    assert pages_of(raw) == 1
    assert pdf(card) == (raw, size)


@pytest.mark.slow
def test_card__what_does_not_fit_goes_on_another_page(card):
    long = SimpleNamespace(**{name: getattr(card, name) for name in card.__dataclass_fields__})
    long.left = list(card.left) * 3
    assert pages_of(pdf(long)[0]) > 1


@pytest.mark.browser
def test_card__prints_on_one_page_of_a4(page, opened):
    seen = opened(page)
    raw = seen.page.pdf(prefer_css_page_size=True)
    assert pages_of(raw) == 1
    assert re.search(rb"MediaBox\s*\[0 0 59[45](\.\d+)? 84[12]", raw)


@pytest.mark.browser
@pytest.mark.parametrize("width", [390, 1280])
def test_card__is_quiet_and_fits(page, opened, width):
    seen = opened(page, width)
    assert seen.complaints == []
    assert [url for url in seen.asked if not url.startswith("data:")] == [page.as_uri()]
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    assert seen.beyond() == []
    assert seen.too_small() == []
    assert seen.faults() == []
