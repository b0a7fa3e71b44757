"""Mass, centre of gravity and inertia of the moment: what stays, plus what has not burned yet.

A vehicle is a body without propellant (with or without the ascent stage, legs folded or open) and
up to two charges of propellant on its axis. Positions are body coordinates: x is minus the station.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.lanes import part, room, where

INPUTS = (
    # body without propellant, stage attached (stack) and dropped (core), legs folded
    "stack_mass", "stack_x", "stack_y", "stack_z",  # kg, m
    "stack_jxx", "stack_jyy", "stack_jzz", "stack_jxy", "stack_jxz", "stack_jyz",  # kg m2, tensor
    "core_mass", "core_x", "core_y", "core_z",
    "core_jxx", "core_jyy", "core_jzz", "core_jxy", "core_jxz", "core_jyz",
    "legs_shift",  # m, how far the cg moves aft as the legs open
    "legs_gain",  # kg m2, axial inertia gained as they open
    # propellant
    "ascent_propellant", "ascent_propellant_x",  # kg, m
    "ascent_gyration_axial", "ascent_gyration_transverse",  # m2, radii of gyration squared
    "landing_propellant", "landing_propellant_x",
    "landing_gyration_axial", "landing_gyration_transverse",
)  # fmt: skip

CARRY = (
    # the body without propellant as it is now
    "dry_mass", "dry_x", "dry_y", "dry_z",
    "dry_jxx", "dry_jyy", "dry_jzz", "dry_jxy", "dry_jxz", "dry_jyz",
    "stage_attached", "legs_open", "petals_open",  # flags
    "ascent_per_impulse", "landing_per_impulse",  # kg/(N s), propellant that goes with impulse
)  # fmt: skip


class MassProperties(NamedTuple):
    mass: float  # kg
    x: float  # m, centre of gravity in body coordinates
    y: float
    z: float
    jxx: float  # kg m2, inertia tensor about the centre of gravity
    jyy: float
    jzz: float
    jxy: float
    jxz: float
    jyz: float
    per_mass: float  # 1/kg


@room
def configure(p, w):
    """Set the body without propellant from the flags of the configuration."""
    stage = w.stage_attached > 0.5
    w.dry_mass = where(stage, p.stack_mass, p.core_mass)
    # the legs are the core's: with the stage on, their share of the common cg is smaller
    shift = p.legs_shift * p.core_mass / w.dry_mass
    w.dry_x = where(stage, p.stack_x, p.core_x) - shift * w.legs_open
    w.dry_y = where(stage, p.stack_y, p.core_y)
    w.dry_z = where(stage, p.stack_z, p.core_z)
    gain = p.legs_gain * w.legs_open  # of masses all around the axis, half as much across it
    w.dry_jxx = where(stage, p.stack_jxx, p.core_jxx) + gain
    w.dry_jyy = where(stage, p.stack_jyy, p.core_jyy) + 0.5 * gain
    w.dry_jzz = where(stage, p.stack_jzz, p.core_jzz) + 0.5 * gain
    w.dry_jxy = where(stage, p.stack_jxy, p.core_jxy)
    w.dry_jxz = where(stage, p.stack_jxz, p.core_jxz)
    w.dry_jyz = where(stage, p.stack_jyz, p.core_jyz)


@part
def mass_properties(ascent_left, landing_left, p, w):
    """Mass, centre of gravity and inertia with these propellant masses [kg] left.

    Parallel axes about the common centre of gravity; the propellant lies on the axis.
    """
    m, a, b = w.dry_mass, ascent_left, landing_left
    xa, xb = p.ascent_propellant_x, p.landing_propellant_x + w.landing_ahead
    total = m + a + b
    inverse = 1.0 / total
    x = (m * w.dry_x + a * xa + b * xb) * inverse
    y = m * w.dry_y * inverse
    z = m * w.dry_z * inverse
    dx, dy, dz = w.dry_x - x, w.dry_y - y, w.dry_z - z
    da, db = xa - x, xb - x
    both = a + b
    along = m * dx * dx + a * da * da + b * db * db  # second moments about the common cg
    second_y = m * dy * dy + both * y * y
    second_z = m * dz * dz + both * z * z
    axial = a * p.ascent_gyration_axial + b * p.landing_gyration_axial
    transverse = a * p.ascent_gyration_transverse + b * p.landing_gyration_transverse
    shared = a * da + b * db
    return MassProperties(
        total, x, y, z,
        w.dry_jxx + axial + second_y + second_z,
        w.dry_jyy + transverse + along + second_z,
        w.dry_jzz + transverse + along + second_y,
        w.dry_jxy - (m * dx * dy - shared * y),
        w.dry_jxz - (m * dx * dz - shared * z),
        w.dry_jyz - (m * dy * dz + both * y * z),
        inverse,
    )  # fmt: skip
