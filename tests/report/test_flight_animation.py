"""The moving picture: as long as the flight, whole or not at all, in forms that can be had."""

from pathlib import Path

import pytest
from PIL import Image

from sim.errors import RunFailure, UserMistake
from sim.report import flight_animation
from sim.report.flight_animation import FRAMES, STILL, animate
from tests.report.invented_flight import BODY, sheet


@pytest.mark.slow
def test_animate__lasts_as_long_as_the_flight_at_its_pace(tmp_path):
    flown = sheet(body=BODY)
    animate(tmp_path / "a.gif", flown, pace=9.0)
    with Image.open(tmp_path / "a.gif") as film:
        last = 0.0
        for frame in range(film.n_frames):
            film.seek(frame)
            last += film.info["duration"] / 1000.0
    assert last == pytest.approx(flown.line["time"][-1] / 9.0 + STILL, abs=2.0 / FRAMES)
    assert [path.name for path in tmp_path.iterdir()] == ["a.gif"]


def test_animate__page_needs_nothing_else(tmp_path):
    animate(tmp_path / "a.html", sheet(), pace=20.0)
    page = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert page.count("data:image/png;base64") >= 9.0 / 20.0 * FRAMES
    assert [path.name for path in tmp_path.iterdir()] == ["a.html"]


def test_animate__cannot_be_written(tmp_path):
    with pytest.raises(RunFailure, match="could not be written"):
        animate(tmp_path / "nowhere" / "a.gif", sheet(), pace=20.0)
    assert list(tmp_path.iterdir()) == []


def test_make_writer__names_what_can_be_had(monkeypatch):
    monkeypatch.setattr(flight_animation.FFMpegWriter, "isAvailable", classmethod(lambda _: False))
    with pytest.raises(UserMistake, match=r"ffmpeg, which is not installed.*\.gif or \.html"):
        flight_animation.make_writer(Path("a.mp4"))
    with pytest.raises(UserMistake, match=r"a\.avi cannot be written here; .*\.gif or \.html"):
        flight_animation.make_writer(Path("a.avi"))
