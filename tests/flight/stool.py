"""The stool of the touchdown tests: 1.5 kg, centre of gravity 0.40 m above four feet.

The feet stand on a radius of 0.30 m; nothing is on board, there is no air.
"""

from __future__ import annotations

import numpy as np

from sim.scenario import load_scenario
from tests.flight.eight import DATA, STANDARD_GRAVITY, fly_eight

HEIGHT, MASS, INERTIA, AXIAL = 0.40, 1.5, 0.12, 0.02
CG_X, FOOT_X, FOOT_RADIUS = -0.25, -0.65, 0.30
EDGE = FOOT_RADIUS * np.cos(np.pi / 4)  # R9.1
LANES = np.arange(8)
JUST = 2e-4  # m, above the ground: more than the fall of the first tick


HINGES = {
    "telescoping": ("hinge_station=0.25 m", "hinge_radius=0.1 m"),
    "hinged": ("hinge_station=0.45 m", "hinge_radius=0.05 m", "anchor_station=0.30 m",
               "anchor_radius=0.05 m", "strut_place=0.7"),
}  # fmt: skip


def stool_on(strut="rigid", kind="telescoping", *sets):
    """Scenario of the stool with a kind of struts and legs."""
    legs = (f"strut={strut}", f"kind={kind}", "gas_length=60 mm", *HINGES[kind])
    return load_scenario(DATA / "stool.toml", sets=[*(f"legs.{text}" for text in legs), *sets])


def set_down(tilt):
    """Height of the centre of gravity with the lower two feet just above the ground."""
    return HEIGHT * np.cos(tilt) + EDGE * np.sin(tilt) + JUST


def drop(stool, settle=0.15, steps=20, tick=None, **changes):
    """Drop the stool from 5 cm, or with the changes given."""
    start = {
        "gravity": STANDARD_GRAVITY, "start_up": HEIGHT + 0.05, "bristle_damping": 0.0,
        "ground_stiffness": 5e4, "bristle_stiffness": 5e4,
    }  # fmt: skip
    return fly_eight(stool, start | changes, longest=1.0, settle=settle, steps=steps, tick=tick)


def input_of(stool, name):
    """Central value of an input of the kernel."""
    from sim.ensemble.prepare import flight_inputs
    from sim.flight_records import INPUTS

    return float(flight_inputs({}, stool, 1)[INPUTS.index(name), 0])
