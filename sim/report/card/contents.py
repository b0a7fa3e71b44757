"""The contents of the card, panel by panel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from sim.report.card import duties
from sim.report.card.given import ClearArea, Limit
from sim.report.card.measures import measures
from sim.report.card.sheet import BLANK, Grid, Note, Pairs, Panel, Sheet
from sim.report.card.stand_off import stand_off
from sim.report.display import amount, plain

if TYPE_CHECKING:
    from sim.ensemble.card import CardFacts

SINK_RATES = (5, 10, 15, 20, 25, 30)  # m/s, of the ignition table in short
_NAMES = {"ascent_motor": "Ascent motor", "landing_motor": "Landing motor"}


def sheet(
    facts: CardFacts,
    *,
    file: str,
    limits: Sequence[Limit] = (),
    area: ClearArea | None = None,
) -> Sheet:
    """Everything on the card.

    Parameters
    ----------
    facts : CardFacts
        From `sim.ensemble.card.gather_card`.
    file : str
        Name of the scenario file.
    limits : sequence of Limit
    area : ClearArea or None

    Returns
    -------
    Sheet
    """
    scenario = facts.scenario
    left = [_settings(facts), _climb(facts), _ignition(facts), _times(facts), duties.whom()]
    right = [
        _motors(facts),
        stand_off(facts, area),
        duties.misfire(), duties.fire(),
    ]  # fmt: skip
    return Sheet(
        scenario.title, f"Scenario {file}, digest {scenario.digest[:16]}", duties.CAUTIONS,
        [measures(scenario, limits, file)],
        [panel for panel in left if panel is not None], right,
        f"Full digest {scenario.digest}. Settings in full: setdown card {file} --settings DIR. "
        "Written by setdown from a simulation.",
    )  # fmt: skip


def _believed(facts: CardFacts, name: str, shown: str | None = None) -> str:
    number = facts.scenario.numbers[name]
    unit = shown or number.unit
    return amount(number.believed, number.unit, unit, 4)


def _settings(facts: CardFacts) -> Panel:
    s = facts.settings
    choices = facts.scenario.choices
    bandwidth = plain(math.sqrt(s["bandwidth_squared"]))
    zeroing = str(choices["alignment.zeroing"]).replace("_", " ")
    gains = "by believed thrust, arm and inertia" if s["scheduled"] else "fixed"
    rows = [
        ("Digest on board, first 8", facts.scenario.digest[:8]),
        ("Alignment; zeroing; wait", (
            f"{choices['alignment.attitude']}; {zeroing}; {_believed(facts, 'alignment.wait')}")),
        ("Attitude loop", (f"bandwidth {bandwidth} rad/s, damping "
         f"{_believed(facts, 'flight_computer.damping')}")),
        ("Gains: angle, rate, integral", (f"{plain(s['bandwidth_squared'])} 1/s2, "
         f"{plain(s['rate_gain'])} 1/s, {plain(s['integral'])} 1/s")),
        ("Gain schedule", gains),
        ("Leverage: ascent, landing", (f"{plain(s['ascent_leverage'])}, "
         f"{plain(s['landing_leverage'])} 1/m")),
    ]  # fmt: skip
    if s["wheel_limit"] > 0.0:
        rows.append(("Wheels: angle, rate", (f"{plain(s['wheel_gain'])} N m/rad, "
                     f"{plain(s['wheel_rate_gain'])} N m s/rad")))  # fmt: skip
    if s["roll_limit"] > 0.0:
        rows.append(("Roll: angle, rate", (f"{plain(s['roll_gain'])} N m/rad, "
                     f"{plain(s['roll_rate_gain'])} N m s/rad")))  # fmt: skip
    return Panel("Settings to load", [Pairs(rows)])


def _climb(facts: CardFacts) -> Panel:
    s = facts.settings
    tilt = f"{plain(math.degrees(2.0 * math.asin(s['climb_tilt'])), 3)} deg"
    rows = [
        ("Lift-off felt at", (f"{plain(s['lift_off_force'] / 9.80665, 3)} g along the nose, "
         f"{s['lift_off_samples']:.0f} samples")),
        ("Climb leans", (f"{'at most ' if s['climb_aimed'] else ''}{tilt}, from "
         f"{plain(s['climb_tilt_start'])} to {plain(s['climb_tilt_end'])} s after lift-off")),
        ("Landing pad", f"{plain(s['landing_east'])} m east, {plain(s['landing_north'])} m north"),
    ]  # fmt: skip
    if s["climb_aimed"]:
        rows.append(("Wind typed in: from, speed", BLANK))
    return Panel("Pitch programme", [Pairs(rows)])


def _ignition(facts: CardFacts) -> Panel | None:
    if not facts.scenario.has("landing_motor"):
        return None
    s = facts.settings
    law = str(facts.scenario.choices["flight_computer.ignition"])
    if law == "height":
        return Panel("Ignition of the landing motor", [Pairs([
            ("Law", f"at a height of the feet of {plain(s['ignition_height'])} m"),
        ])])  # fmt: skip
    if law == "time":
        return Panel("Ignition of the landing motor", [Pairs([
            ("Law", f"{plain(s['ignition_time'])} s after lift-off"),
        ])])  # fmt: skip
    table = facts.tables["ignition_height"]
    at = np.arange(len(table)) / s["sink_steps"]
    heights = np.interp(SINK_RATES, at, table) + s["ignition_margin"]
    rows = [("feet below [m]", *(f"{x:.2f}" for x in heights))]
    heads = ("sinking at [m/s]", *(str(rate) for rate in SINK_RATES))
    width = 0.3
    each = (1.0 - width) / len(SINK_RATES)
    return Panel("Ignition of the landing motor", [
        Grid(heads, rows, (width, *[each] * len(SINK_RATES))),
        Note(f"By table; the margin of {plain(s['ignition_margin'])} m is in these heights. Aims "
             f"at {plain(s['touchdown_sink_rate'])} m/s at the ground; throttle lets through "
             f"{100.0 * s['least_throttle']:.0f} to 100 %."),
    ])  # fmt: skip


def _times(facts: CardFacts) -> Panel:
    s = facts.settings
    rows = [
        (event.label, _fixed(event.time), _fixed(event.height_feet, 1), _fixed(event.speed, 1))
        for event in facts.timeline
    ]
    rules = []
    if math.isfinite(s["separation_after"]):
        rules.append(f"stage off {plain(s['separation_after'])} s after burn-out")
    if facts.scenario.has("petals"):
        rules.append("petals at " + ("apogee" if s["petals_at_apogee"] else "separation"))
    if facts.scenario.has("legs"):
        rules.append(f"legs {plain(s['legs_after'])} s after the ignition command")
    lean = plain(math.degrees(math.acos(s["abort_nose_up"])), 3)
    rules.append(f"gives up if leaning more than {lean} deg before the landing burn")
    for name, what in (("stage_wait", "the stage hangs on"), ("light_wait", "no light is felt")):
        if math.isfinite(s[name]):
            rules.append(f"gives up if {what} for {plain(s[name])} s")
    if s["check_continuity"]:
        rules.append("gives up if the igniter is open")
    if s["abort_level"]:
        rules.append("giving up it holds the nose upright and lights nothing")
    if s["hold"]:
        rules.append("stays on the launch pad while the landing igniter is open")
    said = "; ".join(rules)
    return Panel("Sequence, nominal flight", [
        Grid(("event", "time [s]", "feet [m]", "speed [m/s]"), rows, (0.46, 0.18, 0.16, 0.2)),
        Note(f"{said[0].upper()}{said[1:]}. Time from the ignition command, feet above the landing "
             "pad."),
    ])  # fmt: skip


def _motors(facts: CardFacts) -> Panel:
    heads = ("", "impulse", "burn", "peak", "delay", "propellant")
    rows = [
        (_NAMES[m.part], f"{m.impulse:.1f} N s", f"{m.burn_time:.2f} s", f"{m.peak:.0f} N",
         f"{1000.0 * m.delay:.0f} ms", f"{1000.0 * m.propellant:.0f} g")
        for m in facts.motors
    ]  # fmt: skip
    return Panel("Motors, as simulated", [
        Grid(heads, rows, (0.26, 0.17, 0.13, 0.12, 0.14, 0.18)),
        Pairs([(f"{_NAMES[m.part]}: batch", BLANK) for m in facts.motors]),
    ])  # fmt: skip


def _fixed(value: float, digits: int = 2) -> str:
    return f"{value:.{digits}f}" if math.isfinite(value) else "-"
