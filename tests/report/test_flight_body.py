"""The vehicle as drawn: where nose, feet and flame are, against the flight that was made up."""

import numpy as np
import pytest

from sim.report.flight_body import BURNS, Placed, axes_of, burning
from sim.report.flight_outline import can_outline, outline
from tests.report.invented_flight import BODY, OPENS, sheet


@pytest.fixture
def flown():
    return sheet(body=BODY)


def test_axes_of__orthonormal_and_the_nose_leans_as_made_up(flown):
    x, y, z = axes_of(flown.line)
    assert np.allclose(np.cross(x, y), z, atol=1e-12)
    assert np.allclose(np.arccos(x[:, 2]), flown.line["tilt"], atol=1e-7)


def test_placed__nose_tip_above_the_cg(flown):
    line, placed = flown.line, Placed(BODY, flown.line)
    assert np.allclose(placed.tip[:, 2], line["up"] + BODY.cg * np.cos(line["tilt"]), atol=1e-9)
    assert np.allclose(placed.tip[:, 0], line["east"] + BODY.cg * np.sin(line["tilt"]), atol=1e-9)


def test_placed__lowest_foot_is_where_the_trace_says(flown):
    placed = Placed(BODY, flown.line)
    opened = flown.line["time"] >= OPENS
    assert np.array_equal(placed.legs_open(), opened)
    for place, when in ((BODY.foot_open, opened), (BODY.foot_folded, ~opened)):
        lowest = np.min([foot[:, 2] for foot in placed.feet(place)], axis=0)
        assert np.allclose(lowest[when], flown.line["height_feet"][when], atol=1e-9)


def test_burning__no_flame_below_the_least(flown):
    line = {**flown.line, "thrust_ascent": np.linspace(0.0, 50.0, len(flown.line["time"]))}
    share = burning(line, "ascent")
    assert share[-1] == 1.0
    assert np.all((share == 0.0) | (share > BURNS))
    assert not burning({**line, "thrust_ascent": line["east"] * 0.0}, "ascent").any()


def test_outline__is_of_the_length_of_what_flies(flown):
    shape = outline(flown)
    nose, back = shape.hull[:, 0], 0.5 * (shape.hull[:, 2] + shape.hull[:, 3])
    long = np.linalg.norm(nose - back, axis=1)
    attached = flown.line["time"] < flown.times["separation_time"]
    assert np.allclose(long[attached], BODY.stage_end)
    assert np.allclose(long[~attached], BODY.length)
    time = flown.line["time"]
    assert np.array_equal(shape.burns > 0.0, (time < 1.6) | (time > 6.5))
    assert np.allclose(outline(flown, 3.0).hull[0, 0] - outline(flown, 3.0).hull[0, 3],
                       3.0 * (shape.hull[0, 0] - shape.hull[0, 3]))  # fmt: skip


def test_can_outline__only_with_a_body(flown):
    assert can_outline(flown)
    assert not can_outline(sheet())
