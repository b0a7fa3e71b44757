"""An invented ensemble with flights of every outcome, and its analyses."""

import numpy as np
import pytest
import xarray as xr

from sim.ensemble.registry import OUTCOMES, attributes

SCENARIO = """
title = "Made up"
[legs]
foot_radius = "0.28 m"
[landing_pad]
radius = "3 m"
[success]
touchdown_speed = "< 2.5 m/s"
tilt = "< 8 deg"
inside_landing_pad = true
first_contact = "foot"
"""


@pytest.fixture
def ensemble():
    """Three hundred flights; `down=False` makes one in which none comes down."""

    def build(size=300, *, down=True):
        random = np.random.default_rng(4)
        outcome = np.zeros(size, dtype=np.int8)
        outcome[-24:] = np.repeat(np.arange(1, 8), 4)[:24]
        if not down:
            outcome[:] = 7
        landed = np.where(outcome < 5, 1.0, np.nan)
        east, north = random.normal(0.4, 0.9, size) * landed, random.normal(0, 0.6, size) * landed
        speed, tilt = np.abs(random.normal(1.2, 0.5, size)), np.abs(random.normal(0, 0.06, size))
        distance = np.hypot(east, north)
        good = (outcome == 0) & (speed < 2.5) & (tilt < 0.139) & (distance < 2.72)
        values = {
            "outcome": outcome, "success": good, "contact_point": np.where(outcome < 5, 1, 0),
            "inside_landing_pad": distance < 2.72, "miss_east": east, "miss_north": north,
            "miss_distance": distance, "touchdown_speed": speed * landed,
            "sink_rate": 0.9 * speed * landed, "lateral_speed": 0.4 * speed * landed,
            "tilt": tilt * landed, "tilt_rate": tilt * landed,
            "guidance_error_east": east, "guidance_error_north": north,
            "believed_landing_error_east": 0.0 * east, "believed_landing_error_north": 0.0 * east,
        }  # fmt: skip
        data = {}
        for name, value in values.items():
            row = OUTCOMES[name]
            data[name] = ("run", np.asarray(value).astype(row.dtype), attributes(row))
        about = {"title": "Made up: ensemble", "scenario": SCENARIO, "seed": 4}
        return xr.Dataset(data, coords={"run": np.arange(size)}, attrs=about)

    return build
