"""The package from Python: four names, imported when they are used, giving xarray datasets."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import sim

ROOT = Path(__file__).parents[1]
HERON = ROOT / "scenarios" / "heron.toml"


def test_import__costs_nothing():
    code = (
        "import sys, sim\n"
        "slow = ['numpy', 'numba', 'scipy', 'xarray', 'pydantic', 'matplotlib', 'click']\n"
        "assert not [name for name in slow if name in sys.modules]\n"
        "assert {'disperse', 'fly', 'load_scenario', 'sweep'} <= set(dir(sim))\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    subprocess.run([sys.executable, "-c", code], env=environment, check=True)


def test_import__unknown_name():
    with pytest.raises(AttributeError, match="no attribute 'launch'"):
        sim.launch  # noqa: B018


def test_api__every_name_is_callable():
    assert all(callable(getattr(sim, name)) for name in sim.__all__)


@pytest.fixture(scope="session")
def flown():
    """A few real flights; the one place of these tests that compiles the kernel."""
    heron = sim.load_scenario(HERON)
    return heron, sim.disperse(heron, flights=10, seed=5)


def test_fly__a_lone_flight_is_that_of_the_ensemble_bit_for_bit(flown):
    heron, ensemble = flown
    outcomes, trace = sim.fly(heron, run=6, seed=5)
    row = ensemble.isel(run=6)
    for name in outcomes.data_vars:
        np.testing.assert_array_equal(outcomes[name].to_numpy()[0], row[name].to_numpy(), name)
    assert trace["time"].attrs["units"] == "s"
    assert float(trace["tilt"].max()) < np.pi


def test_sweep__has_a_dimension_for_the_input(flown):
    heron, ensemble = flown
    swept = sim.sweep(heron, "site.elevation=120, 900 m", flights=4, seed=5)
    assert swept.sizes == {"run": 4, "site_elevation": 2}
    same = swept["touchdown_speed"].isel(site_elevation=0)
    np.testing.assert_array_equal(same, ensemble["touchdown_speed"].isel(run=slice(4)))
