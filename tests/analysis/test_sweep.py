"""Success and touchdown speed along swept inputs."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from sim.analysis.order_statistics import quantile_table
from sim.analysis.proportions import clopper_pearson
from sim.analysis.sweep import sweep_summary
from sim.errors import UserMistake


@pytest.fixture
def swept(ensemble):
    levels = [ensemble(size=80, failed=(k, 0, 0, 0, 0, 0, k)) for k in (0, 3, 12)]
    return xr.concat(levels, dim=xr.Variable("launch_pad_tilt", [0.0, 0.005, 0.01]))


def test_sweep_summary__one_input(swept):
    result = sweep_summary(swept)
    for level, k in enumerate((0, 3, 12)):
        here = result.isel(launch_pad_tilt=level)
        assert here["success"].to_numpy() == pytest.approx(clopper_pearson(80 - 2 * k, 80))
        speed = swept["touchdown_speed"].isel(launch_pad_tilt=level).fillna(np.inf).to_numpy()
        expected = quantile_table(speed, (0.5, 0.95), 0.95)
        assert np.array_equal(here["touchdown_speed"].to_numpy(), expected)
        assert int(here["came_down"]) == 80 - k
    assert list(result["launch_pad_tilt"]) == [0.0, 0.005, 0.01]


def test_sweep_summary__two_inputs_whatever_the_order_of_dimensions(swept):
    swept = swept.drop_vars("run")
    both = xr.concat([swept, swept.isel(run=slice(None, None, -1))], dim="gain")
    result = sweep_summary(both.transpose("run", "gain", "launch_pad_tilt"))
    assert result["success"].dims == ("gain", "launch_pad_tilt", "bound")
    one = sweep_summary(swept)
    for gain in range(2):
        assert result["success"].isel(gain=gain).equals(one["success"])


def test_sweep_summary__agrees_with_a_level_by_itself(swept):
    from sim.analysis.touchdown import touchdown

    alone = touchdown(swept.isel(launch_pad_tilt=1))
    here = sweep_summary(swept).isel(launch_pad_tilt=1)
    assert here["success"].to_numpy() == pytest.approx(alone["success"].to_numpy())
    assert here["touchdown_speed"].sel(statistic="p95").to_numpy() == pytest.approx(
        alone["touchdown_speed"].sel(statistic="p95").to_numpy()
    )


def test_sweep_summary__mistakes_are_said(ensemble, swept):
    with pytest.raises(UserMistake, match="has 0"):
        sweep_summary(ensemble(size=10))
    with pytest.raises(UserMistake, match="mass_at_contact"):
        sweep_summary(swept, quantity="mass_at_contact")
