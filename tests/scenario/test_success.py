"""The success predicate."""

import numpy as np
import pytest

from sim.scenario.amounts import AmountProblem
from sim.scenario.success import FLAGS, VARIABLES, WORDS, read_limit


@pytest.mark.parametrize(
    ("text", "low", "high", "low_included", "high_included"),
    [
        ("< 2.5 m/s", None, 2.5, True, False),
        ("<=2.5 m/s", None, 2.5, True, True),
        ("> 0.5 m/s", 0.5, None, False, True),
        (">= 0.5 m/s", 0.5, None, True, True),
        ("0.5..2.5 m/s", 0.5, 2.5, True, True),
        ("0.5 .. 2.5 m/s", 0.5, 2.5, True, True),
        ("50 cm/s .. 2.5 m/s", 0.5, 2.5, True, True),
        ("1e-1..1e0 m/s", 0.1, 1.0, True, True),
        ("< 9 km/h", None, 2.5, True, False),
    ],
)
def test_read_limit__grammar(text, low, high, low_included, high_included):
    limit = read_limit("touchdown_speed", text)
    assert limit.low == (None if low is None else pytest.approx(low))
    assert limit.high == (None if high is None else pytest.approx(high))
    assert (limit.low_included, limit.high_included) == (low_included, high_included)
    assert limit.text == text


def test_read_limit__plain_number_range():
    limit = read_limit("burn_left_at_contact", "0..20 %")
    assert (limit.low, limit.high) == (0.0, 0.2)
    assert read_limit("thrust_to_weight_at_contact", "> 1.1").low == 1.1


@pytest.mark.parametrize("text", ["2 m/s", "about 2 m/s", "<", "1..", "..2 m/s", "1..2..3 m/s", ""])
def test_read_limit__refuses(text):
    with pytest.raises(AmountProblem):
        read_limit("touchdown_speed", text)


def test_holds__bounds_are_in_or_out_as_written():
    values = np.array([1.0, 2.0, 3.0, np.nan])
    assert read_limit("tilt", "< 2 rad").holds(values).tolist() == [True, False, False, False]
    assert read_limit("tilt", "<= 2 rad").holds(values).tolist() == [True, True, False, False]
    assert read_limit("tilt", "> 2 rad").holds(values).tolist() == [False, False, True, False]
    assert read_limit("tilt", "2..3 rad").holds(values).tolist() == [False, True, True, False]


def test_holds__flags_and_words():
    inside = read_limit("inside_landing_pad", True)
    assert inside.holds(np.array([True, False])).tolist() == [True, False]
    assert inside.holds(np.array([1, 0], dtype=np.int8)).tolist() == [True, False]
    contact = read_limit("first_contact", "foot")
    assert contact.holds(np.array(["foot", "nose"])).tolist() == [True, False]


@pytest.mark.parametrize("variable", [*VARIABLES, *FLAGS, *WORDS])
def test_read_limit__near_misses_are_understood(variable):
    with pytest.raises(AmountProblem) as caught:
        read_limit(variable + "_", "< 1")
    assert variable in caught.value.right


def test_read_limit__sink_rate_may_be_negative_but_speed_not():
    assert read_limit("sink_rate", "> -0.5 m/s").low == -0.5
    with pytest.raises(AmountProblem, match="never hold"):
        read_limit("lateral_speed", "< 0 m/s")
    assert read_limit("lateral_speed", "<= 0 m/s").high == 0.0
