"""What a sweep varies: `launch_pad.tilt=0..1 deg/11` read into levels.

    NAME=FIRST..LAST UNIT/COUNT     evenly spaced, both ends included
    NAME=A, B, C UNIT               listed; a level without a unit takes that of the last one

NAME is any number of the scenario, `NAME.spread` its standard deviation, or a quantity with axes
(`inertial.accelerometer.bias`), each axis then getting the value with its sign drawn.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sim.ensemble.protocols import ScenarioLike
from sim.errors import UserMistake

SPREAD = ".spread"
_HELP = 'write NAME=FIRST..LAST UNIT/COUNT or NAME=A, B, C UNIT, as "launch_pad.tilt=0..1 deg/11"'
_QUANTITY = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")
_MOST_LEVELS = 10_000


@dataclass(frozen=True)
class Vary:
    """One swept input.

    Attributes
    ----------
    key : str
        Dotted name in the scenario.
    levels : tuple of str
        Each level as a person would write it ("0.1 deg").
    """

    key: str
    levels: tuple[str, ...]


def parse_vary(text: str) -> Vary:
    """Read one `--vary` argument.

    Parameters
    ----------
    text : str
        As above.

    Returns
    -------
    Vary

    Raises
    ------
    UserMistake
        The text cannot be read; the message says what would be right.
    """
    key, equals, right = text.partition("=")
    key = key.strip()
    if not equals or not key or not right.strip():
        raise UserMistake(f'vary "{text}": nothing to vary; {_HELP}')
    levels = _span(text, right) if ".." in right else _listed(text, right)
    if len(set(levels)) != len(levels):
        raise UserMistake(f'vary "{text}": a level comes twice; give each once')
    return Vary(key, levels)


def _span(text: str, right: str) -> tuple[str, ...]:
    body, stroke, count_text = right.rpartition("/")
    if not stroke or not count_text.strip().isdecimal():
        raise UserMistake(f'vary "{text}": how many levels is missing; {_HELP}')
    count = int(count_text)
    if not 2 <= count <= _MOST_LEVELS:
        raise UserMistake(f'vary "{text}": {count} levels; give 2 to {_MOST_LEVELS}')
    (first, first_unit), (last, unit) = map(
        lambda part: _quantity(text, part), body.split("..", maxsplit=1)
    )
    if first_unit not in ("", unit):
        raise UserMistake(f'vary "{text}": two units, {first_unit} and {unit}; give one')
    # exact ends, and the same decimal text for the same level whatever the span
    values = [first + (last - first) * i / (count - 1) for i in range(count - 1)] + [last]
    return tuple(_written(float(f"{value:.12g}"), unit) for value in values)


def _listed(text: str, right: str) -> tuple[str, ...]:
    parts = [_quantity(text, part) for part in right.split(",")]
    last_unit = parts[-1][1]
    return tuple(_written(value, unit or last_unit) for value, unit in parts)


def _quantity(text: str, part: str) -> tuple[float, str]:
    match = _QUANTITY.fullmatch(part)
    if match is None:
        raise UserMistake(f'vary "{text}": "{part.strip()}" is not a number with a unit; {_HELP}')
    return float(match[1]), match[2]


def _written(value: float, unit: str) -> str:
    return f"{value!r} {unit}".strip()


def touched(scenario: ScenarioLike, key: str) -> list[str]:
    """Names of the numbers that setting `key` changes: itself, or its axes."""
    base = key.removesuffix(SPREAD)
    if base in scenario.numbers:
        return [base]
    return sorted(
        name for name in scenario.numbers if name.rpartition(".")[0] == base and name[-2] == "."
    )


def level_value(scenario: ScenarioLike, key: str) -> tuple[float, str]:
    """Read what a swept input is set to in a scenario that has been set, and its unit.

    Parameters
    ----------
    scenario : Scenario
        Returned by `with_values`.
    key : str
        As in `Vary`.

    Returns
    -------
    float [SI]
    str
        The unit.
    """
    names = touched(scenario, key)
    if not names:
        raise UserMistake(f"vary: the scenario has no number {key}")
    number: Any = scenario.numbers[names[0]]
    whole = key in scenario.numbers
    return float(number.value if whole else number.law.spread()), str(number.unit)


def read_varied(vary: str | Vary | Sequence[str | Vary]) -> list[Vary]:
    """Read the one or two things that a sweep varies."""
    several = [vary] if isinstance(vary, str | Vary) else list(vary)
    if len(several) not in (1, 2):
        raise UserMistake(f"a sweep varies one or two inputs; {len(several)} were given")
    found = [item if isinstance(item, Vary) else parse_vary(item) for item in several]
    if len({item.key for item in found}) != len(found):
        raise UserMistake(f"a sweep cannot vary {found[0].key} twice")
    return found
