"""Invented ensembles, and the seed of every statistical test (SETDOWN_TEST_SEED)."""

from __future__ import annotations

import os

import numpy as np
import pytest
import xarray as xr
from scipy import special

SEED = int(os.environ.get("SETDOWN_TEST_SEED", "20260"))

# Chance that a sound statistical test fails by bad luck, for one assertion and a new seed.
FALSE_ALARM = 1e-6

OUTCOMES = (
    "feet_first off_landing_pad airframe_first tumbled landing_motor_unlit never_came_down "
    "never_left_launch_pad numerical_failure"
)


@pytest.fixture
def random():
    return np.random.default_rng(SEED)


@pytest.fixture
def covers():
    """Check a count of hits against a nominal coverage, from below; exact: from both sides."""

    def check(hits, trials, nominal, *, exact=False):
        below = special.bdtr(hits, trials, nominal)
        assert below > FALSE_ALARM, f"covered {hits / trials:.4f} of {trials}, nominal {nominal}"
        if exact:
            above = special.bdtrc(hits - 1, trials, nominal)
            assert above > FALSE_ALARM, f"covered {hits / trials:.4f}, said {nominal:.4f}"

    return check


@pytest.fixture
def ensemble(random):
    """Build a dataset as a dispersion leaves it, with `failed` flights of each bad kind at its end.

    The first flights stand; then come flights off the landing pad, airframe first, tumbled, unlit,
    never down, never off, numerically failed: outcome values 1 to 7.
    """

    def build(size=400, failed=(0, 0, 0, 0, 0, 0, 0), bias=(0.3, -0.2), sigma=(0.8, 0.5)):
        outcome = np.zeros(size, dtype=np.int8)
        start = size - sum(failed)
        for value, count in enumerate(failed, start=1):
            outcome[start : start + count] = value
            start += count
        down = outcome < 5
        blank = np.where(down, 1.0, np.nan)
        east = (bias[0] + sigma[0] * random.standard_normal(size)) * blank
        north = (bias[1] + sigma[1] * random.standard_normal(size)) * blank
        wrong_east, wrong_north = 0.4 * random.standard_normal((2, size)) * blank
        sink, sideways = np.abs(random.standard_normal((2, size))) * blank
        contact = np.where(down, np.where(outcome == 2, 4, 1), 0).astype(np.int8)
        values = {
            "miss_east": (east, "m"),
            "miss_north": (north, "m"),
            "miss_distance": (np.hypot(east, north), "m"),
            "guidance_error_east": (east + wrong_east, "m"),
            "guidance_error_north": (north + wrong_north, "m"),
            "believed_landing_error_east": (wrong_east, "m"),
            "believed_landing_error_north": (wrong_north, "m"),
            "sink_rate": (sink, "m s-1"),
            "lateral_speed": (sideways, "m s-1"),
            "touchdown_speed": (np.hypot(sink, sideways), "m s-1"),
            "tilt": (np.abs(0.05 * random.standard_normal(size)) * blank, "rad"),
            "tilt_rate": (np.abs(0.2 * random.standard_normal(size)) * blank, "rad s-1"),
        }
        data = {name: ("run", v, {"units": unit}) for name, (v, unit) in values.items()}
        flags = {"flag_values": np.arange(8, dtype=np.int8), "flag_meanings": OUTCOMES}
        points = {
            "flag_values": np.arange(5, dtype=np.int8),
            "flag_meanings": "none foot nozzle tail_ring nose",
        }
        data["outcome"] = ("run", outcome, flags)
        data["contact_point"] = ("run", contact, points)
        data["success"] = ("run", (outcome == 0).astype(np.int8))
        return xr.Dataset(data, coords={"run": np.arange(size)}, attrs={"seed": 1})

    return build
