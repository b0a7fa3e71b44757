"""What stands in the file of a report, whatever the flights did."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

from sim.ensemble.fly_again import FlownAgain
from sim.ensemble.registry import OUTCOMES, attributes
from sim.report.page import contents, drawing, flights, landing, outcomes
from sim.report.page.blocks import (
    Commands,
    Figure,
    Figures,
    Folded,
    Page,
    Points,
    Section,
    Sign,
    Table,
    Text,
    Tile,
    Tiles,
    Words,
)
from sim.report.page.drawing import draw
from sim.report.page.facts import gather
from sim.report.page.render import html

CSP = "default-src 'none'"


class Read(HTMLParser):
    """Ids, headings, addresses and table cells of a page."""

    def __init__(self, text):
        super().__init__()
        self.ids, self.heads, self.addresses, self.links, self.loose = [], [], [], [], []
        self.tags = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.tags.append(tag)
        if "id" in found:
            self.ids.append(found["id"])
        if re.fullmatch(r"h[1-6]", tag):
            self.heads.append(int(tag[1]))
        for name in ("src", "href", "xlink:href", "action", "poster", "srcset"):
            value = found.get(name) or ""
            if value.startswith("#"):
                self.links.append(value[1:])
            elif value:
                self.addresses.append(value)
        if tag == "th" and "scope" not in found:
            self.loose.append(found)


BLANK = '<svg viewBox="0 0 4 3"><path d="M0 0h4v3z"/></svg>'


@pytest.fixture
def blank(monkeypatch):
    """Leave figures blank where a test is not about them."""
    monkeypatch.setattr(drawing, "_saved", lambda name, size, paint: BLANK)


@pytest.fixture(scope="module")
def pages():
    """Whole pages that tests have written already, by whether flights came down."""
    return {}


@pytest.fixture
def whole(ensemble, tmp_path, pages):
    """Write the page of the invented ensemble, once."""

    def write(down=True):
        if down not in pages:
            page = contents.page(gather(tmp_path / "made_up.nc", ensemble(down=down)))
            pages[down] = page, html(page)
        return pages[down]

    return write


@pytest.mark.parametrize("down", [True, False])
def test_page__is_whole_and_names_nothing_outside(whole, down):
    _, text = whole(down)
    read = Read(text)
    assert CSP in text
    assert not re.search(r"https?:|//\w+\.\w|@import", text)
    assert [address for address in read.addresses if not address.startswith("data:")] == []
    assert len(read.ids) == len(set(read.ids))
    assert set(read.links) <= set(read.ids)
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(read.ids)
    assert read.loose == []
    assert len(text) < 3_000_000


def test_page__headings_go_down_one_at_a_time(whole):
    heads = Read(whole()[1]).heads
    assert heads[0] == 1
    assert heads.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(heads))


def test_page__answers_first_and_cautions_last(whole):
    page, _ = whole()
    assert page.sections[0].name == "answer"
    assert "of flights succeed" in page.answer
    assert page.sections[-1].name == "cautions"


def test_page__without_a_readable_scenario_says_so(whole):
    _, text = whole()  # the made-up scenario is none that can be flown
    assert "cannot read the ensemble" in text
    assert "No flight could be flown again" in text


def test_page__unfinished_is_said_before_all_else(ensemble, tmp_path, blank):
    ds = ensemble()
    ds.attrs["unfinished"] = "32 of 64 runs are finished"
    text = html(contents.page(gather(tmp_path / "a.nc", ds)))
    assert text.index("UNFINISHED ensemble: 32 of 64") < text.index("of flights succeed")


def test_page__what_a_file_says_cannot_become_part_of_the_page():
    bad = '<script>alert("x")</script>'
    table = Table(bad, [bad], [[bad]], note=bad)
    figure = Figure("f", bad, BLANK, bad, bad, key=[Sign(bad, '"/><script>')])
    blocks = [Words(bad), Text(bad, bad), table, Figures([figure]), Folded(table),
              Tiles([Tile(bad, bad, bad)]), Points([(bad, bad)]),
              Commands([(bad, bad)])]  # fmt: skip
    text = html(Page(bad, bad, [bad], [Section("s", bad, blocks)]))
    assert "<script>alert" not in text
    assert text.count("&lt;script&gt;alert") > 15
    assert Read(text).tags.count("script") == 1


def test_page__shows_what_happened_until_rest_when_the_file_has_it(ensemble, tmp_path, blank):
    ds = ensemble()
    before = html(contents.page(gather(tmp_path / "a.nc", ds)))
    assert "largest force in a strut" not in before
    size = ds.sizes["run"]
    values = {
        "rest_tilt": 0.03, "hops": 2.0, "slide_distance": 0.1, "peak_strut_force": 31.25,
        "peak_stroke": 0.0125, "peak_deceleration": 20.0, "rest_time": 10.0,
    }  # fmt: skip
    for name, value in values.items():
        ds[name] = ("run", np.full(size, value), attributes(OUTCOMES[name]))
    for axis in ("east", "north"):
        for name in (f"landing_{axis}", f"rest_{axis}"):
            ds[name] = ("run", ds[f"miss_{axis}"].to_numpy() + 4.0, attributes(OUTCOMES[name]))
    after = html(contents.page(gather(tmp_path / "a.nc", ds)))
    for words in ("largest force in a strut", "31.2", "12.5", "Where it ends"):
        assert words in after
    assert "go on until the vehicle rests" in after


def test_page__outcomes_of_an_unknown_name_are_counted_by_it(ensemble, tmp_path, blank):
    ds = ensemble()
    names = ds["outcome"].attrs["flag_meanings"]
    ds["outcome"].attrs["flag_meanings"] = names.replace("tumbled", "eaten_by_a_bird")
    found = outcomes.section(gather(tmp_path / "a.nc", ds))
    assert "eaten by a bird" in html(Page("T", "", [], [found]))


@pytest.mark.slow
def test_thin_plots__say_how_many_flights_are_drawn(ensemble, tmp_path):
    facts = gather(tmp_path / "a.nc", ensemble(7_000))
    figure = landing.plan(facts, facts.ds, facts.box, "plan", "Plan")
    assert "The first 6,000 of 7,000 flights are drawn." in figure.caption
    assert figure.svg.count("<use") < 1_000  # the crowd is an image, not 6,000 marks
    assert len(figure.svg) < 300_000
    assert figure.svg == landing.plan(facts, facts.ds, facts.box, "plan", "Plan").svg


@pytest.mark.slow
def test_figures__show_the_flights_flown_again(ensemble, tmp_path):
    again = FlownAgain(range(40), [_series(i) for i in range(40)], [2.0] * 40, 3)
    facts = replace(gather(tmp_path / "a.nc", ensemble()), again=again)
    section = flights.section(facts)
    assert "3 of these 40 flights did not come out" in section.blocks[1].text
    figures = section.blocks[2].figures
    assert [f.name for f in figures][:4] == ["height", "speed", "tilt", "gimbal"]
    # every flight is at 3 m after 1 s, the middle one climbs at 3 m/s
    assert "greatest, 6.00 m, after 2.0 s" in figures[0].alt
    assert "[m/s]" in figures[1].svg
    assert "after-tilt" in [f.name for f in figures]


def _series(place):
    time = np.arange(0.0, 4.01, 0.05)
    zero = np.zeros_like(time)
    names = ("velocity_east", "velocity_north", "gimbal_y", "gimbal_z", "believed_east",
             "believed_north", "believed_up", "true_unit_east", "true_unit_north",
             "true_unit_up")  # fmt: skip
    line = {name: zero for name in names}
    return line | {"time": time, "height_feet": np.minimum(3.0 * time, 6.0), "tilt": zero + place,
                   "velocity_up": zero + 3.0}  # fmt: skip


def test_drawing__keeps_text_and_has_names_of_its_own():
    def paint(figure):
        axes = figure.subplots()
        axes.scatter([0, 1], [0, 1], rasterized=True)
        axes.set_xlabel("way along the ground [m]")

    one, two = draw("one", 200.0, paint), draw("two", 200.0, paint)
    assert "way along the ground [m]</text>" in one
    assert "data:image/png;base64" in one
    assert "xmlns" not in one
    names = [set(re.findall(r'\bid="([^"]+)"', svg)) for svg in (one, two)]
    assert names[0]
    assert not names[0] & names[1]


def test_blocks__of_every_kind_are_written():
    table = Table("Caption of it", ["what", "number"], [["a", "1 %"], ["b", ""]])
    figure = Figure("f", "Title of it", "<svg></svg>", 'says "this"', "100 flights",
                    key=[Sign("a line", "#123456", "x", (2, 1), line=True)])  # fmt: skip
    section = Section("s", "S", [Words("w"), table, Figures([figure, table])])
    page = Page("T", "about", [], [section])
    text = html(page)
    assert 'aria-label="says &#34;this&#34;"' in text
    assert text.count("Caption of it") == 2
    assert '<th scope="row">a</th>' in text
    assert "1\u00a0%" in text
