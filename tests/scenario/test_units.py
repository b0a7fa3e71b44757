"""Units against pint, which has its own table and its own reader."""

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.scenario.amounts import read_quantity
from sim.scenario.dimensions import DIMENSIONS
from sim.scenario.units import OFFSETS, UNITS, UnitProblem, conversion, unit_scale
from tests.outside import outside_check

REGISTRY = pint.UnitRegistry()
PINT_NAMES = {
    "%": "percent", "um": "micrometer", "in": "inch", "oz": "ounce", "h": "hour", "g": "gram",
    "us": "microsecond", "ug": "microgram", "urad": "microradian", "K": "kelvin",
    "mK": "millikelvin", "degC": "delta_degC", "degF": "delta_degF", "kgf": "kilogram_force",
    "ozf": "ounce_force", "kt": "knot", "min": "minute", "deg": "degree", "rpm": "rpm",
}  # fmt: skip
BASES = ("meter", "kilogram", "second", "kelvin", "radian")


def in_pint(name):
    return REGISTRY.Quantity(1.0, PINT_NAMES.get(name, name)).to_base_units()


def pint_powers(quantity):
    # pint counts angles as plain numbers
    powers = {str(k): v for k, v in quantity.unit_items()} if quantity.unit_items() else {}
    return tuple(float(powers.get(base, 0)) for base in BASES[:4])


@pytest.mark.parametrize("name", sorted(UNITS))
def test_unit__agrees_with_pint(name):
    factor, powers = unit_scale(name)
    reference = in_pint(name)
    outside_check(
        what=f"one {name} in SI", source="package pint", expected=reference.magnitude, got=factor,
        relative=1e-12, unit="SI",
    )  # fmt: skip
    assert tuple(map(float, powers[:4])) == pint_powers(reference)


def test_table__is_large_enough_to_be_useful():
    assert len(UNITS) >= 40


@pytest.mark.parametrize("name", sorted(OFFSETS))
@pytest.mark.parametrize("value", [-40.0, 0.0, 15.0, 100.0])
def test_temperature__scale_agrees_with_pint(name, value):
    factor, offset = conversion(name, "K")
    expected = REGISTRY.Quantity(value, name).to("kelvin").magnitude
    outside_check(
        what=f"{value:g} {name} in kelvin", source="package pint", expected=expected,
        got=value * factor + offset, relative=1e-12, unit="K",
    )  # fmt: skip
    assert conversion(name, "K", difference=True)[1] == 0.0


@pytest.mark.parametrize(
    ("text", "reference"),
    [
        ("kg m2", "kilogram * meter**2"),
        ("kg*m^2", "kilogram * meter**2"),
        ("kg·m2", "kilogram * meter**2"),
        ("kg m**2", "kilogram * meter**2"),
        ("N m s", "newton * meter * second"),
        ("mN m", "millinewton * meter"),
        ("deg/s/sqrt(Hz)", "degree / second / hertz**0.5"),
        ("deg/sqrt(h)", "degree / hour**0.5"),
        ("ug/sqrt(Hz)", "1e-6 * standard_gravity / hertz**0.5"),
        ("m/s2/sqrt(Hz)", "meter / second**2 / hertz**0.5"),
        ("deg/s/g", "degree / second / standard_gravity"),
        ("deg/s/g2", "degree / second / standard_gravity**2"),
        ("mg/g2", "1e-3 * standard_gravity / standard_gravity**2"),
        ("1/s", "1 / second"),
        ("%/K", "0.01 / kelvin"),
        ("kg/(m s)", "kilogram / meter / second"),
        ("km/h", "kilometer / hour"),
        ("lbf/in2", "pound_force / inch**2"),
    ],
)
def test_compound_unit__agrees_with_pint(text, reference):
    quantity = REGISTRY(reference).to_base_units()
    scales = [unit_scale(text, as_gravity) for as_gravity in (False, True)]
    assert any(
        factor == pytest.approx(quantity.magnitude, rel=1e-12)
        and tuple(map(float, powers[:4])) == pint_powers(quantity)
        for factor, powers in scales
    )


def test_g__is_gram_or_gravity_as_the_key_expects():
    assert conversion("g", "kg") == (1e-3, 0.0)
    assert conversion("g", "m/s2") == (9.80665, 0.0)
    assert conversion("mg", "kg")[0] == pytest.approx(1e-6)
    assert conversion("mg", "m/s2")[0] == pytest.approx(9.80665e-3)
    assert conversion("ug", "m/s2")[0] == pytest.approx(9.80665e-6)


def test_angle__is_a_dimension_of_its_own():
    with pytest.raises(UnitProblem, match="a frequency"):
        conversion("Hz", "rad/s")


@pytest.mark.parametrize("dimension", DIMENSIONS.values(), ids=lambda d: d.name)
def test_dimension__si_unit_has_no_factor(dimension):
    assert conversion(dimension.unit, dimension.unit) == (1.0, 0.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("metre", 'write "m"'),
        ("meters", 'write "m"'),
        ("degrees", 'write "deg"'),
        ("Ns", 'write "N s"'),
        ("Nm", 'write "N m"'),
        ("knots", 'write "kt"'),
        ("hpa", 'write "hPa"'),
        ("kpA", "did you mean"),
        ("furlong", "write one such as"),
        ("m//s", "kg m2"),
        ("m/", "kg m2"),
        ("/s", "kg m2"),
        ("(m", "kg m2"),
        ("m)", "kg m2"),
        ("sqrt(Hz", "kg m2"),
        ("m 3", "kg m2"),
        ("m;s", "kg m2"),
    ],
)
def test_bad_unit__says_what_would_be_right(text, words):
    with pytest.raises(UnitProblem) as caught:
        unit_scale(text)
    assert words in caught.value.right


SAFE = sorted(set(UNITS) - {"g", "mg", "ug"})


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(SAFE), st.integers(1, 3)), min_size=1, max_size=4),
    st.data(),
)
def test_product__of_units_is_the_product_of_scales(parts, data):
    text, factor, powers = "", 1.0, [0.0] * 5
    for index, (name, power) in enumerate(parts):
        stroke = index > 0 and data.draw(st.booleans())
        text += (
            (("/" if stroke else " ") if index else "") + name + (str(power) if power > 1 else "")
        )
        sign = -power if stroke else power
        one, own = unit_scale(name)
        factor *= one**sign
        powers = [a + sign * b for a, b in zip(powers, own, strict=True)]
    got = unit_scale(text)
    assert got[0] == pytest.approx(factor, rel=1e-12)
    assert list(got[1]) == powers


DIMENSION_UNIT = {
    name: dimension.unit
    for name in SAFE
    for dimension in DIMENSIONS.values()
    if unit_scale(dimension.unit)[1] == unit_scale(name)[1]
}


@settings(deadline=None)
@given(st.sampled_from(sorted(DIMENSION_UNIT)), st.floats(-1e6, 1e6, allow_nan=False))
def test_round_trip__text_gives_back_the_number(name, value):
    dimension = next(d for d in DIMENSIONS.values() if d.unit == DIMENSION_UNIT[name])
    factor, offset = conversion(name, dimension.unit)
    read = read_quantity(f"{value!r} {name}", dimension).value
    assert (read - offset) / factor == pytest.approx(value, rel=1e-9, abs=1e-6)


def test_degree__is_pi_over_180():
    assert conversion("deg", "rad")[0] == math.pi / 180
