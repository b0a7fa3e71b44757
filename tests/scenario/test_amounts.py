"""Quantities, spreads and laws as they are written."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.scenario.amounts import Amount, AmountProblem, read_amount, read_quantity, write_law
from sim.scenario.dimensions import DIMENSIONS
from sim.scenario.laws import Law

LENGTH, MASS, NUMBER = (DIMENSIONS[name] for name in ("length", "mass", "number"))
TEMPERATURE, ANGLE, TIME = (DIMENSIONS[name] for name in ("temperature", "angle", "time"))


@pytest.mark.parametrize(
    ("raw", "dimension", "kind", "parameters"),
    [
        ("1.32 kg", MASS, "fixed", (1.32,)),
        ("1.32kg", MASS, "fixed", (1.32,)),
        (" 1_32 ", NUMBER, None, None),
        ("1.32 kg +/- 8 g", MASS, "normal", (1.32, 0.008)),
        ("1.32 kg ± 8 g", MASS, "normal", (1.32, 0.008)),
        ("2 kg +/- 5 %", MASS, "normal", (2.0, 0.1)),
        ("-2 m +/- 5 percent", LENGTH, "normal", (-2.0, 0.1)),
        ("15 degC +/- 3 K", TEMPERATURE, "normal", (288.15, 3.0)),
        ("15 degC +/- 3 degC", TEMPERATURE, "normal", (288.15, 3.0)),
        ("50 degF +/- 9 degF", TEMPERATURE, "normal", (283.15, 5.0)),
        ("1 +/- 2 %", NUMBER, "normal", (1.0, 0.02)),
        ("0.5 +/- 10 %", NUMBER, "normal", (0.5, 0.05)),
        ("0 +/- 1 %", NUMBER, "normal", (0.0, 0.01)),
        ("30 % +/- 2 %", NUMBER, "normal", (0.3, 0.02)),
        ("0.16 +/- 0.03", NUMBER, "normal", (0.16, 0.03)),
        (0.7, NUMBER, "fixed", (0.7,)),
        (3, NUMBER, "fixed", (3.0,)),
        ("2.5e-3", NUMBER, "fixed", (0.0025,)),
        ({"normal": ["1 m", "2 cm"]}, LENGTH, "normal", (1.0, 0.02)),
        ({"normal": ["15 degC", "2 degC"]}, TEMPERATURE, "normal", (288.15, 2.0)),
        ({"truncated_normal": ["1 m", "2 cm", "0.9 m", "1.1 m"]}, LENGTH, "truncated_normal",
         (1.0, 0.02, 0.9, 1.1)),
        ({"half_normal": "180 deg"}, ANGLE, "half_normal", (math.pi,)),
        ({"uniform": ["10 degC", "20 degC"]}, TEMPERATURE, "uniform", (283.15, 293.15)),
        ({"triangular": ["1 m", "2 m", "4 m"]}, LENGTH, "triangular", (1.0, 2.0, 4.0)),
        ({"lognormal": ["90 ms", "0.30"]}, TIME, "lognormal", (0.09, 0.3)),
        ({"lognormal": ["90 ms", 0.3]}, TIME, "lognormal", (0.09, 0.3)),
        ({"chance": 0.02}, NUMBER, "chance", (0.02,)),
        ({"chance": "2 %"}, NUMBER, "chance", (0.02,)),
        ({"sign": "2 m"}, LENGTH, "sign", (2.0,)),
        ({"empirical": ["3 m", "1 m", "2 m"]}, LENGTH, "empirical", (1.0, 2.0, 3.0)),
    ],
)  # fmt: skip
def test_read_amount__understands(raw, dimension, kind, parameters):
    if kind is None:
        with pytest.raises(AmountProblem):
            read_amount(raw, dimension)
        return
    law = read_amount(raw, dimension).law
    assert law.kind == kind
    assert law.parameters == pytest.approx(parameters, rel=1e-12, abs=1e-15)


def test_read_amount__choice_has_weights_that_add_up():
    law = read_amount({"choice": ["1 m", "2 m"], "weights": [1, 3]}, LENGTH).law
    assert law == Law("choice", (1.0, 2.0), (0.25, 0.75))
    assert read_amount({"choice": ["1 m", "2 m"]}, LENGTH).law.weights == (0.5, 0.5)


def test_read_amount__belief_beside_truth():
    raw = {"value": "1.32 kg +/- 8 g", "believed": "1.30 kg"}
    assert read_amount(raw, MASS) == Amount(Law("normal", (1.32, 0.008)), 1.32, 1.30)
    raw = {"value": {"uniform": ["1 kg", "2 kg"]}, "believed": "1.30 kg"}
    assert read_amount(raw, MASS) == Amount(Law("uniform", (1.0, 2.0)), 1.5, 1.30)


@pytest.mark.parametrize(
    "raw",
    [
        {"value": "1 kg", "believed": {"uniform": ["1 kg", "2 kg"]}},
        {"value": {"value": "1 kg", "believed": "1 kg"}, "believed": "1 kg"},
        {"value": "1 kg", "believed": "1 kg", "also": "1 kg"},
        {"believed": "1 kg"},
        {"weights": [1]},
        {"half_normal": ["1 kg"]},
        {"empirical": "1 kg"},
        {"choice": ["1 kg"], "weights": [0]},
        {"choice": ["1 kg"], "weights": "1"},
        {"sign": "-1 kg"},
        "1 kg +/- 2 kg +/- 3 kg",
        "+/- 3 kg",
        "kg",
        "",
        "1..2 kg",
        "one kg",
        None,
        float("inf"),
        ["1 kg"],
    ],
)
def test_read_amount__refuses(raw):
    with pytest.raises(AmountProblem) as caught:
        read_amount(raw, MASS)
    assert caught.value.found
    assert caught.value.right


@pytest.mark.parametrize(
    ("raw", "sign", "good"),
    [
        ("0 m", "positive", False),
        ("0 m", "non_negative", True),
        ("-1 mm", "non_negative", False),
        ({"uniform": ["0 m", "1 m"]}, "positive", True),
        ({"uniform": ["-1 mm", "1 m"]}, "positive", False),
        ({"half_normal": "1 m"}, "positive", True),
        ({"choice": ["0 m", "1 m"]}, "positive", False),
        ({"sign": "1 m"}, "non_negative", False),
        ({"truncated_normal": ["1 m", "1 m", "0 m", "9 m"]}, "positive", True),
        ("1 m +/- 25 cm", "positive", True),
        ("1 m +/- 26 cm", "positive", False),
        ("0.9 m +/- 0.05 m", "non_negative", True),
    ],
)
def test_read_amount__keeps_the_sign_of_a_key(raw, sign, good):
    if good:
        read_amount(raw, LENGTH, sign)
    else:
        with pytest.raises(AmountProblem, match="it must be"):
            read_amount(raw, LENGTH, sign)


def test_read_amount__share_is_between_0_and_1():
    read_amount({"chance": 0.5}, NUMBER, "share")
    read_amount("100 %", NUMBER, "share")
    with pytest.raises(AmountProblem, match="between 0 and 1"):
        read_amount("101 %", NUMBER, "share")


LAWS = st.one_of(
    st.builds(lambda m, s: Law("normal", (m, s)), st.floats(-9, 9), st.floats(0, 9)),
    st.builds(lambda s: Law("half_normal", (s,)), st.floats(0, 9)),
    st.builds(lambda a, w: Law("uniform", (a, a + w)), st.floats(-9, 9), st.floats(0.01, 9)),
    st.builds(lambda m, s: Law("lognormal", (m, s)), st.floats(0.01, 9), st.floats(0, 2)),
    st.builds(lambda s: Law("sign", (s,)), st.floats(0, 9)),
    st.builds(lambda v: Law("fixed", (v,)), st.floats(-1e9, 1e9)),
    st.builds(lambda v: Law("empirical", tuple(sorted(v))), st.lists(st.floats(-9, 9), min_size=1)),
)


@settings(deadline=None)
@given(LAWS, st.sampled_from(sorted(DIMENSIONS)))
def test_write_law__is_read_back_exactly(law, name):
    dimension = DIMENSIONS[name]
    assert read_amount(write_law(law, dimension.unit), dimension).law == law


def test_write_law__choice_and_chance():
    for law in (Law("choice", (1.0, 2.0), (0.25, 0.75)), Law("chance", (0.125,))):
        assert read_amount(write_law(law, "1"), NUMBER).law == law


@pytest.mark.parametrize("dimension", DIMENSIONS.values(), ids=lambda d: d.name)
def test_examples__in_messages_are_right(dimension):
    for example in dimension.examples:
        assert math.isfinite(read_quantity(example, dimension).value)
