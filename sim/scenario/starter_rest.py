"""The rest of a first scenario: legs, the field, what is on board, what counts as success."""

from __future__ import annotations

from collections.abc import Iterator

from sim.scenario.starter import Answers, shown
from sim.scenario.starter_text import Row
from sim.scenario.starter_vehicle import (
    ANY_SIDE,
    BENCH,
    CHOSEN,
    DRAWING,
    LIKE,
    SIDE,
    origin,
    spread_of,
)

QUALITY: dict[str, tuple[str, ...]] = {
    "consumer": ("0.8 deg/s", "0.007 deg/s/sqrt(Hz)", "8 deg/h", "0.3 %", "0.1 deg",
                 "0.02 deg/s/g", "0.004 deg/s/g2", "6 mg", "150 ug/sqrt(Hz)", "40 ug", "0.2 %",
                 "0.15 deg", "0.5 mg/g2"),
    "calibrated": ("0.4 deg/s", "0.005 deg/s/sqrt(Hz)", "5 deg/h", "0.1 %", "0.05 deg",
                   "0.01 deg/s/g", "0.002 deg/s/g2", "2 mg", "100 ug/sqrt(Hz)", "30 ug", "0.1 %",
                   "0.05 deg", "0.2 mg/g2"),
    "industrial": ("0.1 deg/s", "0.003 deg/s/sqrt(Hz)", "2 deg/h", "0.05 %", "0.02 deg",
                   "0.005 deg/s/g", "0.001 deg/s/g2", "1 mg", "60 ug/sqrt(Hz)", "15 ug", "0.05 %",
                   "0.02 deg", "0.1 mg/g2"),
}  # fmt: skip
"""Spreads of gyro and accelerometer by quality: from memory, ranges of data sheets."""

LEAST_SPRUNG = 1.95  # kg; a lighter vehicle rocks for long on springs that are softer still

_REST = "log an hour at rest"
_TUMBLE = "turn it to rest on all six faces and compare with gravity"
_SPUN = "turn it by known angles on a turntable"


def site_rows() -> Iterator[Row]:
    """Rows of [site]."""
    yield Row("site.latitude", "47 deg", "assumed", "map; it sets gravity")
    yield Row("site.elevation", "120 m", "assumed", "map")
    yield Row("site.temperature", "15 degC +/- 3 K", "assumed", "thermometer in the shade")
    yield Row(
        "site.pressure",
        "1000 hPa +/- 5 hPa",
        "assumed",
        "barometer on the field, not reduced to sea level",
    )


def leg_rows(a: Answers) -> Iterator[Row]:
    """Rows of [legs]; only the keys that the kind of strut needs."""
    length, mass, radius = a["length"].value, a["dry_mass"].value, a["diameter"].value / 2.0
    yield Row("legs.count", int(a["legs"].value), origin(a["legs"]))
    yield Row(
        "legs.foot_radius",
        shown(a["leg_span"].value / 2.0, "length"),
        f"{origin(a['leg_span'])}, half of {a['leg_span'].text}",
        "tape, legs open",
    )
    yield Row("legs.foot_station", shown(1.10 * length, "length"), LIKE, DRAWING)
    yield Row("legs.first_azimuth", f"{180.0 / a['legs'].value:g} deg", CHOSEN)
    yield Row("legs.folded_foot_radius", shown(1.6 * radius, "length", 2), LIKE, "tape")
    yield Row("legs.folded_foot_station", shown(0.80 * length, "length"), LIKE, DRAWING)
    yield Row("legs.delay", "0.25 s +/- 40 ms", "assumed", BENCH)
    yield Row(
        "legs.drag_area",
        f"{shown(0.04 * length * 2.0 * radius, 'area', 2)} +/- 20 %",
        LIKE,
        "1.2 times the area of all legs seen from below",
    )
    yield Row(
        "legs.mass_shift",
        shown(0.012 * length, "length", 2),
        LIKE,
        "balance on an edge with legs open, against legs folded",
    )
    yield Row("legs.kind", "hinged", CHOSEN)
    for key, value in (("hinge_station", 0.99 * length), ("hinge_radius", 1.05 * radius),
                       ("anchor_station", 0.84 * length),
                       ("anchor_radius", 1.05 * radius)):  # fmt: skip
        yield Row(f"legs.{key}", shown(value, "length"), LIKE, DRAWING)
    yield Row("legs.strut_place", "0.6", LIKE, DRAWING)
    yield Row(
        "legs.moving_mass",
        shown(0.018 * mass, "mass", 2),
        LIKE,
        "lay the foot of one leg on a scale, hinge held level",
    )
    yield from _strut_rows(a["strut"].text, origin(a["strut"]), length, mass)
    yield Row("legs.foot", "rubber", CHOSEN)
    yield Row(
        "legs.strut_strength",
        shown(128.0 * mass, "force", 2),
        LIKE,
        "load a spare leg until it gives, and write less",
    )
    yield Row("legs.rated_speed", "2.5 m/s", CHOSEN, "drop tests from 0.3 m")
    yield Row("legs.airframe_limit", "60 g", "assumed", "drop tests with a load on board")


