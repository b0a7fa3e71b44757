"""What to measure on the field, what was simulated, how far it may go, and room for the reading."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sim.report import numbers
from sim.report.card.duties import WIND_CODE
from sim.report.card.given import Limit
from sim.report.card.sheet import BLANK, Grid, Note, Panel
from sim.report.decision_words import share
from sim.report.display import in_unit, plain, unit_for
from sim.scenario.catalogue import spec_for

if TYPE_CHECKING:
    from sim.scenario import Scenario

# key, what to read, how
_READ = (
    ("vehicle.dry_mass", "Mass, no propellant, no stage", "scale"),
    ("vehicle.cg", "Balance point from nose tip", "on an edge"),
    ("vehicle.cg_offset", "Balance off the axis", "rolling in a V"),
    ("launch_pad.tilt", "Launch pad tilt, north to south", "spirit level"),
    ("launch_pad.tilt", "Launch pad tilt, east to west", "turned by 90 deg"),
    ("ascent_motor.grain_temperature", "Ascent motor temperature", "beside it in its box"),
    ("landing_motor.grain_temperature", "Landing motor temperature", "beside it in its box"),
    ("wind.speed", "Wind: mean and gust", "held high, for 2 min"),
)  # fmt: skip


def measures(scenario: Scenario, limits: Sequence[Limit], file: str) -> Panel:
    """Panel over the whole width: a row for each reading.

    Parameters
    ----------
    scenario : Scenario
    limits : sequence of Limit
        From tolerance studies; one of an input that is not read as a rule gets its own row.
    file : str
        Name of the scenario file, for commands.
    """
    known = {limit.key: limit for limit in limits}
    present = [row for row in _READ if scenario.has(row[0].partition(".")[0])]
    more = [
        (key, key, "as in the scenario") for key in known if key not in {row[0] for row in present}
    ]
    rows = [
        (what, how, _simulated(scenario, key), _shown(scenario, known, key, what), BLANK, BLANK)
        for key, what, how in [*present, *more]
    ]  # fmt: skip
    wanted = {(limit.wanted, limit.confidence) for limit in limits}
    note = ""
    if wanted:
        level = "; ".join(f"{share(w)} success, {share(c)} confidence" for w, c in sorted(wanted))
        note = f"Limits are simulated ones for {level}, each with the other inputs as simulated. "
    if any(row[0] not in known for row in present):
        note += (
            f"A limit left blank: setdown tolerance {file} KEY --json > K.json, then setdown card "
            f"{file} --tolerance K.json; KEY as {_first_missing(present, known)}."
        )
    heads = ("Measure", "how", "simulated with", "limit", "reading", "+/-")
    widths = (0.225, 0.15, 0.175, 0.215, 0.15, 0.085)
    items: list[Grid | Note] = [Grid(heads, rows, widths, roomy=True)]
    if note:
        items.append(Note(note))
    return Panel("Measure, compare, write down", items)


def _first_missing(rows: Sequence[tuple[str, str, str]], known: Mapping[str, Limit]) -> str:
    missing = [key for key, _, _ in rows if key not in known]
    return next((key for key in missing if key == "launch_pad.tilt"), missing[0])


def _simulated(scenario: Scenario, key: str) -> str:
    """Value and spread as the scenario has them."""
    number = scenario.numbers.get(key) or scenario.numbers.get(f"{key}.x")
    if number is None:
        return "each flight its own" if spec_for(key) else ""
    section = key.rpartition(".")[0]
    value, spread = numbers._number_row(number, section, "")[1:3]
    if number.law.kind == "half_normal":
        return f"{spread.removeprefix('half normal ')}, half normal"
    return f"{value} {spread}".strip()


def _shown(scenario: Scenario, known: Mapping[str, Limit], key: str, what: str) -> str:
    """Limit for a row; that of the tilt is for both its directions together."""
    said = _limit(scenario, known.get(key), key)
    if key != "launch_pad.tilt" or not said:
        return said
    return f"{said}, both together" if what.endswith("south") else "root of the sum of squares"


def _limit(scenario: Scenario, limit: Limit | None, key: str) -> str:
    code = f"{WIND_CODE:.1f} m/s (codes)" if key == "wind.speed" else ""
    if limit is None:
        return f"______ and {code}" if code else BLANK
    number = scenario.numbers.get(key) or scenario.numbers.get(f"{key}.x")
    unit = number.unit if number is not None else "1"
    if not math.isfinite(limit.good):
        return f"NONE: under {share(limit.wanted)} at every level"
    size = max(abs(limit.good), abs(number.value) if number is not None else 0.0)
    if limit.meaning == "value" and code and limit.good > WIND_CODE:
        return code
    shown = unit_for(key, unit, limit.good if limit.meaning != "value" else size)
    difference = limit.meaning != "value"
    safe = _down(in_unit(limit.good, unit, shown, difference=difference))
    said = f"{plain(safe, 3)} {'K' if difference and shown == 'degC' else shown}"
    lead = {"deviation": "+/-", "spread": "spread up to"}.get(limit.meaning, "up to")
    return f"{lead} {said}" + ("" if limit.crossed else " (not tried beyond)")


def _down(value: float) -> float:
    """Cut to three digits: a limit must not be made wider by rounding."""
    if value == 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    return math.floor(value / step + 1e-9) * step
