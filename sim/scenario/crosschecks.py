"""Checks that concern more than one key."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import degrees, pi

from sim.scenario.numbers import Number
from sim.scenario.success import Limit


@dataclass(frozen=True)
class View:
    """What the checks look at; a number or choice with a mistake of its own is not in it."""

    numbers: Mapping[str, Number]
    choices: Mapping[str, str | int | bool]
    curves: Mapping[str, object]
    parts: frozenset[str]
    success: tuple[Limit, ...]

    def known(self, *names: str) -> bool:
        """Whether all these numbers could be read."""
        return all(name in self.numbers for name in names)

    def value(self, name: str) -> float:
        """Nominal value, SI."""
        return self.numbers[name].value

    def given(self, name: str) -> bool:
        """Whether the scenario gives the number."""
        return name in self.numbers and self.numbers[name].given


STEEPEST = pi / 4.0  # rad, of ground on which a touchdown is a question

Finding = tuple[str, str, str]
"""Key, what was found, what would be right."""


def crosschecks(view: View) -> Iterator[Finding]:
    """All mistakes that need more than one key to be seen."""
    for check in _CHECKS:
        yield from check(view)


def _company(view: View) -> Iterator[Finding]:
    """Parts that make sense only beside another."""
    needs = {
        "stage": "ascent_motor",
        "swap": "stage",
        "ascent_gimbal": "ascent_motor",
        "landing_gimbal": "landing_motor",
        "throttle": "landing_motor",
    }
    for part, other in needs.items():
        if part in view.parts and other not in view.parts:
            yield part, f"[{part}] without [{other}]", f"add [{other}], or take [{part}] out"


def _swap(view: View) -> Iterator[Finding]:
    """One mount, and a landing motor that has to be carried inside the vehicle."""
    if "swap" not in view.parts or view.choices.get("swap.kind") != "slide":
        return
    if "landing_motor" not in view.parts:
        yield "swap", "[swap] without [landing_motor]", "add [landing_motor], or take [swap] out"
    if "landing_gimbal" in view.parts:
        yield (
            "landing_gimbal", "beside [swap]",
            "one mount steers both motors: give [ascent_gimbal] alone",
        )  # fmt: skip
    names = ("swap.case_mass", "vehicle.dry_mass")
    if view.known(*names) and view.value(names[0]) >= view.value(names[1]):
        case, dry = map(view.value, names)
        yield names[0], f"{case:g} kg of {dry:g} kg", "the case is a part of vehicle.dry_mass"
    names = ("swap.travel", "swap.case_cg")
    if view.known(*names) and view.value(names[0]) >= view.value(names[1]):
        travel, cg = map(view.value, names)
        yield names[0], f"{travel:g} m, the case's cg at {cg:g} m", "carry it behind the nose"


def _hold(view: View) -> Iterator[Finding]:
    """On the launch pad the igniter of a motor that slides is an open circuit."""
    slides = "swap" in view.parts and view.choices.get("swap.kind") == "slide"
    if slides and view.choices.get("flight_computer.hold") is True:
        yield (
            "flight_computer.hold", "true, beside [swap]",
            "its landing igniter has no contact on the launch pad: write false",
        )  # fmt: skip


def _divert(view: View) -> Iterator[Finding]:
    if view.choices.get("flight_computer.surplus") not in ("divert", "divert_open_loop"):
        return
    key = "flight_computer.divert_tilt"
    if view.known(key) and view.value(key) > 0.7854:  # 45 deg
        yield key, f"{view.value(key) / 0.0174533:.3g} deg", "write 45 deg or less"


def _legs(view: View) -> Iterator[Finding]:
    if "legs" not in view.parts:
        return
    count = view.choices.get("legs.count")
    if isinstance(count, int) and count < 3:
        yield "legs.count", f"{count} legs", "write 3 or more"
    names = ("legs.foot_station", "landing_motor.nozzle")
    if "landing_motor" in view.parts and view.known(*names):
        foot, nozzle = map(view.value, names)
        if foot <= nozzle:
            yield (
                names[0], f"open feet at {foot:g} m, the nozzle at {nozzle:g} m from the nose",
                "the feet must reach below landing_motor.nozzle",
            )  # fmt: skip


def _struts(view: View) -> Iterator[Finding]:
    """Struts and feet that cannot be built."""
    if "legs" not in view.parts:
        return
    count = view.choices.get("legs.count")
    if isinstance(count, int) and count > 6:
        yield "legs.count", f"{count} legs", "write 6 or fewer"
    first, second = (view.choices.get(f"legs.{key}") for key in ("strut", "second_strut"))
    kinds = (first, second)
    if second is not None and second != "none" and first in ("rigid", second):
        yield (
            "legs.second_strut", f'"{second}" in series with strut = "{first}"',
            "make the two of different kinds, or take second_strut out",
        )  # fmt: skip
    stroke = "legs.second_stroke" if second == "gas" else "legs.stroke"
    pairs = (
        ("legs.orifice", "legs.bore", "the bore is {:g} m: the orifice must be smaller"),
        (stroke, "legs.gas_length", "the column of air is {:g} m: the stroke must be shorter"),
    )
    for inner, outer, right in pairs:
        if "gas" in kinds and view.known(inner, outer) and view.value(inner) >= view.value(outer):
            yield inner, f"{view.value(inner):g} m", right.format(view.value(outer))
    names = ("surface.friction_kinetic", "surface.friction_static")
    if view.known(*names) and view.value(names[0]) > view.value(names[1]):
        yield names[0], f"{view.value(names[0]):g}", "sliding friction must not exceed static"
    names = ("legs.slide_force", "legs.break_force")
    if "friction" in kinds and view.known(*names) and view.value(names[0]) > view.value(names[1]):
        yield names[1], f"{view.value(names[1]):g} N", "breakaway must not be below sliding"
    yield from _leg_room(view)
    yield from _strut_room(view)


def _leg_room(view: View) -> Iterator[Finding]:
    """A leg that gives way, but could not carry."""
    if view.choices.get("legs.strut") == "rigid":
        return
    names = ("legs.hinge_station", "legs.foot_station")
    if view.given(names[0]) and view.known(*names):
        hinge, foot = map(view.value, names)
        if hinge >= foot:
            yield names[0], f"{hinge:g} m", f"the hinge must lie ahead of the feet, {foot:g} m"
    name = "legs.strut_place"
    hinged = view.choices.get("legs.kind") == "hinged"
    if hinged and view.known(name) and view.value(name) == 0.0:
        yield name, "0", "at the hinge a strut holds nothing: write more than 0, up to 1"


def _surface(view: View) -> Iterator[Finding]:
    name = "surface.slope"
    if view.known(name) and view.value(name) >= STEEPEST:
        yield name, f"{degrees(view.value(name)):g} deg", "write less than 45 deg"


def _strut_room(view: View) -> Iterator[Finding]:
    """A strut longer than its stroke; only a hinged leg gives its length."""
    names = tuple(f"legs.{key}" for key in (
        "hinge_station", "hinge_radius", "foot_station", "foot_radius", "anchor_station",
        "anchor_radius", "strut_place", "stroke",
    ))  # fmt: skip
    if not view.known(*names):
        return
    hinge, hinge_out, foot, foot_out, anchor, anchor_out, share, stroke = map(view.value, names)
    length = ((hinge + share * (foot - hinge) - anchor) ** 2
              + (hinge_out + share * (foot_out - hinge_out) - anchor_out) ** 2) ** 0.5  # fmt: skip
    if view.choices.get("legs.kind") == "telescoping":
        length = ((foot - hinge) ** 2 + (foot_out - hinge_out) ** 2) ** 0.5
    if view.choices.get("legs.strut") != "rigid" and stroke >= length:
        yield "legs.stroke", f"{stroke:g} m", f"the strut is {length:.3g} m long: write less"


def _counts(view: View) -> Iterator[Finding]:
    for key in ("flight.steps_per_tick", "flight_computer.lift_off_samples"):
        count = view.choices.get(key)
        if isinstance(count, int) and count < 1:
            yield key, str(count), "write 1 or more"


def _tables(view: View) -> Iterator[Finding]:
    for law, word, table in (
        ("wind.law", "profile", "wind.profile"),
        ("aerodynamics.law", "table", "aerodynamics.table"),
    ):
        if view.choices.get(law) == word and table not in view.curves:
            yield law, f'"{word}" without {table}', f'add {table.split(".")[1]} = "FILE.csv"'
    names = ("wind.reference_height", "wind.roughness")
    if view.choices.get("wind.law") == "log" and view.known(*names):
        height, roughness = map(view.value, names)
        if height <= roughness:
            yield names[0], f"{height:g} m", f"it must be above wind.roughness, {roughness:g} m"


def _ignition(view: View) -> Iterator[Finding]:
    way = view.choices.get("flight_computer.ignition")
    key = f"flight_computer.ignition_{way}"
    if way in ("height", "time") and view.known(key) and not view.given(key):
        yield "flight_computer.ignition", f'"{way}" without ignition_{way}', f"add ignition_{way}"


def _programme(view: View) -> Iterator[Finding]:
    names = ("flight_computer.climb_tilt_start", "flight_computer.climb_tilt_end")
    if view.known(*names):
        start, end = map(view.value, names)
        if end <= start:
            yield names[1], f"{end:g} s", f"it must be after climb_tilt_start, {start:g} s"


def _tick(view: View) -> Iterator[Finding]:
    names = ("flight.tick", "flight_computer.control_rate")
    if view.given(names[0]) and view.given(names[1]):
        tick, rate = map(view.value, names)
        if abs(tick * rate - 1) > 1e-9:
            yield (
                names[0], f"a tick of {tick:g} s at a control rate of {rate:g} Hz",
                "give one of the two, or make one the inverse of the other",
            )  # fmt: skip


def _fixes(view: View) -> Iterator[Finding]:
    """Fixes that come so late that the receiver or the flight computer has lost them."""
    names = ("gnss.latency", "gnss.rate")
    if "gnss" in view.parts and view.known(*names):
        latency, rate = map(view.value, names)
        if latency > 0.25 or latency * rate >= 2.0:
            yield (
                names[0], f"{latency:g} s at {rate:g} fixes a second",
                "the computer keeps 0.25 s, and two fixes at most may be under way",
            )  # fmt: skip


def _body(view: View) -> Iterator[Finding]:
    names = ("vehicle.length", "vehicle.nose_length", "vehicle.cg")
    if view.known(*names):
        length, nose, cg = map(view.value, names)
        if nose > length:
            yield names[1], f"{nose:g} m", f"it must not be longer than the vehicle, {length:g} m"
        if not 0 < cg < length:
            yield names[2], f"{cg:g} m", f"it must lie inside the vehicle, 0 to {length:g} m"
    names = ("vehicle.axial_inertia", "vehicle.transverse_inertia", "vehicle.transverse_asymmetry")
    if view.known(*names):
        axial, mean, skew = map(view.value, names)
        if axial > 2 * mean * (1 + 1e-9):
            yield names[0], f"{axial:g} kg m2", "no body has more than twice the transverse inertia"
        if abs(skew) * 2 * mean > axial * (1 + 1e-9):
            yield (
                names[2], f"{skew:g}",
                f"no body has a larger one than axial / (2 transverse), {axial / (2 * mean):.3g}",
            )  # fmt: skip


def _success(view: View) -> Iterator[Finding]:
    limits = {limit.variable: limit for limit in view.success}
    if "inside_landing_pad" in limits and "landing_pad" not in view.parts:
        yield (
            "success.inside_landing_pad", "there is no [landing_pad]",
            "add [landing_pad] with its radius, or take the line out",
        )  # fmt: skip
    contact = limits.get("first_contact")
    if contact is not None and contact.flag == "foot" and "legs" not in view.parts:
        yield "success.first_contact", '"foot" without [legs]', "add [legs], or name another point"
    yield from _contradictions(limits)


def _contradictions(limits: Mapping[str, Limit]) -> Iterator[Finding]:
    whole = limits.get("touchdown_speed")
    for name in ("sink_rate", "lateral_speed"):
        part = limits.get(name)
        if whole is None or part is None or whole.high is None or part.low is None:
            continue
        if part.low >= whole.high and part.low > 0:
            yield (
                f"success.{name}", f'"{part.text}" beside touchdown_speed "{whole.text}"',
                "a part of the speed cannot be more than the whole: mend one of the two",
            )  # fmt: skip
    outcome, contact = limits.get("outcome"), limits.get("first_contact")
    if outcome is None or contact is None:
        return
    feet = outcome.flag in ("feet_first", "off_landing_pad", "standing")
    frame = outcome.flag == "airframe_first"
    if (feet and contact.flag != "foot") or (frame and contact.flag == "foot"):
        yield (
            "success.outcome", f'"{outcome.text}" beside first_contact = "{contact.text}"',
            "the two can never hold together: mend one",
        )  # fmt: skip


_CHECKS: tuple[Callable[[View], Iterator[Finding]], ...] = (
    _company, _swap, _hold, _divert, _legs, _struts, _surface, _counts, _tables, _ignition,
    _programme, _tick, _fixes, _body, _success,
)  # fmt: skip