def _strut_rows(kind: str, source: str, length: float, mass: float) -> Iterator[Row]:
    yield Row("legs.strut", kind, source)
    if kind == "rigid":
        return
    yield Row("legs.stroke", shown(0.040 * length, "length", 2), LIKE, "ruler")
    mass = max(mass, LEAST_SPRUNG)
    press = "press one strut on a scale, millimetre by millimetre"
    if kind == "spring":
        yield Row("legs.preload", shown(3.0 * mass, "force", 2), LIKE, press)
        yield Row("legs.stiffness", f"{shown(770.0 * mass, 'stiffness', 2)} +/- 5 %", LIKE, press)
        yield Row(
            "legs.damping",
            f"{shown(31.0 * mass, 'damping', 2)} +/- 15 %",
            LIKE,
            "video of a drop: how much of the bounce comes back",
        )
    elif kind == "gas":
        yield Row("legs.gas_length", shown(0.055 * length, "length", 2), LIKE, "ruler")
        yield Row("legs.bore", shown(0.020 * length, "length", 2), LIKE, "calliper")
        yield Row("legs.orifice", shown(0.002 * length, "length", 2), LIKE, "drill gauge")
    elif kind == "crush":
        yield Row("legs.crush_force", shown(20.0 * mass, "force", 2), LIKE, press)
    else:
        yield Row("legs.slide_force", shown(10.0 * mass, "force", 2), LIKE, press)
        yield Row("legs.break_force", shown(13.0 * mass, "force", 2), LIKE, press)


def field_rows(a: Answers) -> Iterator[Row]:
    """Rows of [wind], [launch_pad], [landing_pad] and [surface]."""
    yield Row("wind.speed", spread_of(a["wind"], "+/- 30 %"),
              origin(a["wind"]) + "; a spread of 30 % is assumed unless one was given",
              "anemometer held at a known height, mean of 2 minutes")  # fmt: skip
    yield Row("wind.direction", ANY_SIDE, "assumed, not known beforehand", "vane, or a ribbon")
    yield Row(
        "wind.reference_height",
        "10 m",
        CHOSEN,
        "height of the anemometer, if the speed was read on the field",
    )
    yield Row("wind.law", "power", CHOSEN)
    yield Row(
        "wind.exponent",
        "0.16 +/- 0.03",
        "assumed; grass 0.15, low crops 0.20",
        "two anemometers at two heights",
    )
    yield Row("wind.turbulence", "dryden", CHOSEN)
    yield Row(
        "launch_pad.tilt",
        {"half_normal": a["tilt"].text},
        origin(a["tilt"]),
        "digital level along the body, in two directions",
    )
    yield Row("launch_pad.tilt_direction", ANY_SIDE, SIDE)
    yield Row("launch_pad.height", "0.15 m", "assumed", "tape, from the ground to the tail")
    yield Row(
        "launch_pad.tip_off_rate",
        {"half_normal": "1.5 deg/s"},
        "assumed",
        "video of a launch, side on",
    )
    yield Row("launch_pad.tip_off_clocking", ANY_SIDE, SIDE)
    yield Row("landing_pad.east", "4 m", "chosen, clear of the launch pad")
    yield Row("landing_pad.north", "0 m", CHOSEN)
    yield Row("landing_pad.radius", "5 m", CHOSEN)
    yield Row("surface.kind", "short_grass", "assumed")
    yield Row("surface.slope", {"half_normal": "1.5 deg"}, "assumed", "digital level on a board")
    yield Row("surface.slope_direction", ANY_SIDE, SIDE)


