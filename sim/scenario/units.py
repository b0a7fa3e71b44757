"""Units: from what a person writes ("74 mm", "0.2 deg/s/sqrt(Hz)") to SI.

A unit is a product of names, each with an optional whole power: "kg m2", "m/s2", "N m s", "1/s",
"ug/sqrt(Hz)". A blank, a dot or a star multiplies; a stroke divides by the one factor after it, so
that "deg/s/g" is (deg/s)/g. Angle counts as a dimension of its own: "rad/s" and "Hz" are not the
same thing and are not taken for each other.

"g", "mg" and "ug" are grams where a mass is expected and shares of standard gravity where an
acceleration is expected; whichever reading gives the dimension that the key asks for is taken.
"degC" and "degF" alone mean a temperature on their scale; as a spread or inside a compound unit
they mean a difference.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

STANDARD_GRAVITY = 9.80665  # m/s2, exact by definition (CGPM 1901)

Powers = tuple[float, float, float, float, float]
"""Powers of metre, kilogram, second, kelvin, radian."""

_NUMBER: Powers = (0, 0, 0, 0, 0)
_M: Powers = (1, 0, 0, 0, 0)
_KG: Powers = (0, 1, 0, 0, 0)
_S: Powers = (0, 0, 1, 0, 0)
_K: Powers = (0, 0, 0, 1, 0)
_RAD: Powers = (0, 0, 0, 0, 1)
_N: Powers = (1, 1, -2, 0, 0)
_PA: Powers = (-1, 1, -2, 0, 0)
_HZ: Powers = (0, 0, -1, 0, 0)
_SPEED: Powers = (1, 0, -1, 0, 0)
_ACCELERATION: Powers = (1, 0, -2, 0, 0)
_RATE: Powers = (0, 0, -1, 0, 1)

_POUND = 0.45359237  # kg, exact (international yard and pound, 1959)

UNITS: dict[str, tuple[float, Powers]] = {
    "%": (0.01, _NUMBER),
    "percent": (0.01, _NUMBER),
    "ppm": (1e-6, _NUMBER),
    "m": (1.0, _M),
    "km": (1e3, _M),
    "cm": (1e-2, _M),
    "mm": (1e-3, _M),
    "um": (1e-6, _M),
    "in": (0.0254, _M),
    "ft": (0.3048, _M),
    "yd": (0.9144, _M),
    "kg": (1.0, _KG),
    "g": (1e-3, _KG),
    "mg": (1e-6, _KG),
    "ug": (1e-9, _KG),
    "lb": (_POUND, _KG),
    "oz": (_POUND / 16, _KG),
    "s": (1.0, _S),
    "ms": (1e-3, _S),
    "us": (1e-6, _S),
    "min": (60.0, _S),
    "h": (3600.0, _S),
    "K": (1.0, _K),
    "mK": (1e-3, _K),
    "degC": (1.0, _K),
    "degF": (5 / 9, _K),
    "rad": (1.0, _RAD),
    "mrad": (1e-3, _RAD),
    "urad": (1e-6, _RAD),
    "deg": (math.pi / 180, _RAD),
    "arcmin": (math.pi / 10800, _RAD),
    "arcsec": (math.pi / 648000, _RAD),
    "turn": (2 * math.pi, _RAD),
    "rpm": (math.pi / 30, _RATE),
    "Hz": (1.0, _HZ),
    "kHz": (1e3, _HZ),
    "N": (1.0, _N),
    "mN": (1e-3, _N),
    "kN": (1e3, _N),
    "lbf": (_POUND * STANDARD_GRAVITY, _N),
    "ozf": (_POUND * STANDARD_GRAVITY / 16, _N),
    "kgf": (STANDARD_GRAVITY, _N),
    "Pa": (1.0, _PA),
    "hPa": (1e2, _PA),
    "kPa": (1e3, _PA),
    "MPa": (1e6, _PA),
    "mbar": (1e2, _PA),
    "bar": (1e5, _PA),
    "atm": (101325.0, _PA),
    "psi": (_POUND * STANDARD_GRAVITY / 0.0254**2, _PA),
    "kt": (1852 / 3600, _SPEED),
    "mph": (0.44704, _SPEED),
    "kph": (1 / 3.6, _SPEED),
    "J": (1.0, (2, 1, -2, 0, 0)),
    "W": (1.0, (2, 1, -3, 0, 0)),
}

_GRAVITY_READING: dict[str, tuple[float, Powers]] = {
    "g": (STANDARD_GRAVITY, _ACCELERATION),
    "mg": (STANDARD_GRAVITY * 1e-3, _ACCELERATION),
    "ug": (STANDARD_GRAVITY * 1e-6, _ACCELERATION),
}

OFFSETS = {"degC": 273.15, "degF": 459.67 * 5 / 9}
"""Kelvin to add to a temperature on the scale, after its factor."""

_ALIASES = {"µm": "um", "µs": "us", "µg": "ug", "°": "deg", "°C": "degC", "°F": "degF"}

_MEANT = {
    "meter": "m", "meters": "m", "metre": "m", "metres": "m", "inch": "in", "inches": "in",
    "foot": "ft", "feet": "ft", "gram": "g", "grams": "g", "kilogram": "kg", "KG": "kg", "Kg": "kg",
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "msec": "ms", "minute": "min",
    "minutes": "min", "hr": "h", "hour": "h", "hours": "h", "degree": "deg", "degrees": "deg",
    "Deg": "deg", "radian": "rad", "radians": "rad", "C": "degC", "celsius": "degC",
    "Celsius": "degC", "F": "degF", "kelvin": "K", "newton": "N", "newtons": "N", "Ns": "N s",
    "Nm": "N m", "Nms": "N m s", "hz": "Hz", "HZ": "Hz", "hertz": "Hz", "knot": "kt",
    "knots": "kt", "kts": "kt", "kmh": "km/h", "kgm": "kg m", "pa": "Pa", "hpa": "hPa",
    "lbs": "lb", "pct": "%", "dps": "deg/s", "G": "g",
}  # fmt: skip

_TOKEN = re.compile(
    r"\s*(?:(?P<sqrt>sqrt\s*\()|(?P<open>\()|(?P<close>\))|(?P<stroke>/)|(?P<star>[*·])"
    r"|(?P<one>1(?![\d.]))|(?P<name>[A-Za-zµ°%]+)(?:\s*(?:\^|\*\*)\s*)?(?P<power>-?\d+)?)"
)


class UnitProblem(ValueError):
    """A unit that is not understood; the two parts say what was found and what would be right."""

    def __init__(self, found: str, right: str) -> None:
        super().__init__(f"{found}; {right}")
        self.found = found
        self.right = right


Scale = tuple[float, Powers]


def _times(a: Scale, b: Scale, power: float) -> Scale:
    m, kg, s, k, rad = (x + power * y for x, y in zip(a[1], b[1], strict=True))
    factor = a[0] * b[0] ** power if power != 1 else a[0] * b[0]
    # dividing is exact where multiplying by a rounded reciprocal is not
    return (a[0] / b[0] if power == -1 else factor), (m, kg, s, k, rad)


def _named(name: str, as_gravity: bool) -> Scale:
    name = _ALIASES.get(name, name)
    if as_gravity and name in _GRAVITY_READING:
        return _GRAVITY_READING[name]
    if name in UNITS:
        return UNITS[name]
    raise UnitProblem(f'unknown unit "{name}"', _suggest_unit(name))


def _suggest_unit(name: str) -> str:
    if name in _MEANT:
        return f'write "{_MEANT[name]}"'
    from difflib import get_close_matches

    near = get_close_matches(name, UNITS, n=1, cutoff=0.6)
    return f'did you mean "{near[0]}"?' if near else "write one such as m, kg, s, deg, N, Pa, Hz"


class _Reader:
    """Recursive-descent reader of one unit expression."""

    def __init__(self, text: str, as_gravity: bool) -> None:
        self.text = text
        self.at = 0
        self.as_gravity = as_gravity

    def bad(self) -> UnitProblem:
        return UnitProblem(
            f'cannot read the unit "{self.text}"', 'write it like "kg m2", "m/s2" or "deg/s/g"'
        )

    def product(self, nested: bool) -> Scale:
        result: Scale = (1.0, _NUMBER)
        sign, wanted = 1.0, True
        while True:
            rest = self.text[self.at :].strip()
            match = _TOKEN.match(self.text, self.at) if rest else None
            if match is None or match["close"]:
                unread = bool(rest) and match is None
                if unread or wanted or (match is not None) != nested:
                    raise self.bad()
                self.at = match.end() if match else self.at
                return result
            self.at = match.end()
            if match["stroke"] or match["star"]:
                if wanted:
                    raise self.bad()
                sign, wanted = (-1.0 if match["stroke"] else 1.0), True
                continue
            result = _times(result, *self.factor(match, sign))
            sign, wanted = 1.0, False

    def factor(self, match: re.Match[str], sign: float) -> tuple[Scale, float]:
        if match["one"]:
            return (1.0, _NUMBER), sign
        if match["open"]:
            return self.product(nested=True), sign
        if match["sqrt"]:
            return self.product(nested=True), sign / 2
        return _named(match["name"], self.as_gravity), sign * int(match["power"] or 1)


@lru_cache(maxsize=1024)
def unit_scale(text: str, as_gravity: bool = False) -> Scale:
    """Factor to SI and powers of the base units of a unit expression.

    Parameters
    ----------
    text : str
        Such as "kg m2"; empty or "1" for a plain number.
    as_gravity : bool
        Read g, mg and ug as standard gravity instead of grams.

    Returns
    -------
    (float, tuple of 5 floats)
        Factor that takes the number to SI; powers of m, kg, s, K, rad.

    Raises
    ------
    UnitProblem
        If the expression or a name in it is not understood.
    """
    if text.strip() in ("", "1"):
        return 1.0, _NUMBER
    return _Reader(text, as_gravity).product(nested=False)


@lru_cache(maxsize=4096)
def conversion(text: str, si_unit: str, difference: bool = False) -> tuple[float, float]:
    """Factor and offset that take a number in the unit `text` to `si_unit`.

    Parameters
    ----------
    text : str
        The unit as written.
    si_unit : str
        Unit of the dimension that is expected.
    difference : bool
        The number is a spread or a difference: no offset for degC and degF.

    Returns
    -------
    (float, float)
        `factor` and `offset`: SI value = number * factor + offset.

    Raises
    ------
    UnitProblem
        Unknown unit, or one of another dimension than `si_unit`.
    """
    wanted = unit_scale(si_unit)[1]
    for as_gravity in (False, True):
        factor, powers = unit_scale(text, as_gravity)
        if powers == wanted:
            name = _ALIASES.get(text.strip(), text.strip())
            offset = 0.0 if difference else OFFSETS.get(name, 0.0)
            return factor, offset
    raise UnitProblem(f'the unit "{text}" is {dimension_of(text)}', "")


def dimension_of(text: str) -> str:
    """Name, with its article, of the kind of quantity a unit measures."""
    from sim.scenario.dimensions import DIMENSIONS

    for as_gravity in (False, True):
        powers = unit_scale(text, as_gravity)[1]
        for dimension in DIMENSIONS.values():
            if unit_scale(dimension.unit)[1] == powers:
                return with_article(dimension.name)
    return "of another dimension"


def with_article(name: str) -> str:
    """Put "a" or "an" before a name."""
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"
