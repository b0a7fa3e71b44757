"""The picture of a flight is drawn in a second process, and in this one if that cannot be."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from sim.errors import RunFailure
from sim.report import flight_sheet
from sim.report.flight_sheet import Artist, Pad, Sheet

PNG = b"\x89PNG\r\n\x1a\n"


PAD = Pad(4.0, 0.0, 0.0, 3.0)


def sheet(pad=PAD):
    """Up and down a parabola, invented."""
    time = np.arange(0.0, 9.0, 0.05)
    zero = np.zeros_like(time)
    up = 20.0 * time - 2.22 * time**2
    line = {
        "time": time, "east": 0.4 * time, "north": zero, "up": up, "velocity_east": zero + 0.4,
        "velocity_north": zero, "velocity_up": 20.0 - 4.44 * time, "tilt": 0.01 * time,
        "quaternion_0": zero + 0.7, "quaternion_1": zero, "quaternion_2": zero - 0.7,
        "quaternion_3": zero, "throttle": zero + 1.0, "gimbal_y": zero, "gimbal_z": zero,
        "height_feet": up - 0.6,
    }  # fmt: skip
    times = {"lift_off_time": 0.1, "ascent_burn_out_time": 1.6, "apogee_time": 4.5}
    return Sheet("Made up: in the air", 1, pad, times, line)


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
