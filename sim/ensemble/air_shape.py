"""Coefficients of the air's forces from a vehicle's outline: by hand methods, plain numpy.

All results are drag areas (coefficient times area, m2), slopes times area, or stations.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64] | float

REFERENCE_SPEED = 20.0  # m/s, at which skin friction is taken: its coefficient hardly changes
AIR_VISCOSITY = 1.46e-5  # m2/s, kinematic, at 15 degC
OGIVE_CENTRE = 0.466  # of the nose length: where a slender ogive's normal force acts
OGIVE_SIDE = 2.0 / 3.0  # side view of an ogive over length times diameter
OGIVE_SIDE_CENTRE = 0.625  # of the nose length, where that side view has its middle
# Cd of a finite cylinder across the flow, on length times diameter: Matthews, Aeronautical
# Engineer's Data Book (2002), p. 95, and Hoerner, Fluid-Dynamic Drag (1965); R6.7
SLENDERNESS = (1.0, 2.0, 5.0, 10.0, 40.0)
ACROSS = (0.63, 0.68, 0.74, 0.82, 0.98)
LONG_CYLINDER = 1.2
PLATE_DRAG = 1.17  # of a plate across the flow: Matthews, p. 95; R6.9


@dataclass(frozen=True)
class Outline:
    """A body of revolution: an ogive nose on a cylinder with a blunt end. Lengths in m."""

    length: Values
    diameter: Values
    nose_length: Values


@dataclass(frozen=True)
class FinSet:
    """Trapezoidal fins on the body. Lengths in m; `station` is the root's leading edge."""

    count: int
    span: Values
    root_chord: Values
    tip_chord: Values
    sweep: Values
    station: Values


@dataclass(frozen=True)
class Shape:
    """What the flight kernel needs of one outline."""

    axial_nose: Values  # m2, drag area nose first, no motor burning
    axial_tail: Values  # m2, tail first
    base: Values  # m2, the part of axial_nose that a plume takes away
    slope_nose: Values  # m2, slender-body normal force slope times area
    slope_nose_station: Values  # m
    slope_tail: Values
    slope_tail_station: Values
    side: Values  # m2, cross-flow drag area
    side_station: Values  # m
    side_second: Values  # m4, Cd d integral of x^2 dx about the middle of the side view
    side_third: Values  # m5, the same of |x|^3


def skin_friction(length: Values, speed: float) -> Values:
    """Turbulent skin-friction coefficient of a plate (Prandtl-Schlichting, Boundary-Layer Theory).

    Parameters
    ----------
    length : float or array [m]
    speed : float [m/s]
    """
    reynolds = np.maximum(speed * np.asarray(length) / AIR_VISCOSITY, 1e4)
    return np.asarray(0.455 / np.log10(reynolds) ** 2.58)


def forebody_drag(body: Outline, speed: float = REFERENCE_SPEED) -> Values:
    """Drag coefficient on the frontal area, nose first, less the base (Hoerner's form factor)."""
    slender = np.asarray(body.diameter) / body.length
    wetted = 4.0 / slender * (1.0 - np.asarray(body.nose_length) / body.length / 3.0)
    form = 1.0 + 1.5 * slender**1.5 + 7.0 * slender**3
    return np.asarray(skin_friction(body.length, speed) * form * wetted)


def base_drag(forebody: Values) -> Values:
    """Base drag coefficient, power off: 0.029 / sqrt(fore-body drag) (Hoerner, ch. III; R6.14)."""
    return np.asarray(0.029 / np.sqrt(np.asarray(forebody)))


def across_drag(slenderness: Values) -> Values:
    """Drag coefficient of a finite cylinder across the flow, on length times diameter (R6.7)."""
    return np.interp(np.log(slenderness), np.log(SLENDERNESS), ACROSS)


def fin_slope(fins: FinSet, diameter: Values) -> Values:
    """Normal force slope of a fin set on the body [1/rad], on the frontal area.

    Barrowman (1967), with the interference of the body; R6.3.
    """
    span, chords = np.asarray(fins.span), np.asarray(fins.root_chord) + fins.tip_chord
    radius = np.asarray(diameter) / 2.0
    middle = np.asarray(fins.sweep) + 0.5 * (np.asarray(fins.tip_chord) - fins.root_chord)
    mid_chord_line = np.hypot(span, middle)
    alone = (
        4.0 * fins.count * (span / diameter) ** 2
        / (1.0 + np.sqrt(1.0 + (2.0 * mid_chord_line / chords) ** 2))
    )  # fmt: skip
    return np.asarray((1.0 + radius / (span + radius)) * alone)


