"""All parts under the names of their sections, and the table of every key."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches

from sim.scenario.aerodynamics import Aerodynamics
from sim.scenario.aids import Barometer, Gnss, RangeFinder
from sim.scenario.alignment import Alignment
from sim.scenario.declare import ChoiceSpec, CurveSpec, Part, QuantitySpec, Raw, Spec
from sim.scenario.faults import FAULTS, Faults
from sim.scenario.fins import Fins
from sim.scenario.flight import Flight
from sim.scenario.flight_computer import FlightComputer
from sim.scenario.gimbal import Gimbal
from sim.scenario.inertial import Accelerometer, Gyro, Inertial, Vibration
from sim.scenario.landing_pad import LandingPad
from sim.scenario.launch_pad import LaunchPad
from sim.scenario.legs import Legs
from sim.scenario.motor import Motor
from sim.scenario.parachute import Parachute
from sim.scenario.petals import Petals
from sim.scenario.site import Site
from sim.scenario.stage import Stage
from sim.scenario.start import Start
from sim.scenario.surface import Surface
from sim.scenario.swap import Swap
from sim.scenario.throttle import Throttle
from sim.scenario.vehicle import Vehicle
from sim.scenario.wheels import Wheels
from sim.scenario.wind import Wind

PARTS: dict[str, type[Part]] = {
    "site": Site,
    "vehicle": Vehicle,
    "stage": Stage,
    "swap": Swap,
    "ascent_motor": Motor,
    "landing_motor": Motor,
    "ascent_gimbal": Gimbal,
    "landing_gimbal": Gimbal,
    "throttle": Throttle,
    "wheels": Wheels,
    "legs": Legs,
    "petals": Petals,
    "parachute": Parachute,
    "fins": Fins,
    "aerodynamics": Aerodynamics,
    "wind": Wind,
    "launch_pad": LaunchPad,
    "landing_pad": LandingPad,
    "surface": Surface,
    "start": Start,
    "inertial": Inertial,
    "inertial.gyro": Gyro,
    "inertial.accelerometer": Accelerometer,
    "inertial.vibration": Vibration,
    "gnss": Gnss,
    "barometer": Barometer,
    "range_finder": RangeFinder,
    "alignment": Alignment,
    "flight_computer": FlightComputer,
    "flight": Flight,
    "faults": Faults,
    **{f"faults.{name}": fault for name, fault in FAULTS.items()},
}
"""Sections of a scenario, in the order in which they are shown."""

TOP_KEYS = ("title", "base", "stratum", "correlated", "success")
"""What may stand in a scenario besides sections of `PARTS`."""


@dataclass(frozen=True)
class KeyRow:
    """One row of the table of keys.

    `dimension` and `unit` are empty for words and flags; `default` is None for a key that must be
    given, `axes` names the axes of a vector.
    """

    key: str
    dimension: str
    unit: str
    default: Raw
    required: bool
    axes: str
    allowed: str
    doc: str
    source: str


def sub_parts(name: str) -> tuple[str, ...]:
    """Sections inside a section, by their last name."""
    prefix = name + "."
    return tuple(part[len(prefix) :] for part in PARTS if part.startswith(prefix))


def specs() -> Iterator[tuple[str, str, Spec]]:
    """Every declared key as (part, key inside the part, declaration)."""
    for part, model in PARTS.items():
        for key, spec in model.specs().items():
            yield part, key, spec


def spec_for(name: str) -> tuple[str, str, str, Spec] | None:
    """Part, key, axis and declaration for a dotted name, or None if there is no such key."""
    head, _, tail = name.rpartition(".")
    for part, key, axis in ((head, tail, ""), (*_split(head), tail)):
        model = PARTS.get(part)
        if model is None or key not in model.specs():
            continue
        spec = model.specs()[key]
        if not axis or (isinstance(spec, QuantitySpec) and axis in tuple(spec.axes)):
            return part, key, axis, spec
    return None


def _split(name: str) -> tuple[str, str]:
    head, _, tail = name.rpartition(".")
    return head, tail


def describe_keys() -> list[KeyRow]:
    """Table of every key of a scenario, from the declarations; the documentation shows it."""
    rows = []
    for part, key, spec in specs():
        name = f"{part}.{key}"
        if isinstance(spec, QuantitySpec):
            unit = spec.dimension.unit
            rows.append(KeyRow(
                name, spec.dimension.name, unit, spec.default, spec.required, spec.axes,
                _allowed(spec.sign), spec.doc, spec.source,
            ))  # fmt: skip
        elif isinstance(spec, ChoiceSpec):
            words = _choices(PARTS[part], key)
            rows.append(KeyRow(
                name, "", "", spec.default, spec.required, "", words, spec.doc, spec.source
            ))  # fmt: skip
        else:
            columns = ", ".join(f"{title} [{unit}]" for title, unit in spec.columns)
            rows.append(KeyRow(name, "", "", None, spec.required, "", columns, spec.doc, ""))
    return rows


def _allowed(sign: str) -> str:
    from sim.scenario.amounts import SIGNS

    return SIGNS[sign]


def _choices(model: type[Part], key: str) -> str:
    words = ", ".join(model.words(key))
    return words or ("true or false" if model.is_flag(key) else "a whole number")


def nearest_key(path: tuple[str, ...]) -> str:
    """Say what a person may have meant by an unknown key.

    Parameters
    ----------
    path : tuple of str
        The unknown key with the sections around it.
    """
    *head, last = path
    if last == "pad":
        return "there are two pads: write launch_pad or landing_pad"
    section = ".".join(head)
    if head and section in PARTS:
        return _nearest_inside(section, last)
    names = [name for name in PARTS if "." not in name] + list(TOP_KEYS)
    near = get_close_matches(last, names, n=1, cutoff=0.6)
    if near:
        return f'did you mean "{near[0]}"?'
    owners = _owners(last)
    if owners:
        return f"{last} belongs in {owners}"
    return "known sections: " + ", ".join(names)


def _nearest_inside(section: str, last: str) -> str:
    siblings = [*PARTS[section].specs(), *sub_parts(section)]
    near = get_close_matches(last, siblings, n=1, cutoff=0.6)
    if near:
        return f'did you mean "{section}.{near[0]}"?'
    owners = _owners(last)
    if owners:
        return f"{last} belongs in {owners}"
    if not siblings:
        return f"[{section}] has no keys yet"
    return f"known keys of [{section}]: " + ", ".join(siblings)


def _owners(key: str) -> str:
    return " or ".join(f"[{part}]" for part, model in PARTS.items() if key in model.specs())


def nearest_name(name: str) -> str:
    """Nearest dotted name of a key, or an empty string."""
    known = [f"{part}.{key}" for part, key, _ in specs()]
    near = get_close_matches(name, known, n=1, cutoff=0.5)
    if near:
        return near[0]
    last = name.rpartition(".")[2]
    same = [full for full in known if full.endswith("." + last)]
    return same[0] if same else ""


def curve_specs() -> list[tuple[str, str, CurveSpec]]:
    """Keys that hold a table of numbers."""
    return [(part, key, spec) for part, key, spec in specs() if isinstance(spec, CurveSpec)]
