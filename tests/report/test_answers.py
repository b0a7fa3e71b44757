"""Sentences and tables against the datasets that they report."""

import numpy as np
import pytest
from rich.console import Console

from sim.analysis.landing_box import landing_box
from sim.analysis.navigation import navigation
from sim.analysis.touchdown import touchdown
from sim.report import sentences, tables
from sim.report.as_json import dataset_object, scalar


def printed(part, width=100):
    console = Console(width=width, color_system=None)
    with console.capture() as taken:
        console.print(part)
    return taken.get()


def test_success_sentence__share_count_and_bounds(ensemble):
    ds = ensemble()
    found = touchdown(ds)
    text = sentences.success_sentence(found)
    count = int(ds["success"].sum())
    assert f"({count:,} of 300)" in text
    assert f"{100 * float(found['success'][0]):.1f} %" in text


@pytest.mark.parametrize(
    ("size", "words"),
    [(300, "only 93.3 % came down on their feet"), (30, "only")],
)
def test_landing_pad_sentence__not_attainable(ensemble, size, words):
    text = sentences.landing_pad_sentence(landing_box(ensemble(size)))
    assert text.startswith("No landing pad, however big")
    assert words in text


def test_landing_pad_sentence__attained_and_too_few(ensemble):
    ds = ensemble()
    whole = landing_box(ds, probability=0.8)
    radius = float(whole["landing_pad_radius"])
    assert f"{radius:.2f} m radius" in sentences.landing_pad_sentence(whole)
    few = ds.isel(run=slice(20))
    assert "too few" in sentences.landing_pad_sentence(landing_box(few))


def test_weakest_limit__is_the_one_that_fails_most(ensemble):
    ds = ensemble()
    found = touchdown(ds)
    least = float(found["limit_probability"].sel(bound="estimate").min())
    text = sentences.weakest_limit(found)
    assert f"{100 * least:.1f} %" in text


def test_tables__hold_what_was_found(ensemble):
    ds = ensemble()
    box, contact, parts = landing_box(ds), touchdown(ds), navigation(ds)
    half = float(box["circular_error_probable"].sel(about="mark", bound="estimate"))
    assert f"{half:.2f}" in printed(tables.landing_box_table(box))
    tilt = np.degrees(float(contact["tilt"].sel(statistic="median", bound="estimate")))
    row = next(x for x in printed(tables.touchdown_table(contact)).splitlines() if "tilt  " in x)
    assert row.split()[2] == f"{tilt:.1f}"
    assert "came down tumbled over" in printed(tables.outcomes_table(contact))
    assert "navigation" in printed(tables.navigation_table(parts))


@pytest.mark.parametrize("width", [60, 80, 200])
def test_tables__keep_within_the_screen(ensemble, width):
    ds = ensemble()
    box, contact = landing_box(ds), touchdown(ds)
    for table in (tables.landing_box_table(box), tables.touchdown_table(contact)):
        assert max(map(len, printed(table, width).splitlines())) <= width


def test_tables__nothing_came_down(ensemble):
    ds = ensemble(down=False)
    box, contact = landing_box(ds), touchdown(ds)
    text = printed(tables.landing_box_table(box)) + printed(tables.touchdown_table(contact))
    assert "beyond" in text
    assert "nan" not in text
    assert sentences.success_sentence(contact).startswith("0.0 % of flights")
    assert "No landing pad" in sentences.landing_pad_sentence(box)


def test_dataset_object__labels_units_and_null(ensemble):
    found = dataset_object(landing_box(ensemble(down=False)))["variables"]
    assert found["miss"]["units"] == "m"
    assert found["miss"]["value"]["50"]["estimate"] is None  # infinitely far
    assert found["landing_pad_state"]["value"] == "not_attainable"
    assert scalar(np.float64("nan")) is None
    assert scalar(np.int8(3)) == 3


def test_limit_words__read_as_people_say_them():
    assert sentences.limit_words("touchdown_speed", "< 2.5 m/s") == "touchdown speed < 2.5 m/s"
    assert sentences.limit_words("ignition_height", "4..9 m") == "ignition height in 4..9 m"
    assert sentences.limit_words("inside_landing_pad", "true") == "all feet inside the landing pad"
    assert sentences.limit_words("first_contact", "foot") == "first contact: foot"