def fin_station(fins: FinSet) -> Values:
    """Station where the normal force of a fin set acts (Barrowman, 1967) [m]."""
    root, tip = np.asarray(fins.root_chord), np.asarray(fins.tip_chord)
    both = root + tip
    return np.asarray(
        fins.station + fins.sweep * (root + 2.0 * tip) / (3.0 * both)
        + (both - root * tip / both) / 6.0
    )  # fmt: skip


def together(first: Values, at: Values, second: Values, at_second: Values) -> tuple[Values, Values]:
    """Sum of two forces along the axis and the station where the sum acts."""
    total = np.asarray(first) + second
    return total, (np.asarray(first) * at + np.asarray(second) * at_second) / total


def shape_of(
    body: Outline,
    *,
    fins: FinSet | None = None,
    axial_factor: Values = 1.0,
    normal_factor: Values = 1.0,
    shift: Values = 0.0,
    tail_first_drag: Values = 0.85,
    base_coefficient: Values | None = None,
    base_left_burning: Values = 0.5,
    cross_flow_drag: Values = LONG_CYLINDER,
    damping_factor: Values = 1.0,
) -> Shape:
    """Coefficients of an outline.

    Parameters
    ----------
    body : Outline
    fins : FinSet or None
    axial_factor, normal_factor, damping_factor : float or array
        Uncertain factors on the parts of the force and on the damping of turning.
    shift : float or array [m]
        Of every place of action, aft.
    tail_first_drag : float or array
        Axial coefficient of the blunt tail, forwards.
    base_coefficient : float, array or None
        Base drag coefficient, from the fore-body drag if None.
    base_left_burning : float or array
        Share of the base drag left while a motor burns.
    cross_flow_drag : float or array
        Coefficient of a long cylinder across the flow.

    Returns
    -------
    Shape

    Notes
    -----
    Barrowman (1967): a nose of any shape has a slope of 2 a radian on the base area, an ogive's
    acts at 0.466 of its length; R6.1. Tail first the leading, blunt end takes that part. Cross-flow
    by strip theory: damping of pure turning is Cd d integral |x|^3 dx; R6.11.
    """
    area = np.pi / 4.0 * np.asarray(body.diameter) ** 2
    forebody = forebody_drag(body)
    base = base_drag(forebody) if base_coefficient is None else base_coefficient
    nose_side = OGIVE_SIDE * np.asarray(body.nose_length)
    straight = np.asarray(body.length) - body.nose_length
    side_length = nose_side + straight
    middle: Values = (
        nose_side * OGIVE_SIDE_CENTRE * body.nose_length
        + straight * (body.nose_length + 0.5 * straight)
    ) / side_length
    coefficient = (
        across_drag(np.asarray(body.length) / body.diameter) * cross_flow_drag / LONG_CYLINDER
    )
    strip = coefficient * body.diameter * normal_factor
    slope_nose: Values = 2.0 * area
    slope_tail: Values = 2.0 * area
    at_nose: Values = OGIVE_CENTRE * np.asarray(body.nose_length)
    at_tail: Values = np.asarray(body.length)
    side: Values = strip * side_length
    second: Values = strip * side_length**3 / 12.0
    third: Values = strip * side_length**4 / 32.0
    fin_friction: Values = 0.0
    if fins is not None:
        lift, where = fin_slope(fins, body.diameter) * area, fin_station(fins)
        slope_nose, at_nose = together(slope_nose, at_nose, lift, where)
        slope_tail, at_tail = together(slope_tail, at_tail, lift, where)
        one = 0.5 * np.asarray(fins.span) * (np.asarray(fins.root_chord) + fins.tip_chord)
        # seen from the side, half of the fins' area stands across the flow
        plates = PLATE_DRAG * 0.5 * fins.count * one * normal_factor
        alone, at_alone = side, middle
        side, middle = together(alone, at_alone, plates, where)
        second = second + alone * (at_alone - middle) ** 2 + plates * (where - middle) ** 2
        third = third + plates * np.abs(where - middle) ** 3
        wetted = 2.0 * fins.count * one
        fin_friction = skin_friction(fins.root_chord, REFERENCE_SPEED) * wetted / area
    return Shape(
        axial_nose=(forebody + base + fin_friction) * area * axial_factor,
        axial_tail=(tail_first_drag + fin_friction) * area * axial_factor,
        base=base * area * axial_factor * (1.0 - np.asarray(base_left_burning)),
        slope_nose=slope_nose * normal_factor,
        slope_nose_station=at_nose + shift,
        slope_tail=slope_tail * normal_factor,
        slope_tail_station=at_tail + shift,
        side=side,
        side_station=middle + shift,
        side_second=damping_factor * second,
        side_third=damping_factor * third,
    )
