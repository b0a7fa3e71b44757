"""Attitude: unit length by a series, and half-way attitudes, against exact forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sim.flight_records import carry_record
from sim.lanes import kernel, load, store
from sim.physics import frames, unit
from tests.physics.room_kernels import carry_of, lanes

RNG = np.random.default_rng(20240607)


@kernel
def run_unit_length(lanes, given, out):
    q = frames.at_unit_length(
        load(lanes, given, 0), load(lanes, given, 1), load(lanes, given, 2), load(lanes, given, 3)
    )
    for i in range(4):
        store(out, i, q[i])


@kernel
def run_felt(lanes, interval, gravity, carry, out):
    rate, force = unit.felt(interval, load(lanes, gravity, 0), carry_record(lanes, carry))
    for i in range(3):
        store(out, i, rate[i])
        store(out, 3 + i, force[i])


@pytest.mark.parametrize("off", [1e-9, 1e-6, 1e-3])
def test_at_unit_length__is_off_by_the_cube_of_what_it_was(off):
    q = RNG.normal(size=(4, 8))
    q = q / np.linalg.norm(q, axis=0)
    out = np.empty((4, 8))
    run_unit_length(lanes(), q * (1.0 + off * np.linspace(-1.0, 1.0, 8)), out)
    # 1 / sqrt(1 + e) less its first three terms is 5/16 e^3, and e is twice what the length is off
    assert np.abs(np.linalg.norm(out, axis=0) - 1.0).max() <= 2.6 * off**3 + 3e-16
    assert np.abs(out - q).max() <= 2.6 * off**3 + 3e-16


@pytest.mark.parametrize("angle", [1e-6, 0.01, 0.3])
def test_felt__turning_and_force_between_two_attitudes(angle):
    # against rotations of a general library; the arc sine and its like are cut off after s^3
    interval = 0.005
    first = Rotation.from_quat(RNG.normal(size=(8, 4)))
    axis = RNG.normal(size=(8, 3))
    turn = angle * axis / np.linalg.norm(axis, axis=1)[:, None]
    gain = RNG.normal(0.0, 0.1, (8, 3))
    last = first * Rotation.from_rotvec(turn)
    q0, q1 = (np.roll(r.as_quat(), 1, axis=1).T for r in (first, last))  # scalar first
    sign = np.where(np.arange(8) % 2, 1.0, -1.0)  # both quaternions of an attitude
    carry = carry_of(
        **{f"last_{i}": q0[i] for i in range(4)}, **{f"tick_{i}": sign * q1[i] for i in range(4)},
        unit_velocity_east=gain[:, 0], unit_velocity_north=gain[:, 1], unit_velocity_up=gain[:, 2],
    )  # fmt: skip
    out = np.empty((6, 8))
    run_felt(lanes(), interval, np.full((1, 8), 9.81), carry, out)
    sine2 = np.sin(0.5 * angle) ** 2
    near = 0.05 * sine2**4 + 2e-15
    assert np.abs(out[:3].T * interval - turn).max() <= angle * near + 1e-15
    force = gain / interval + [0.0, 0.0, 9.81]
    middle = first * Rotation.from_rotvec(0.5 * turn)
    wanted = middle.inv().apply(force)
    assert np.abs(out[3:].T - wanted).max() <= np.abs(force).max() * 4.0 * near + 1e-13
