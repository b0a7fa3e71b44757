"""Pictures are drawn whatever the flights did, whole or not at all, the same bytes each time."""

import numpy as np
import pytest
import xarray as xr

from sim.analysis.landing_box import landing_box
from sim.analysis.sweep import sweep_summary
from sim.analysis.touchdown import touchdown
from sim.errors import RunFailure
from sim.report.landing_picture import draw_landing
from sim.report.style import picture
from sim.report.sweep_picture import draw_sweep


@pytest.mark.parametrize("down", [True, False])
def test_landing_picture__drawn(ensemble, tmp_path, down):
    ds = ensemble(down=down)
    draw_landing(tmp_path / "a.png", ds, landing_box(ds), touchdown(ds))
    assert (tmp_path / "a.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


def test_picture__same_bytes_each_time(tmp_path):
    for name in ("a.png", "b.png"):
        with picture(tmp_path / name, 3.0, 2.0) as figure:
            figure.subplots().plot([0, 1], [0, 1])
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


def test_picture__that_cannot_be_written_leaves_nothing(tmp_path):
    with pytest.raises(RunFailure, match="could not be written"):  # noqa: SIM117
        with picture(tmp_path / "nowhere" / "a.png", 3.0, 2.0) as figure:
            figure.subplots()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("axes", [1, 2])
@pytest.mark.parametrize("down", [True, False])
def test_sweep_picture__drawn(ensemble, tmp_path, axes, down):
    one = ensemble(60, down=down)
    levels = {"launch_pad_tilt": np.radians([0.0, 1.0]), "wind_speed": np.array([0.0, 2.0, 5.0])}
    swept = one
    for name in list(levels)[:axes]:
        swept = xr.concat([swept] * len(levels[name]), dim=name)
        swept[name] = (name, levels[name], {"scenario_key": name, "units": "1"})
    draw_sweep(tmp_path / "a.png", sweep_summary(swept), "Made up")
    assert (tmp_path / "a.png").stat().st_size > 10_000
