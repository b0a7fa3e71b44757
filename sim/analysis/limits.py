"""The limits that make a flight a success, one by one, from the file or from the scenario.

The file attribute `success` holds either one limit a line as a person writes it,

    touchdown_speed < 2.5 m/s
    tilt = "< 8 deg"
    inside_landing_pad = true
    first_contact = "foot"

or JSON text as `limits_text` makes it: a list of objects with the keys variable, low, high, flag,
text, with numbers in SI units. `read_limits` reads both.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from sim.analysis.flights import Mask, came_down, is_any, meanings, units
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset


class AnyLimit(Protocol):
    """What a limit must have; the scenario's limits do."""

    @property
    def variable(self) -> str:
        """Outcome that the limit speaks of."""
        ...

    @property
    def low(self) -> float | None:
        """Lower end in SI units, or none."""
        ...

    @property
    def high(self) -> float | None:
        """Upper end in SI units, or none."""
        ...

    @property
    def flag(self) -> str | bool | None:
        """Named or true-or-false state wanted, or none."""
        ...

    @property
    def text(self) -> str:
        """The limit as written."""
        ...


@dataclass(frozen=True)
class FileLimit:
    """A limit read back from a file."""

    variable: str
    low: float | None
    high: float | None
    flag: str | bool | None
    text: str


def limits_text(limits: Iterable[AnyLimit]) -> str:
    """JSON text of limits, for the file attribute `success`."""
    keys = ("variable", "low", "high", "flag", "text")
    return json.dumps([{key: getattr(limit, key) for key in keys} for limit in limits])


def read_limits(ds: Dataset) -> tuple[FileLimit, ...]:
    """Limits stored with an ensemble; none if it has none.

    Raises
    ------
    UserMistake
        If the attribute cannot be read; the message says which line.
    """
    text = str(ds.attrs.get("success", "")).strip()
    if not text.startswith("["):
        return tuple(_from_line(line, ds) for line in text.splitlines() if line.strip())
    try:
        return tuple(FileLimit(**entry) for entry in json.loads(text))
    except (ValueError, TypeError) as error:
        raise UserMistake(
            "the ensemble's attribute `success` is not a list of limits (variable, low, high, "
            f"flag, text): {error}"
        ) from error


def name_of(limit: AnyLimit) -> str:
    """How a limit is named in a table: its variable and its text."""
    if limit.variable in limit.text:
        return limit.text
    return f"{limit.variable} {limit.text}".strip()


def holds(limit: AnyLimit, ds: Dataset, *, landing_pad_radius: float | None = None) -> Mask | None:
    """Flights on which a limit holds; flights without a touchdown or a value fail it.

    Parameters
    ----------
    limit : limit
    ds : Dataset
    landing_pad_radius : float [m], optional
        Within which the landing point counts as inside the landing pad, if the file does not say.

    Returns
    -------
    ndarray of bool or None
        None if the ensemble does not hold what the limit speaks of.
    """
    if isinstance(limit.flag, str):
        return _flag_holds(limit, ds)
    if limit.flag is not None:
        return _switch_holds(limit, ds, landing_pad_radius)
    if limit.variable not in ds:
        return None
    values = ds[limit.variable].to_numpy()
    good: Mask = came_down(ds) & np.isfinite(values)
    if limit.high is not None:
        good &= values < limit.high if _strict(limit.text, "<") else values <= limit.high
    if limit.low is not None:
        good &= values > limit.low if _strict(limit.text, ">") else values >= limit.low
    return good


def _flag_holds(limit: AnyLimit, ds: Dataset) -> Mask | None:
    """Limit on a named state, such as first_contact = "foot"."""
    name = {"first_contact": "contact_point"}.get(limit.variable, limit.variable)
    if name not in ds or str(limit.flag) not in meanings(ds[name]):
        return None
    return came_down(ds) & is_any(ds[name], [str(limit.flag)])


def _switch_holds(limit: AnyLimit, ds: Dataset, radius: float | None) -> Mask | None:
    """Limit that is true or false, such as inside_landing_pad."""
    state: Mask
    if limit.variable in ds:
        state = ds[limit.variable].to_numpy() == 1
    elif limit.variable == "inside_landing_pad" and radius is not None:
        state = ds["miss_distance"].to_numpy() <= radius
    elif limit.variable in meanings(ds["outcome"]):
        state = is_any(ds["outcome"], [limit.variable])
    else:
        return None
    return came_down(ds) & (state if limit.flag else ~state)


def _strict(text: str, sign: str) -> bool:
    """Whether the written limit excludes its end: "< 2.5 m/s" does, "<= 2.5 m/s" does not."""
    return sign in text and f"{sign}=" not in text


_LINE = re.compile(r"\s*(\w+)\s*(=(?!=)|is\b|)\s*(.*?)\s*")
_COMPARISON = re.compile(r"([<>]=?)\s*([-+]?[\d.]+(?:[eE][-+]?\d+)?)\s*([^<>,]*?)\s*(?:and|,|$)")


def _from_line(line: str, ds: Dataset) -> FileLimit:
    """Read one limit as a person writes it; its unit is turned into that of the variable."""
    parts = _LINE.fullmatch(line)
    mistake = UserMistake(
        f"the ensemble's attribute `success` has the line {line.strip()!r}, which is no limit; a "
        'limit reads like "touchdown_speed < 2.5 m/s" or "first_contact = foot"'
    )
    if parts is None or not parts[3]:
        raise mistake
    name, right = parts[1], parts[3].strip("\"'")
    if right in ("true", "false"):
        return FileLimit(name, None, None, right == "true", line.strip())
    found = _COMPARISON.findall(right)
    if not found:
        if not parts[2] or not right.isidentifier():
            raise mistake
        return FileLimit(name, None, None, right, line.strip())
    ends: dict[str, float] = {}
    for sign, number, unit in found:
        ends["high" if sign[0] == "<" else "low"] = _in_si(float(number), unit, name, ds, mistake)
    return FileLimit(name, ends.get("low"), ends.get("high"), None, line.strip())


def _in_si(number: float, unit: str, name: str, ds: Dataset, mistake: UserMistake) -> float:
    from sim.scenario.units import UnitProblem, conversion

    if not unit or name not in ds:
        return number
    try:
        factor, offset = conversion(unit, units(ds, name))
    except UnitProblem as problem:
        raise mistake from problem
    return number * factor + offset
