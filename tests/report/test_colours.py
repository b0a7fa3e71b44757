"""Pictures can be read by colour-blind people and in grey."""

import re
from contextlib import contextmanager
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from sim.analysis.landing_box import landing_box
from sim.analysis.sweep import sweep_summary
from sim.analysis.touchdown import touchdown
from sim.report import style
from tests.report.colour_vision import DEFICIENCIES, alike_in_grey, apart, lab, looks_of
from tests.report.invented_flight import BODY, sheet

DRAWN = ("INK", "NAVY", "SKY", "TEAL", "AMBER", "RUST", "PLUM")
LEAST = 20.0  # CIE 1976; about 2.3 is just noticed side by side (common knowledge, from memory)
LEAST_RULER = 12.0  # from a ruler, which is also thinner than what is drawn
REPORT = Path(__file__).parents[2] / "sim" / "report"


def test_lab__of_known_colours():
    """Red, green and blue of sRGB: common tables, from memory."""
    assert lab("#ff0000") == pytest.approx([53.24, 80.09, 67.20], abs=0.05)
    assert lab("#00ff00") == pytest.approx([87.73, -86.18, 83.18], abs=0.05)
    assert lab("#0000ff") == pytest.approx([32.30, 79.19, -107.86], abs=0.05)
    assert lab("#ffffff") == pytest.approx([100.0, 0.0, 0.0], abs=0.02)


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_deficiency__leaves_greys_alone_and_takes_red_from_green(deficiency):
    assert apart("#808080", "#808080", deficiency) == 0.0
    assert lab("#808080", deficiency) == pytest.approx(lab("#808080"), abs=0.05)
    if deficiency != "none":  # a red and a green of one lightness to such people
        pair = {"deuteranopia": ("#b05050", "#7a7a4d"), "protanopia": ("#b05050", "#65654e")}
        assert apart(*pair[deficiency]) > 25.0
        assert apart(*pair[deficiency], deficiency) < 10.0


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_palette__any_two_colours_stay_apart(deficiency):
    colours = {name: getattr(style, name) for name in DRAWN}
    for one, other in combinations(colours, 2):
        assert apart(colours[one], colours[other], deficiency) >= LEAST, (one, other)
    for name, colour in colours.items():
        assert apart(colour, style.FAINT, deficiency) >= LEAST_RULER, name
        assert apart(colour, style.GROUND, deficiency) >= LEAST, name
        assert apart(colour, "white", deficiency) >= LEAST, name


def test_palette__pictures_use_no_other_colours():
    """Shades of maps, which lightness orders, stand in `shades`; the card is black on white."""
    shades = {"sweep_picture.py", "drop_map_picture.py", "landing.py", "pdf.py"}
    for path in REPORT.rglob("*.py"):
        if path.name not in shades | {"style.py"}:
            assert not re.search(r'"#[0-9a-fA-F]{3,8}"', path.read_text(encoding="utf-8")), path


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_shades__grow_lighter_all_the_way(deficiency):
    from sim.report.drop_map_picture import SHADES
    from sim.report.page.landing import _SHADES
    from sim.report.sweep_picture import GOOD_HIGH

    for shades in (SHADES, GOOD_HIGH):
        light = [lab(shades(x), deficiency)[0] for x in np.linspace(0.0, 1.0, 11)]
        assert min(np.diff(light)) > 2.0, (shades.name, np.diff(light))
    light = [lab(colour, deficiency)[0] for _, colour in _SHADES]
    assert max(np.diff(light)) < -8.0


def test_looks__lists_of_looks_differ_in_grey():
    from sim.report import drop_picture, hazard_picture, ignition_picture, tolerance_picture

    assert alike_in_grey([*style.SERIES]) == []
    assert alike_in_grey([*drop_picture.LOOKS]) == []
    assert alike_in_grey([*ignition_picture.LOOKS]) == []
    assert alike_in_grey([(colour, mark) for _, colour, mark, _ in hazard_picture.KINDS]) == []
    looks = tolerance_picture.LOOKS.values()
    assert alike_in_grey([(colour, mark) for mark, colour, _ in looks]) == []


def test_looks__no_two_outcomes_look_the_same():
    """Apart from feet first: it is the word for standing of vehicles that have no legs."""
    from sim.report.landing_picture import _LOOKS

    for one, other in combinations(_LOOKS, 2):
        if {one, other} != {"feet_first", "standing"}:
            assert _LOOKS[one] != _LOOKS[other], (one, other)
    assert alike_in_grey(list(_LOOKS.values())) == []


def test_alike_in_grey__finds_what_only_colour_tells():
    assert alike_in_grey([(style.TEAL, "-"), (style.RUST, "-")])
    assert not alike_in_grey([(style.TEAL, "-"), (style.RUST, "--")])
    assert not alike_in_grey([(style.NAVY, "-"), (style.AMBER, "-")])


# ---- as drawn ------------------------------------------------------------------------------------


@pytest.fixture
def figures(monkeypatch):
    """Figures as they are when drawn; nothing is written."""
    kept = []

    @contextmanager
    def picture(path, width, height, *, arranged=True):
        from matplotlib.figure import Figure

        figure = Figure(figsize=(width, height))
        yield figure
        kept.append(figure)

    monkeypatch.setattr(style, "picture", picture)
    return kept


def panels_alike(figures):
    return [
        (axes.get_title(), pair) for figure in figures for axes in figure.axes
        for pair in alike_in_grey(looks_of(axes))
    ]  # fmt: skip


def test_drawn__nothing_is_told_by_colour_alone(ensemble, figures, tmp_path):
    from sim.report.flight_picture import draw_sheet
    from sim.report.landing_picture import draw_landing
    from sim.report.sweep_picture import draw_sweep

    ds = ensemble()
    draw_landing(tmp_path / "a", ds, landing_box(ds), touchdown(ds))
    swept = xr.concat([ensemble(60)] * 3, dim="wind")
    swept["wind"] = ("wind", np.arange(3.0), {"scenario_key": "wind.speed", "units": "m/s"})
    draw_sweep(tmp_path / "a", sweep_summary(swept), "Made up")
    draw_sheet(tmp_path / "a", sheet(body=BODY))
    assert len(figures) == 3
    assert sum(len(looks_of(axes)) for figure in figures for axes in figure.axes) > 20
    assert panels_alike(figures) == []
