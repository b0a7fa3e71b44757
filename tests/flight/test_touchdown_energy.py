"""Energy in the last second: kept where nothing takes it, and never more than before."""

from __future__ import annotations

import numpy as np
import pytest

from tests.flight.eight import STANDARD_GRAVITY
from tests.flight.energy_of_stool import energy
from tests.flight.stool import HEIGHT, LANES, MASS, drop, stool_on

FALL = 0.1  # m
WHOLE = MASS * STANDARD_GRAVITY * FALL
NO_LOSSES = {
    "friction_static": 0.0, "friction_kinetic": 0.0, "ground_damping": 0.0, "ground_dashpot": 0.0,
    "strut_damping": 0.0, "joint_damping": 0.0, "stop_damping": 0.0, "seal_friction": 0.0,
}  # fmt: skip
START = {
    "start_up": HEIGHT + FALL + 0.3 * np.sin(np.deg2rad(np.linspace(0.0, 8.0, 8))),
    "start_tilt": np.deg2rad(np.linspace(0.0, 8.0, 8)),
    "start_tilt_direction": np.linspace(0.0, 1.6, 8), "start_rate_x": np.linspace(0.0, 2.0, 8),
    "start_rate_y": np.linspace(0.3, 0.0, 8), "start_velocity_east": 0.4,
    "ground_stiffness": 2e4, "bristle_stiffness": 2e4, "stop_stiffness": 2e4,
}  # fmt: skip
TICK = 1e-4  # s, between rows of the trace
SLOW = pytest.mark.slow


def fall(stool, settle, changes):
    return drop(stool, settle=settle, steps=5, tick=TICK, **changes)


GAS = {"gas_area": 2e-4, "gas_length": 0.06, "gas_pressure": 101325.0, "gas_exponent": 1.3}
CLOSED = GAS | {"gas_orifice": 0.0, "gas_vent": 0.0}
SPRING = {"strut_rate": 3e3, "strut_preload": 4.0}


def closed_cylinder(stroke):
    """Energy in the air of a closed cylinder, less the work of the air outside (R8.9) [J]."""
    n, s, outside = GAS["gas_exponent"], GAS["gas_length"], GAS["gas_pressure"] * GAS["gas_area"]
    return outside * s / (n - 1.0) * ((s / (s - stroke)) ** (n - 1.0) - 1.0) - outside * stroke


# kinetic, potential and elastic energy; the air in a closed cylinder is a spring, R8.9
@pytest.mark.parametrize(
    ("strut", "kind", "own"),
    [pytest.param("rigid", "telescoping", {}, marks=SLOW),
     pytest.param("spring", "telescoping", SPRING, marks=SLOW),
     ("spring", "hinged", SPRING),
     ("gas", "telescoping", CLOSED),
     pytest.param("gas", "hinged", CLOSED, marks=SLOW)],
)  # fmt: skip
def test_energy__is_kept_without_losses(strut, kind, own):
    stool = stool_on(strut, kind)
    changes = START | NO_LOSSES | own
    flown = fall(stool, 0.2, changes)
    if strut != "rigid":
        assert np.all(flown.outcomes["peak_stroke"] > 0.01)
    for lane in LANES:
        total, _ = energy(
            flown, stool, lane, changes=changes, hinged=kind == "hinged",
            strut_energy=closed_cylinder if strut == "gas" else None,
        )  # fmt: skip
        assert len(total) > 3000
        assert np.ptp(total) < 1e-3 * WHOLE


LOSSES = {
    "rigid": {},
    "spring": {"strut_rate": 3e3, "strut_damping": 30.0},
    "gas": GAS | {"gas_orifice": 2e-6, "gas_vent": 0.02},
    "crush": {"crush_force": 50.0, "crush_stiffness": 6e4},
    "friction": {"slide_force": 30.0, "break_force": 40.0, "slide_stiffness": 4e4},
}


def hidden(flown, rows, lane, changes):
    """The most energy [J] that a trace does not show: the ground's shear, a strut that sticks.

    The ground gives along the surface no more than by friction, which is less than the whole force
    on the foot.
    """
    forces = np.array([flown[f"foot_force_{leg}"][:, lane] for leg in range(4)])
    # the largest of the tick that ends in this row, and of the one after it
    near = np.maximum(forces[:, rows], forces[:, np.minimum(rows + 1, forces.shape[1] - 1)])
    shear = np.sum(near**2, axis=0) / (2.0 * changes["bristle_stiffness"])
    sticks = 0.0
    for most, stiffness in (("crush_force", "crush_stiffness"), ("break_force", "slide_stiffness")):
        if most in changes:
            sticks = 4.0 * changes[most] ** 2 / (2.0 * changes[stiffness])
    return shear + sticks


# what is seen later is never more than what was seen and what may have been hidden before; of a gas
# strut, whose pressure a trace does not show, never more than before the touch
@pytest.mark.parametrize(
    ("strut", "kind"),
    [pytest.param("rigid", "telescoping", marks=SLOW),
     pytest.param("spring", "telescoping", marks=SLOW),
     pytest.param("spring", "hinged", marks=SLOW),
     pytest.param("gas", "telescoping", marks=SLOW), pytest.param("gas", "hinged", marks=SLOW),
     pytest.param("crush", "telescoping", marks=SLOW), ("crush", "hinged"),
     ("friction", "telescoping"), pytest.param("friction", "hinged", marks=SLOW)],
)  # fmt: skip
def test_energy__never_rises(strut, kind):
    stool = stool_on(strut, kind)
    changes = START | LOSSES[strut] | {
        "friction_static": 0.5, "friction_kinetic": 0.35, "ground_damping": 0.5,
        "ground_dashpot": 10.0, "bristle_damping": 10.0,
    }  # fmt: skip
    flown = fall(stool, 0.5, changes)
    for lane in LANES:
        total, rows = energy(flown, stool, lane, changes=changes, hinged=kind == "hinged")
        most = np.minimum.accumulate(total + hidden(flown, rows, lane, changes))
        most = np.full_like(total, total[0]) if strut == "gas" else most
        assert np.max(total[1:] - most[:-1]) < 1e-3 * WHOLE
        assert total[0] - total[-1] > 0.5 * WHOLE