def inertial_rows(a: Answers) -> Iterator[Row]:
    """Rows of the inertial unit and its alignment."""
    kind = a["inertial"].text
    (bias, noise, drift, scale, skew, by_g, by_shake, level, hiss, creep, slope, lean,
     lift) = QUALITY[kind]  # fmt: skip
    source = f"{origin(a['inertial'])}: a {kind} unit, figures from memory"
    length = a["length"].value
    yield Row("inertial.station", shown(0.35 * length, "length"), LIKE, DRAWING)
    yield Row("inertial.offset_y", shown(0.16 * a["diameter"].value, "length", 2), LIKE, "ruler")
    yield Row("inertial.rate", "200 Hz", "chosen, a setting of the unit")
    for key, value, how in (
        ("gyro.bias", f"0 deg/s +/- {bias}", "switch it on ten times at rest"),
        ("gyro.noise", noise, _REST), ("gyro.instability", drift, _REST),
        ("gyro.scale_factor", f"0 +/- {scale}", _SPUN),
        ("gyro.misalignment", f"0 deg +/- {skew}", _SPUN),
        ("gyro.g_sensitivity", f"0 deg/s/g +/- {by_g}", _TUMBLE),
        ("gyro.vibration_rectification", f"0 deg/s/g2 +/- {by_shake}", "log a static firing"),
        ("accelerometer.bias", f"0 mg +/- {level}", _TUMBLE), ("accelerometer.noise", hiss, _REST),
        ("accelerometer.instability", creep, _REST),
        ("accelerometer.scale_factor", f"0 +/- {slope}", _TUMBLE),
        ("accelerometer.misalignment", f"0 deg +/- {lean}", _TUMBLE),
        ("accelerometer.vibration_rectification", f"0 mg/g2 +/- {lift}", "log a static firing"),
    ):  # fmt: skip
        yield Row(f"inertial.{key}", value, source, how)
    yield Row("inertial.vibration.level", "1.0 g +/- 20 %", "assumed", "log a static firing")
    yield Row("alignment.attitude", "levelled", CHOSEN)
    yield Row("alignment.zeroing", "nose_axis", CHOSEN)
    yield Row("alignment.wait", "10 s", CHOSEN)
    yield Row(
        "alignment.heading_error",
        "0 deg +/- 2 deg",
        "assumed, compass and eye",
        "sight along two marks on the body, several times",
    )


def computer_rows(
    length: float, climb_end: float, coast_time: float, drift_time: float
) -> Iterator[Row]:
    """Rows of [flight_computer].

    Parameters
    ----------
    length : float [m]
        Of the vehicle.
    climb_end, coast_time, drift_time : float [s]
        From a trial flight straight up and down.
    """
    trial = "estimated from a flight straight up and down in still air"
    fly = "fly the nominal flight and see how far off the mark it comes down"
    yield Row("flight_computer.climb", "aimed", CHOSEN)
    yield Row("flight_computer.climb_tilt", "7 deg", CHOSEN)
    yield Row("flight_computer.climb_tilt_start", "0.3 s", CHOSEN)
    yield Row(
        "flight_computer.climb_tilt_end",
        shown(climb_end, "time", 2),
        "chosen, near burn-out of the ascent motor",
    )
    yield Row("flight_computer.coast_time", shown(coast_time, "time", 2), trial, fly)
    yield Row("flight_computer.wind_drift", shown(drift_time, "time", 2), trial, fly)
    yield Row("flight_computer.guidance_tilt", f"{min(12.0, 12.0 / length):.1f} deg",
              "chosen, less for a tall vehicle, which turns slowly")  # fmt: skip
    for key, value in (
        ("lift_off_threshold", "1.5 g"), ("bandwidth", "7 rad/s"), ("damping", "0.8"),
        ("integral", "0.8 1/s"), ("roll_bandwidth", "5 rad/s"), ("wheel_bandwidth", "3 rad/s"),
        ("separation_after_burn_out", "0.15 s"), ("petals_at", "apogee"),
        ("legs_after_ignition", "0.2 s"), ("ignition", "table"), ("ignition_margin", "0.5 m"),
        ("touchdown_sink_rate", "0.6 m/s"), ("sink_gain", "3 1/s"),
        ("guidance_freeze", "0.8 s"), ("control_rate", "200 Hz"),
    ):  # fmt: skip
        yield Row(f"flight_computer.{key}", value, CHOSEN)
