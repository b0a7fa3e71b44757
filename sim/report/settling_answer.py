"""What `watch` shows of a run: its state, its figures with both kinds of bounds, their way."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from rich.console import Group
from rich.text import Text

from sim.analysis.settling import ABOUT, RULE, STATISTICS, spread
from sim.analysis.stopping import ANY_TIME
from sim.report.as_json import dataset_object, scalar
from sim.report.display import percent
from sim.report.settling_view import View, dataset_of
from sim.report.settling_words import (
    KEEP_LOOKING,
    LOOK_ONCE,
    SHORT,
    UNIT,
    known_to,
    rule_words,
    span,
    state_sentence,
    stop_sentence,
    value,
    warnings,
)
from sim.report.tables import new_table, titled

_LONG = {
    "success": "success [%]",
    "radius_95": "R95: 95 % come down within [m]",
    "circular_error_probable": "CEP: half come down within [m]",
    "touchdown_speed_95": "touchdown speed, 95 % below [m/s]",
}
_MOST_LEVELS = 24  # rows on a screen
_POINTS = 16  # numbers of flights in the JSON object


def parts(view: View) -> Iterator[Any]:
    """Everything for a screen, in its order."""
    yield Text(state_sentence(view), style="bold")
    for warning in warnings(view):
        yield Text(f"! {warning}", style="yellow")
    if not view.now:
        return
    yield ""
    yield _now(view) if len(view.now) == 1 else _levels(view)
    if view.before:
        yield ""
        yield _before(view)
    yield ""
    yield Text(stop_sentence(view), style="bold")
    yield ""
    yield Text(rule_words(view.confidence), style="dim")


def _now(view: View) -> Group:
    level = percent(view.confidence, 0)
    title = f"The first {view.state.counted:,} flights, {level} bounds"
    table = new_table(["", "so far", LOOK_ONCE, KEEP_LOOKING, "so it is known to"])
    for name, rows in zip(STATISTICS, view.now[0], strict=True):
        once, free = (span(name, float(low), float(high)) for low, _, high in rows)
        known = known_to(name, spread(name, rows[ANY_TIME]))
        table.add_row(_LONG[name], value(name, float(rows[0, 1]), unit=False), once, free, known)
    return titled(title, table)


def _before(view: View) -> Group:
    """Earlier numbers of flights, and now; each with its bounds of any time."""
    heads = [f"{SHORT[name]} [{UNIT.get(name, '%')}]" for name in STATISTICS]
    table = new_table(["flights", *heads], left=0)
    for number, figures in [*view.before.items(), (view.state.counted, view.now[0])]:
        cells = []
        for name, rows in zip(STATISTICS, figures, strict=True):
            lower, middle, upper = (float(x) for x in rows[ANY_TIME])
            cells.append(f"{value(name, middle, unit=False)} ({span(name, lower, upper)})")
        table.add_row(f"{number:,}", *cells)
    return titled(f"How it settled, bounds {KEEP_LOOKING}", table)


def _levels(view: View) -> Group:
    level = percent(view.confidence, 0)
    title = (
        f"The first {view.state.counted:,} flights at each level, {level} bounds {KEEP_LOOKING}"
    )
    table = new_table(["level", *(f"{SHORT[n]} [{UNIT.get(n, '%')}]" for n in STATISTICS)])
    for name, figures in list(zip(view.state.levels, view.now, strict=True))[:_MOST_LEVELS]:
        cells = []
        for statistic, rows in zip(STATISTICS, figures, strict=True):
            lower, middle, upper = (float(x) for x in rows[ANY_TIME])
            shown = value(statistic, middle, unit=False)
            cells.append(f"{shown} ({span(statistic, lower, upper)})")
        table.add_row(name, *cells)
    more = len(view.now) - _MOST_LEVELS
    if more > 0:
        table.add_row(f"and {more} levels more", *("" for _ in STATISTICS))
    return titled(title, table)


def as_object(view: View, picture: str | None = None) -> dict[str, Any]:
    """Everything as one object for JSON, in SI units; what is not known is null."""
    state = view.state
    found = view.verdict
    return {
        "ensemble": str(view.target),
        "picture": picture,
        "state": state.state,
        "title": state.vehicle,
        "seed": state.seed,
        "sampling_method": state.method,
        "independent_draws": view.independent,
        "command": state.command,
        "flights": state.total,
        "flights_finished": state.finished,
        "flights_counted": state.counted * len(state.levels),
        "rate": {"units": "s-1", "value": scalar(state.rate)},
        "time_left": {"units": "s", "value": scalar(state.left)},
        "since_last_part": {"units": "s", "value": scalar(state.quiet)},
        "damaged_parts": list(state.damaged),
        "confidence": view.confidence,
        "bounds": rule_words(view.confidence),
        "may_stop": found.may_stop,
        "may_stop_by": "any_time",
        "within": view.aim.within,
        "success_wanted": view.aim.success,
        "flights_that_would_do": found.about,
        "levels": [
            {
                "level": name or None,
                "flights": state.counted,
                "claim": found.claims[place] if found.claims else None,
                "statistics": _statistics(figures),
            }
            for place, (name, figures) in enumerate(zip(state.levels, view.now, strict=False))
        ],
        "settling": dataset_object(dataset_of(view, points=_POINTS)) if _alone(view) else None,
    }


def _alone(view: View) -> bool:
    return len(view.now) == 1


def _statistics(figures: Any) -> dict[str, Any]:
    found = {}
    for name, rows in zip(STATISTICS, figures, strict=True):
        known = spread(name, rows[ANY_TIME])
        found[name] = {
            "units": ABOUT[name][0],
            "estimate": scalar(float(rows[0, 1])),
            **{
                rule: {"lower": scalar(float(low)), "upper": scalar(float(high))}
                for rule, (low, _, high) in zip(RULE, rows, strict=True)
            },
            "known_to": known if math.isfinite(known) else None,
        }
    return found
