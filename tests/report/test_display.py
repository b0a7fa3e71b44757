import math
import re
from pathlib import Path

import pytest

from sim.report.display import amount, bounds, fixed, in_unit, percent, plain, signed, unit_for


@pytest.mark.parametrize(
    ("name", "value", "unit", "shown"),
    [
        ("vehicle.diameter", 0.076, "m", "76 mm"),
        ("vehicle.length", 1.0, "m", "1 m"),
        ("vehicle.dry_mass", 1.26, "kg", "1.26 kg"),
        ("stage.mass", 0.24, "kg", "240 g"),
        ("launch_pad.tilt", math.radians(0.3), "rad", "0.3 deg"),
        ("flight_computer.bandwidth", 7.0, "rad/s", "7 rad/s"),
        ("inertial.gyro.range", math.radians(2000.0), "rad/s", "2000 deg/s"),
        ("site.temperature", 288.15, "K", "15 degC"),
        ("inertial.accelerometer.bias.x", 6e-3 * 9.80665, "m/s2", "6 mg"),
        ("flight_computer.lift_off_threshold", 1.5 * 9.80665, "m/s2", "1.5 g"),
        ("inertial.accelerometer.noise", 150e-6 * 9.80665, "m/s2/sqrt(Hz)", "150 ug/sqrt(Hz)"),
        ("throttle.lag", 0.04, "s", "40 ms"),
        ("throttle.authority", 0.35, "1", "0.35"),
    ],
)
def test_amount__in_the_unit_that_suits(name, value, unit, shown):
    assert amount(value, unit, unit_for(name, unit, value)) == shown


def test_amount__a_spread_of_temperature_is_a_difference():
    assert amount(3.0, "K", "degC", difference=True) == "3 K"


def test_in_unit__decibels_of_a_gain():
    assert in_unit(2.0, "1", "dB") == pytest.approx(6.0206, abs=1e-4)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (-0.0, "0"), (1234567.0, "1.235e+06"), (0.1 + 0.2, "0.3"), (math.inf, "none"),
     (math.nan, "-"), (1e-6, "1.000e-06"), (100.0, "100")],
)  # fmt: skip
def test_plain__few_digits(value, text):
    assert plain(value) == text


def test_percent__no_minus_zero():
    assert percent(-1e-5) == "0.0 %"


def test_bounds__infinity_is_no_bound():
    assert bounds(1.0, math.inf) == "1.00 to no bound"


def test_fixed__no_minus_where_it_rounds_to_zero():
    assert [fixed(x) for x in (-0.0, -0.0049, -0.0051, 0.004)] == ["0.00", "0.00", "-0.01", "0.00"]
    assert fixed(-0.4e-3, 0, 1e3) == "0"
    assert bounds(-0.004, 0.004) == "0.00 to 0.00"


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(0.0, 2, "0.00"), (-0.0, 2, "0.00"), (-0.004, 2, "0.00"), (0.004, 2, "0.00"),
     (-0.3, 0, "0"), (0.01, 2, "+0.01"), (-0.01, 2, "-0.01"), (10.0, 1, "+10.0"),
     (100.0, 0, "+100"), (-2.5, 1, "-2.5")],
)  # fmt: skip
def test_signed__zero_has_no_sign(value, digits, text):
    assert signed(value, digits) == text


def test_signs__are_written_in_one_place():
    """A format with a sign of its own would bring "-0.00" back."""
    rooms = [Path(__file__).parents[2] / "sim" / name for name in ("report", "cli")]
    own = [
        path.name for room in rooms for path in room.rglob("*.py")
        if path.name != "display.py" and re.search(r":\+[^\"']*f\}", path.read_text("utf-8"))
    ]  # fmt: skip
    assert own == []
