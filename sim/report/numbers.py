"""What `setdown check` shows: derived figures first, then every number of a scenario."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from rich import box as borders
from rich.console import Group
from rich.table import Table
from rich.text import Text

from sim.report.display import amount, in_unit, plain, unit_for
from sim.report.sentences import limit_words
from sim.report.tables import new_table, titled
from sim.scenario import describe_keys

if TYPE_CHECKING:
    from sim.ensemble.figures import Derived, Figure
    from sim.scenario import Number, Scenario


# ---- derived figures -----------------------------------------------------------------------------


def derived_parts(scenario: Scenario, derived: Derived) -> Iterator[Any]:
    """Headline, cautions and derived figures, in the order of printing."""
    yield Text(_headline(scenario, derived), style="bold")
    for caution in derived.cautions:
        yield Text(f"! {caution}", style="yellow")
    yield ""
    yield _derived_table(derived)
    yield Text(
        "By simple formulas from nominal numbers: straight up and down in still air, small angles, "
        "linear loops.", style="dim",
    )  # fmt: skip


def _headline(scenario: Scenario, derived: Derived) -> str:
    count = len(derived.cautions)
    mind = {0: "nothing to mind", 1: "1 thing to mind"}.get(count, f"{count} things to mind")
    uncertain = sum(number.law.varies for number in _present(scenario))
    used = sum(1 for _ in _present(scenario))
    return (
        f"{scenario.title}: no mistakes, {mind}. {used} numbers will be used, "
        f"{uncertain} of them uncertain."
    )


def _derived_table(derived: Derived) -> Table:
    table = Table(box=borders.SIMPLE_HEAD, show_edge=False, pad_edge=False, show_header=False)
    table.add_column(no_wrap=True)
    table.add_column(justify="right", no_wrap=True)
    table.add_column(style="dim")
    for place, (group, figures) in enumerate(derived.groups.items()):
        if place:
            table.add_row("", "", "")
        table.add_row(Text(group, style="bold"), "", "")
        for figure in figures:
            table.add_row(f"  {figure.label}", _figure(figure), figure.note)
    return table


def _figure(figure: Figure) -> str:
    value = in_unit(figure.value, figure.unit, figure.shown)
    text = plain(value, 3) if abs(value) < 1000.0 else f"{value:.0f}"
    return text if figure.shown == "1" else f"{text} {figure.shown}"


# ---- numbers -------------------------------------------------------------------------------------


def _present(scenario: Scenario) -> Iterator[Number]:
    """Numbers of parts that the scenario has."""
    for number in scenario.numbers.values():
        if scenario.has(number.name.partition(".")[0]):
            yield number


def number_parts(scenario: Scenario) -> Iterator[Any]:
    """One table a section, then the success predicate and what is absent."""
    absent: list[str] = []
    for section in _sections():
        if not scenario.has(section.partition(".")[0]):
            absent.append(section)
            continue
        table = _section_table(section, scenario)
        if table is not None:
            yield ""
            yield table
    yield ""
    yield Text("success: every line must hold", style="bold")
    for limit in scenario.success:
        yield f"  {limit_words(limit.variable, limit.text)}"
    if absent:
        yield ""
        yield f"Absent, and without effect: {', '.join(absent)}"


def _sections() -> list[str]:
    return list(dict.fromkeys(row.key.rpartition(".")[0] for row in describe_keys()))


def _section_table(section: str, scenario: Scenario) -> Group | None:
    file = scenario.path.name
    rows = [
        _number_row(number, section, file)
        for name, number in scenario.numbers.items()
        if _home(name) == section
    ]
    rows += [
        (key.rpartition(".")[2], _word(value), "", "", "", "")
        for key, value in scenario.choices.items() if key.rpartition(".")[0] == section
    ]  # fmt: skip
    if not rows:
        return None
    heads = ["key", "value", "spread", "95 % range", "believed", "from"]
    shown = [i for i, head in enumerate(heads) if head != "believed" or any(r[i] for r in rows)]
    table = new_table([heads[i] for i in shown])
    table.columns[1].no_wrap = True
    source = table.columns[-1]
    source.justify, source.style, source.min_width = "left", "dim", 8
    for row in rows:
        table.add_row(*(row[i] for i in shown))
    return titled(f"[{section}]", table)


def _home(name: str) -> str:
    """Section of a number: its name without key and axis."""
    head = name.rpartition(".")[0]
    return head.rpartition(".")[0] if name[-2:] in (".x", ".y", ".z") else head


def _word(value: object) -> str:
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else str(value)


def _number_row(number: Number, section: str, file: str) -> tuple[str, ...]:
    law = number.law
    low, high = law.interval(0.95) if law.varies else (number.value, number.value)
    size = abs(number.value) or max(abs(low), abs(high))
    unit = unit_for(number.name, number.unit, size)
    believed = ""
    if not math.isclose(number.believed, number.value, rel_tol=1e-12, abs_tol=1e-15):
        believed = amount(number.believed, number.unit, unit)
    return (
        number.name[len(section) + 1 :],
        amount(number.value, number.unit, unit),
        law_text(number, unit) if law.varies else "",
        _range(low, high, number, unit) if law.varies else "",
        believed,
        _source(number, file),
    )


def _range(low: float, high: float, number: Number, unit: str) -> str:
    first, last = (plain(in_unit(x, number.unit, unit), 4) for x in (low, high))
    return f"{first} to {last}"


def law_text(number: Number, unit: str) -> str:
    """Write a law in few words: "+/- 8 g" is normal, one standard deviation."""
    law = number.law
    p = law.parameters

    def spread(value: float) -> str:
        smaller = number.unit in ("m", "kg", "s", "m/s2")  # whose small units everybody knows
        own = unit_for(number.name, number.unit, value) if smaller else unit
        return amount(value, number.unit, own, 3, difference=True)

    if law.kind == "normal":
        return f"+/- {spread(p[1])}"
    if law.kind == "truncated_normal":
        return f"+/- {spread(p[1])}, cut"
    if law.kind == "half_normal":
        return f"half normal {spread(p[0])}"
    if law.kind == "lognormal":
        return f"lognormal {plain(p[1], 3)}"
    if law.kind == "chance":
        return f"chance {plain(100.0 * p[0], 3)} %"
    if law.kind == "sign":
        return f"either sign of {spread(p[0])}"
    if law.kind in ("choice", "empirical"):
        return f"{law.kind} of {len(p)}"
    return law.kind


def _source(number: Number, file: str) -> str:
    """Where a number comes from; of the file that is being checked, the line alone."""
    if not number.given:
        return f"default: {number.source}"
    return number.source.removeprefix(f"{file}, ")


# ---- JSON ----------------------------------------------------------------------------------------


def as_object(scenario: Scenario, derived: Derived) -> dict[str, Any]:
    """Everything `check` shows, in SI units."""
    return {
        "title": scenario.title,
        "scenario_digest": scenario.digest,
        "cautions": derived.cautions,
        "derived": {
            figure.name: {"value": _finite(figure.value), "units": figure.unit,
                          "what": f"{group}: {figure.label}", "note": figure.note}
            for group, figures in derived.groups.items() for figure in figures
        },
        "numbers": {number.name: _number_object(number) for number in _present(scenario)},
        "choices": dict(scenario.choices),
        "success": {limit.variable: limit.text for limit in scenario.success},
    }  # fmt: skip


def _number_object(number: Number) -> dict[str, Any]:
    low, high = number.law.interval(0.95) if number.law.varies else (number.value, number.value)
    return {
        "value": _finite(number.value), "units": number.unit, "law": number.law.kind,
        "parameters": list(map(_finite, number.law.parameters)),
        "range_95": [_finite(low), _finite(high)], "believed": _finite(number.believed),
        "given": number.given, "source": number.source,
    }  # fmt: skip


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
