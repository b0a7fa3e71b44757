"""A whole vehicle from a few answers: what is not asked follows the proportions of one that lands.

The shares below are those of the invented demonstration vehicle. They are a start, not a design:
every number made from them is marked as assumed, with how to measure it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sim.scenario.starter import EXHAUST_SPEED, NO_THROTTLE, Answer, Answers, shown
from sim.scenario.starter_text import Row

ANY_SIDE = {"uniform": ["0 deg", "360 deg"]}
LIKE = "assumed, in proportion to the demonstration vehicle"
SIDE = "chosen, no side is preferred"
CHOSEN = "chosen"
DRAWING = "on the drawing, or with a tape from the tip of the nose"
BENCH = "high-speed video on the bench, ten times, mean and spread"
SWING = (
    "swing test: hang it by two parallel threads of length h, d apart, and let it twist about the "
    "vertical through its cg; inertia = mass g d^2 T^2 / (16 pi^2 h) with the period T"
)


@dataclass(frozen=True)
class MotorTotals:
    """What is known of a motor.

    Parameters
    ----------
    curve : str or list of rows
        As the scenario names it: a file, or the rows themselves.
    impulse, burn_time : float [N s], [s]
    origin : str
        Of the curve.
    """

    curve: str | list[list[float]]
    impulse: float
    burn_time: float
    origin: str

    @property
    def propellant(self) -> float:
        """Mass [kg] that such an impulse usually takes."""
        return self.impulse / EXHAUST_SPEED


def origin(answer: Answer) -> str:
    """Say where an answer comes from."""
    return "given" if answer.given else "assumed, the default answer"


def spread_of(answer: Answer, spread: str) -> str:
    """Text of an answer, with a spread unless it has one."""
    has_one = "+/-" in answer.text or "±" in answer.text or answer.value == 0.0
    return answer.text if has_one else f"{answer.text} {spread}"


def vehicle_rows(a: Answers) -> Iterator[Row]:
    """Rows of [vehicle], [stage], [fins], [petals] and [aerodynamics]."""
    length, diameter, mass = (a[name].value for name in ("length", "diameter", "dry_mass"))
    yield Row("vehicle.length", a["length"].text, origin(a["length"]), "tape")
    yield Row("vehicle.diameter", a["diameter"].text, origin(a["diameter"]), "calliper")
    yield Row("vehicle.nose_length", shown(0.20 * length, "length"), LIKE, "tape")
    yield Row("vehicle.dry_mass", spread_of(a["dry_mass"], "+/- 0.5 %"),
              origin(a["dry_mass"]) + "; a spread of 0.5 % is assumed unless one was given",
              "kitchen scale, without propellant, without the ascent stage")  # fmt: skip
    yield Row(
        "vehicle.cg",
        f"{shown(0.56 * length, 'length')} +/- 3 mm",
        LIKE,
        "balance it on an edge, without propellant, legs folded; behind the tip of the nose",
    )
    yield Row(
        "vehicle.cg_offset",
        {"half_normal": "0.7 mm"},
        "assumed",
        "let it roll in a V of two rails; the heavy side goes down",
    )
    yield Row("vehicle.cg_offset_clocking", ANY_SIDE, SIDE)
    axial, cross = 0.75 * mass * (diameter / 2.0) ** 2, 0.077 * mass * length**2
    yield Row(
        "vehicle.axial_inertia",
        f"{shown(axial, 'inertia')} +/- 5 %",
        LIKE,
        "the swing test, hung nose up, about the long axis",
    )
    yield Row("vehicle.transverse_inertia", f"{shown(cross, 'inertia')} +/- 3 %", LIKE, SWING)
    yield Row(
        "vehicle.product_inertia",
        f"0 kg m2 +/- {shown(0.0013 * cross, 'inertia')}",
        "assumed, hardly to be measured",
    )
    yield from _stage_rows(a)
    span = 0.55 * diameter
    for key, value in (
        ("count", 4), ("span", shown(span, "length", 2)),
        ("root_chord", shown(0.11 * length, "length", 2)),
        ("tip_chord", shown(0.06 * length, "length", 2)),
        ("sweep", shown(0.05 * length, "length", 2)),
        ("station", shown(0.87 * length, "length")),
    ):  # fmt: skip
        yield Row(f"fins.{key}", value, LIKE, "" if key == "count" else "ruler")
    yield Row("petals.drag_area", f"{shown(0.42 * length * diameter, 'area', 2)} +/- 10 %", LIKE,
              "pull the model through still air, or 1.2 times the area of the petals seen from "
              "behind")  # fmt: skip
    yield Row("petals.station", shown(0.10 * length, "length"), LIKE, DRAWING)
    yield Row("petals.delay", "0.12 s +/- 20 ms", "assumed", BENCH)
    for key, value in (("axial_factor", "1 +/- 10 %"), ("normal_factor", "1 +/- 10 %")):
        yield Row(
            f"aerodynamics.{key}",
            value,
            "assumed, hand methods against wind tunnels",
            "compare flights with what was predicted",
        )
    yield Row("aerodynamics.centre_of_pressure_shift",
              f"0 mm +/- {shown(0.13 * diameter, 'length', 2)}",
              "assumed, about a tenth of a diameter")  # fmt: skip
    yield Row("aerodynamics.ground_effect", "0 +/- 3 %", "assumed")


def _stage_rows(a: Answers) -> Iterator[Row]:
    length, diameter, mass = a["length"].value, a["diameter"].value, a["stage_mass"].value
    yield Row(
        "stage.mass",
        spread_of(a["stage_mass"], "+/- 1 %"),
        origin(a["stage_mass"]),
        "scale, with the empty motor case",
    )
    yield Row(
        "stage.cg",
        shown(1.10 * length, "length"),
        LIKE,
        "balance it on an edge; from the tip of the nose of the whole stack",
    )
    yield Row(
        "stage.axial_inertia",
        shown(0.46 * mass * (diameter / 2) ** 2, "inertia"),
        LIKE,
        "as for the vehicle",
    )
    yield Row(
        "stage.transverse_inertia",
        shown(0.003 * mass * length**2, "inertia"),
        LIKE,
        "as for the vehicle",
    )
    yield Row("stage.end", shown(1.22 * length, "length"), LIKE, DRAWING)
    yield Row(
        "stage.drag_area",
        f"{shown(0.08 * length * diameter, 'area', 2)} +/- 20 %",
        "assumed, a tumbling cylinder",
    )
    yield Row("stage.delay", "60 ms +/- 15 ms", "assumed", BENCH)
    push = 0.4 * mass
    yield Row(
        "stage.impulse",
        f"{shown(push, 'impulse', 2)} +/- {shown(push / 6, 'impulse', 1)}",
        "assumed, a spring that parts the two at some 0.4 m/s",
        "video of the parting",
    )
    yield Row("stage.side_rate", {"half_normal": "4 deg/s"}, "assumed", BENCH)
    yield Row("stage.side_rate_clocking", ANY_SIDE, SIDE)


def motor_rows(a: Answers, motors: dict[str, MotorTotals]) -> Iterator[Row]:
    """Rows of both motors, their gimbals, the throttle and the wheels."""
    length, mass = a["length"].value, a["dry_mass"].value
    places = {"ascent": (1.13, 1.22), "landing": (0.93, 1.00)}
    for which, motor in motors.items():
        grain, nozzle = places[which]
        part = f"{which}_motor"
        yield Row(
            f"{part}.curve",
            motor.curve,
            motor.origin,
            "static test, load cell read 200 times a second or more",
        )
        yield Row(f"{part}.propellant_mass", f"{shown(motor.propellant, 'mass')} +/- 1.2 %",
                  f"assumed, total impulse over {EXHAUST_SPEED:g} m/s, from memory",
                  "the label, or weigh the motor before and after")  # fmt: skip
        yield Row(f"{part}.propellant_cg", shown(grain * length, "length"), LIKE, DRAWING)
        yield Row(f"{part}.nozzle", shown(nozzle * length, "length"), LIKE, DRAWING)
        for key, value, source, how in _SCATTER:
            yield Row(f"{part}.{key}", value, source, how)
    for which, pivot, arm in (("ascent", 1.06, 0.07), ("landing", 0.88, 0.06)):
        part = f"{which}_gimbal"
        yield Row(f"{part}.pivot", shown(pivot * length, "length"), LIKE, DRAWING)
        for key, value, source, how in _SERVO:
            yield Row(f"{part}.{key}", value, source, how)
        yield Row(
            f"{part}.swinging_mass",
            shown(0.05 * mass, "mass", 2),
            LIKE,
            "scale: motor with half its propellant, and what turns with it",
        )
        yield Row(f"{part}.swinging_arm", shown(arm * length, "length", 2), LIKE, DRAWING)
    if a["throttle"].text != NO_THROTTLE:
        yield Row(
            "throttle.authority",
            a["throttle"].text,
            origin(a["throttle"]),
            "static firing with the plates dipped in",
        )
        for key, value in (("lag", "40 ms"), ("gain", "1 +/- 8 %"), ("wander", "2 %"),
                           ("wander_time", "0.3 s"), ("side_force", "0 +/- 0.3 %")):  # fmt: skip
            yield Row(f"throttle.{key}", value, "assumed", "static firings, plates moving")
    wheel = 0.4 * 0.077 * mass * length**2
    yield Row("wheels.axes", "all", CHOSEN)
    yield Row("wheels.torque", shown(wheel, "torque", 2), LIKE, "data sheet of the wheel motors")
    yield Row(
        "wheels.momentum",
        shown(wheel, "angular momentum", 2),
        LIKE,
        "inertia of a wheel times its highest speed",
    )


_SCATTER = (
    ("impulse_factor", "1 +/- 2 %", "assumed; certified batches scatter so, from memory",
     "fire five of a lot"),
    ("burn_time_factor", "1 +/- 3 %", "assumed; certified batches scatter so, from memory",
     "fire five of a lot"),
    ("label_bias", "0 +/- 1 %", "assumed; a measured set can differ more",
     "fire five of the lot that flies"),
    ("ignition_delay", {"lognormal": ["90 ms", "0.30"]}, "assumed; dipped igniters, from memory",
     "fire ten igniters in spent cases, from current to first thrust: median, spread of the log"),
    ("grain_temperature", "15 degC +/- 4 K", "assumed",
     "thermometer among the motors, an hour in the shade"),
    ("misalignment", {"half_normal": "0.25 deg"}, "assumed; small motors, from memory",
     "side force on the test stand"),
    ("misalignment_clocking", ANY_SIDE, SIDE, ""),
    ("offset", {"half_normal": "0.4 mm"}, "assumed; small motors, from memory",
     "calliper at the nozzle while the mount is turned"),
    ("offset_clocking", ANY_SIDE, SIDE, ""),
)  # fmt: skip

_SERVO = (
    ("travel", "6 deg", "assumed", "protractor at the mechanical stop"),
    ("rate", "250 deg/s", "assumed, a small servo", "data sheet, or video of a full swing"),
    ("natural_frequency", "80 rad/s", "assumed, a small servo", "step response on the bench"),
    ("damping", "0.7", "assumed, a small servo", "step response on the bench"),
    ("zero_offset", "0 deg +/- 0.15 deg", "assumed, set by eye against a mark",
     "sight along the motor at rest"),
    ("backlash", "0.15 deg", "assumed", "dial gauge at the nozzle, pushed to and fro"),
    ("resolution", "0.05 deg", "assumed, pulse width of a small servo", "data sheet"),
    ("delay", "5 ms", "assumed, one frame of a small servo", "step response on the bench"),
)  # fmt: skip
