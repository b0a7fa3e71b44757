"""Defaults that follow other keys: the ground by its kind, the legs by the vehicle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import hypot

from sim.scenario.amounts import read_amount
from sim.scenario.catalogue import PARTS
from sim.scenario.declare import QuantitySpec
from sim.scenario.laws import Law
from sim.scenario.numbers import Number
from sim.scenario.surface import defaults_of

Choices = Mapping[str, str | int | bool]

FOOT_STIFFNESS = {"flat": "500 kN/m", "rubber": "60 kN/m", "spiked": "500 kN/m"}


def link_surface(numbers: dict[str, Number], choices: Choices) -> None:
    """Fill in what the kind of surface and of foot say, where nothing was given."""
    kind, foot = choices.get("surface.kind"), choices.get("legs.foot")
    if kind is None or foot is None:
        return
    source = f"{kind} under {foot} feet, see sim.scenario.surface"
    for key, text in defaults_of(str(kind), str(foot)).items():
        _fill(numbers, f"surface.{key}", text, source)
    _fill(numbers, "legs.foot_stiffness", FOOT_STIFFNESS[str(foot)], f"{foot} feet, assumed")


def _fill(numbers: dict[str, Number], name: str, text: str, source: str) -> None:
    number = numbers.get(name)
    if number is None or number.given:
        return
    part, _, key = name.rpartition(".")
    spec = PARTS[part].specs()[key]
    assert isinstance(spec, QuantitySpec)
    amount = read_amount(text, spec.dimension, spec.sign)
    numbers[name] = replace(
        number, value=amount.value, law=amount.law, believed=amount.value, source=source
    )


def link_legs(numbers: dict[str, Number], choices: Choices) -> None:
    """Place hinge and strut where the vehicle suggests, where nothing was given."""
    stroke = numbers.get("legs.stroke")
    if stroke is not None:
        _place(numbers, "legs.gas_length", 1.4 * stroke.value, "1.4 strokes")
    count, mass = choices.get("legs.count"), numbers.get("legs.moving_mass")
    arms = [numbers.get(f"legs.{name}") for name in ("foot_radius", "folded_foot_radius")]
    if isinstance(count, int) and mass is not None and arms[0] is not None and arms[1] is not None:
        gain = count * mass.value * (arms[0].value ** 2 - arms[1].value ** 2)
        _place(numbers, "legs.inertia_gain", max(gain, 0.0), "moving mass of the legs, at the feet")
    names = ("vehicle.length", "vehicle.diameter", "legs.foot_station", "legs.foot_radius")
    if not all(name in numbers for name in names):
        return
    length, diameter, foot, radius = (numbers[name].value for name in names)
    _place(numbers, "legs.hinge_station", min(length, foot), "the tail ring")
    _place(numbers, "legs.hinge_radius", diameter / 2.0, "on the body tube")
    if "legs.hinge_station" not in numbers or "legs.hinge_radius" not in numbers:
        return
    hinge = numbers["legs.hinge_station"].value
    reach = hypot(foot - hinge, radius - numbers["legs.hinge_radius"].value)
    _place(numbers, "legs.anchor_station", hinge - 0.5 * reach, "half a leg ahead of the hinge")
    _place(numbers, "legs.anchor_radius", diameter / 2.0, "on the body tube")


def _place(numbers: dict[str, Number], name: str, value: float, source: str) -> None:
    number = numbers.get(name)
    if number is not None and not number.given:
        law = Law("fixed", (value,))
        numbers[name] = replace(number, value=value, law=law, believed=value, source=source)
