"""Every input and its law of chance, with what was drawn of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sim.report import numbers
from sim.report.display import in_unit, plain, unit_for
from sim.report.page.blocks import Bars, Block, Folded, Section, Table, Text, Words
from sim.report.page.facts import MOST_READ, Facts
from sim.report.sentences import limit_words

if TYPE_CHECKING:
    from xarray import DataArray

    from sim.scenario import Number, Scenario

BINS = 15
_HEADS = ("input", "value", "law", "95 % range", "drawn", "believed", "from")


def section(facts: Facts) -> Section:
    """One table a part of the scenario, what success means, and the scenario's text."""
    title = "Every input and its law of chance"
    scenario = facts.scenario
    text = str(facts.ds.attrs.get("scenario", ""))
    kept: list[Block] = [Text("The scenario as stored with the ensemble", text)] if text else []
    if scenario is None:
        return Section("inputs", title, [Words(f"{facts.no_scenario}.", "warning"), *kept])
    drawn = {
        str(v.attrs["scenario_key"]): v for v in facts.ds.data_vars.values()
        if "scenario_key" in v.attrs
    }  # fmt: skip
    swept = {str(facts.ds[dim].attrs.get("scenario_key", dim)) for dim in facts.swept}
    blocks: list[Block] = [Words(
        f"{len(drawn)} inputs are uncertain and were drawn anew for every flight; “+/-” is one "
        "standard deviation of a normal law. What the flight computer takes an input to be "
        "is said where it differs. Lines are those of the scenario at the end of this section."
    )]  # fmt: skip
    if swept:
        blocks.append(Words(f"Swept, so that its value below is not the one flown: "
                            f"{', '.join(sorted(swept))}."))  # fmt: skip
    absent = []
    for part in numbers._sections():
        if not scenario.has(part.partition(".")[0]):
            absent.append(part)
            continue
        blocks += _tables(part, scenario, drawn)
    for group in scenario.correlated:
        blocks.append(Words(
            f"Correlated by {plain(float(np.ravel(group.correlation)[0]), 3)}: "
            f"{', '.join(group.names)}."
            if np.ndim(group.correlation) == 0
            else f"Drawn together, correlated: {', '.join(group.names)}."
        ))  # fmt: skip
    limits = "; ".join(limit_words(limit.variable, limit.text) for limit in scenario.success)
    blocks.append(Words(f"Success means that all of these hold: {limits}."))
    if absent:
        blocks.append(Words(f"Absent, and without effect: {', '.join(absent)}.", "small"))
    return Section("inputs", title, [*blocks, *kept])


def _tables(part: str, scenario: Scenario, drawn: dict[str, DataArray]) -> list[Block]:
    """Uncertain inputs of a part in full, certain ones folded."""
    uncertain: list[list[str | Bars]] = []
    certain: list[list[str | Bars]] = []
    for name, number in scenario.numbers.items():
        if numbers._home(name) == part:
            row = _row(number, part, drawn.get(name))
            (uncertain if number.law.varies else certain).append(row)
    certain += [
        [key.rpartition(".")[2], numbers._word(value), *("" for _ in _HEADS[2:])]
        for key, value in scenario.choices.items() if key.rpartition(".")[0] == part
    ]  # fmt: skip
    found: list[Block] = []
    if uncertain:
        found.append(_table(f"[{part}] uncertain", uncertain))
    if certain:
        found.append(Folded(_table(f"[{part}] certain: {len(certain)}", certain)))
    return found


def _table(caption: str, rows: list[list[str | Bars]]) -> Table:
    shown = [i for i in range(len(_HEADS)) if any(row[i] for row in rows)]
    return Table(caption, [_HEADS[i] for i in shown], [[row[i] for i in shown] for row in rows],
                 left=-1)  # fmt: skip


def _row(number: Number, part: str, column: DataArray | None) -> list[str | Bars]:
    name, value, law, reach, believed, source = numbers._number_row(number, part, "")
    source = source.partition("toml, ")[2] or source
    return [name, value, law, reach, _drawn(number, column), believed, source]


def _drawn(number: Number, column: DataArray | None) -> str | Bars:
    """Histogram of the values drawn, and its median and middle 90 % in words."""
    if column is None:
        return ""
    values = column.isel(run=slice(0, MOST_READ)).to_numpy().ravel()
    values = values[np.isfinite(values)]
    if not values.size or np.ptp(values) == 0.0:
        return ""
    unit = unit_for(number.name, number.unit, abs(number.value) or float(np.abs(values).max()))
    low, middle, high = (
        plain(in_unit(float(x), number.unit, unit), 4)
        for x in np.quantile(values, [0.05, 0.5, 0.95])
    )
    heights, _ = np.histogram(values, bins=BINS)
    told = (
        f"histogram of {values.size:,} draws: median {middle}, 5 to 95 % {low} to {high}"
        f"{'' if unit in ('1', '') else ' ' + unit}"
    )
    return Bars([float(height) / float(heights.max()) for height in heights], told)
