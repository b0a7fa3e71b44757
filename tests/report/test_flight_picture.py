"""The picture of a flight is drawn in a second process, and in this one if that cannot be."""

import subprocess
import sys
from pathlib import Path

import pytest

from sim.errors import RunFailure
from sim.report import flight_sheet
from sim.report.flight_sheet import Artist
from tests.report.invented_flight import sheet

PNG = b"\x89PNG\r\n\x1a\n"


def drawn(folder, order=None):
    path = Path(folder) / "a.png"
    with Artist() as artist:
        artist.draw(path, order or sheet())
    return path.read_bytes()


def test_artist__draws_in_a_second_process(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "sim.report.flight_picture", None)  # not to be had in this one
    assert drawn(tmp_path)[:8] == PNG
    assert [path.name for path in tmp_path.iterdir()] == ["a.png"]


@pytest.mark.slow
def test_artist__same_bytes_in_either_process(tmp_path, monkeypatch):
    apart = drawn(tmp_path)
    monkeypatch.setattr(flight_sheet, "_program", lambda: "raise SystemExit(1)")
    assert drawn(tmp_path) == apart


@pytest.mark.slow
def test_artist__no_second_process_to_be_had(tmp_path, monkeypatch):
    def refuse(*_, **__):
        raise OSError

    monkeypatch.setattr(subprocess, "Popen", refuse)
    assert drawn(tmp_path, sheet(pad=None))[:8] == PNG


@pytest.mark.slow
def test_artist__says_that_the_file_cannot_be_written(tmp_path):
    with pytest.raises(RunFailure, match="could not be written"):
        drawn(tmp_path / "nowhere")
    assert list(tmp_path.iterdir()) == []


def test_artist__given_up_leaves_no_process(tmp_path):
    with Artist() as artist:
        process = artist._process
    assert process is None or process.poll() is not None
    assert list(tmp_path.iterdir()) == []
