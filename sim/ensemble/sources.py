"""Sources of error: uncertain numbers that only make sense together are one source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim.ensemble.draws import uncertain_names
from sim.ensemble.protocols import Floats, ScenarioLike

NOISE = "noise in flight"
_DIRECTIONS = ("_clocking", "_direction")
_TOGETHER = {"wind.direction": "wind.speed"}
_FREE = ("uniform",)  # a direction is left as it is when a source is halved


@dataclass(frozen=True)
class Source:
    """Uncertain numbers that are drawn as one; none for the noise in flight.

    Attributes
    ----------
    name : str
        On screen and in files.
    numbers : tuple of str
    """

    name: str
    numbers: tuple[str, ...]


def find_sources(scenario: ScenarioLike) -> list[Source]:
    """Sources of a scenario, the noise in flight last.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    list of Source
        The axes of one sensor error are one source, an error and its direction are one, and so are
        correlated numbers.
    """
    names = uncertain_names(scenario)
    clusters = {name: {name} for name in names}

    def tie(one: str, two: str) -> None:
        joined = clusters[one] | clusters[two]
        for name in joined:
            clusters[name] = joined

    for name in names:
        for other in names:
            if name < other and _axis_of(name) == _axis_of(other) is not None:
                tie(name, other)
        partner = _with_direction(name, names)
        if partner is not None:
            tie(name, partner)
    for group in scenario.correlated:
        members = [name for name in group.names if name in clusters]
        if np.any(np.asarray(group.correlation) != 0.0):
            for name in members[1:]:
                tie(members[0], name)
    found = {min(cluster): tuple(sorted(cluster)) for cluster in clusters.values()}
    return [Source(_title(found[key]), found[key]) for key in sorted(found)] + [Source(NOISE, ())]


def shrunk(scenario: ScenarioLike, name: str, values: Floats, share: float) -> Floats:
    """Draws of a number whose deviation from nominal is only a share of what it was.

    Parameters
    ----------
    scenario : Scenario
    name : str
    values : ndarray (n,)
    share : float [1]
        0 leaves the nominal value; a direction stays as drawn.
    """
    number = scenario.numbers[name]
    if number.law.kind in _FREE and is_direction(name):
        return values
    centre = float(number.value)
    if number.law.kind == "lognormal" and share > 0.0:
        return np.asarray(centre * (values / centre) ** share)
    return np.asarray(centre + share * (values - centre))


def is_direction(name: str) -> bool:
    """Whether a number is a direction, of which none is more astray than another."""
    return name.endswith((*_DIRECTIONS, ".direction"))


def changed(
    scenario: ScenarioLike, source: Source, values: Mapping[str, Floats], share: float
) -> dict[str, Floats]:
    """Draws with one source shrunk to a share; see `shrunk`."""
    return dict(values) | {
        name: shrunk(scenario, name, values[name], share) for name in source.numbers
    }


def _axis_of(name: str) -> str | None:
    head, _, axis = name.rpartition(".")
    return head if axis in ("x", "y", "z") else None


def _with_direction(name: str, names: list[str]) -> str | None:
    """Return the number whose direction this is."""
    if name in _TOGETHER:
        return _TOGETHER[name] if _TOGETHER[name] in names else None
    for ending in _DIRECTIONS:
        base = name.removesuffix(ending)
        if base != name and not name.endswith(".direction"):
            near = [other for other in names if other.startswith(base) and other != name]
            return near[0] if near else None
    return None


def _title(names: tuple[str, ...]) -> str:
    sizes = [name for name in names if not is_direction(name)] or list(names)
    heads = list(dict.fromkeys(_axis_of(name) or name for name in sizes))
    last = {head.rpartition(".")[2] for head in heads}
    if len(heads) > 1 and len(last) == 1:
        return f"{last.pop()} ({', '.join(head.partition('.')[0] for head in heads)})"
    if len(heads) > 2:
        return f"{heads[0]} and {len(heads) - 1} correlated"
    return " and ".join(heads)
