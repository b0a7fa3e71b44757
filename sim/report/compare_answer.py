"""What `setdown compare` shows: the paired differences, and whether they can be told from noise."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.as_json import dataset_object
from sim.report.decision_words import share
from sim.report.display import amount, percent, signed, unit_for, words
from sim.report.numbers import law_text
from sim.report.sentences import CAUTION
from sim.report.tables import SHOWN, new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.ensemble.comparing import Design

MOST_DIFFERENCES = 12


def parts(found: Dataset, a: Design, b: Design) -> Iterator[Any]:
    """Answer, tables and what to do next, in the order of printing."""
    yield Text(answer(found), style="bold")
    yield f"A: {a.name}"
    yield f"B: {b.name}"
    changed = differences(a, b)
    if changed:
        yield ""
        yield _changed_table(changed)
    elif a.scenario is not None and b.scenario is not None:
        yield "The two scenarios do not differ in anything that a flight uses."
    yield ""
    yield _success_table(found)
    yield ""
    yield _table(found)
    yield ""
    yield Text(
        f"{int(found['pairs']):,} pairs of flights: the same draws, the same noise. Success: "
        "McNemar, exact. Others: sign test for the median, Student for the mean, half the risk "
        "each.", style="dim",
    )  # fmt: skip
    yield "Next:"
    yield steps(_next(found, a, b))
    yield ""
    yield CAUTION


def answer(found: Dataset) -> str:
    """Say which design succeeds more often, and whether that is more than noise."""
    low, middle, high = (float(x) for x in found["success"])
    level = share(float(found.attrs["confidence"]))
    good = [float(found.attrs[f"success_{side}"]) for side in "ab"]
    both = f"A {percent(good[0])}, B {percent(good[1])} of flights"
    if bool(found["success_told_apart"]):
        which = "B succeeds more often" if middle > 0.0 else "A succeeds more often"
        return (
            f"{which}: {both}, a difference of {100.0 * abs(middle):.1f} points "
            f"({level} confidence: {signed(100.0 * low, 1)} to {signed(100.0 * high, 1)}, "
            "B minus A)."
        )
    apart = [words(n) for n in quantities(found) if bool(found[f"{n}_told_apart"])]
    more = f" They do differ in {', '.join(apart)}." if apart else ""
    return (
        f"The difference in success cannot be told from noise: {both} ({level} confidence: "
        f"{signed(100.0 * low, 1)} to {signed(100.0 * high, 1)} points, B minus A).{more}"
    )


def quantities(found: Dataset) -> list[str]:
    """Names of what is compared besides success."""
    return [str(n) for n in found.data_vars if f"{n}_both" in found]


def _success_table(found: Dataset) -> Any:
    pairs, only_a, only_b = (int(found[name]) for name in ("pairs", "only_a", "only_b"))
    table = new_table(["success", "flights", "share"])
    table.add_row("only A succeeds", f"{only_a:,}", percent(only_a / pairs))
    table.add_row("only B succeeds", f"{only_b:,}", percent(only_b / pairs))
    same = pairs - only_a - only_b
    table.add_row("both alike", f"{same:,}", percent(same / pairs))
    return titled(f"Success flight by flight, McNemar p = {_p(float(found['success_p_value']))}",
                  table)  # fmt: skip


def _table(found: Dataset) -> Any:
    table = new_table(["B minus A", "unit", "mean", "lower to upper", "median", "lower to upper",
                       "p", "noise?"], left=2)  # fmt: skip
    for name in quantities(found):
        unit, scale, digits = SHOWN.get(name, ("m", 1.0, 3))
        digits += 1
        cells = []
        for statistic in ("mean", "median"):
            low, middle, high = (float(x) * scale for x in found[name].sel(statistic=statistic))
            cells += [_signed(middle, digits), f"{_signed(low, digits)} to {_signed(high, digits)}"]
        told = "no" if bool(found[f"{name}_told_apart"]) else "perhaps"
        table.add_row(words(name), unit, *cells, _p(float(found[f"{name}_p_value"])), told)
    level = share(float(found.attrs["confidence"]))
    return titled(f"Paired differences, {level} bounds of each by itself", table)


def _signed(value: float, digits: int) -> str:
    return signed(value, digits) if math.isfinite(value) else "no bound"


def _p(p: float) -> str:
    return "< 0.0001" if p < 1e-4 else f"{p:.4f}"


def _next(found: Dataset, a: Design, b: Design) -> list[tuple[str, str]]:
    steps_: list[tuple[str, str]] = []
    if not bool(found["success_told_apart"]):
        steps_.append((
            f"setdown compare {_path(a)} {_path(b)} -n {4 * int(found['pairs'])}",
            "half as wide bounds",
        ))  # fmt: skip
    steps_.append((f"setdown budget {_path(b)}", "what spoils flights of B"))
    return steps_


def _path(design: Design) -> str:
    return design.name.split(" ", maxsplit=1)[0]


def differences(a: Design, b: Design) -> list[tuple[str, str, str]]:
    """Numbers and choices in which two scenarios differ: name, in A, in B; none of an ensemble."""
    if a.scenario is None or b.scenario is None:
        return []
    one, two = a.scenario, b.scenario
    found = []
    for name in sorted({*one.numbers, *two.numbers}):
        first, second = (_said(s.numbers.get(name)) for s in (one, two))
        if first != second:
            found.append((name, first, second))
    choices = [getattr(s, "choices", {}) for s in (one, two)]
    for name in sorted({*choices[0], *choices[1]}):
        first, second = (str(c.get(name, "-")) for c in choices)
        if first != second:
            found.append((name, first, second))
    return found


def _said(number: Any) -> str:
    if number is None:
        return "-"
    size = abs(number.value) or number.law.spread()
    unit = unit_for(number.name, number.unit, size)
    text = amount(number.value, number.unit, unit)
    return f"{text}, {law_text(number, unit)}" if number.law.varies else text


def _changed_table(changed: list[tuple[str, str, str]]) -> Any:
    table = new_table(["what differs", "A", "B"])
    for row in changed[:MOST_DIFFERENCES]:
        table.add_row(*row)
    if len(changed) > MOST_DIFFERENCES:
        table.add_row(f"and {len(changed) - MOST_DIFFERENCES} more", "", "")
    return table


def as_object(found: Dataset, a: Design, b: Design, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(found), "a": a.name, "b": b.name, "picture": str(picture),
        "differs_in": {name: {"a": one, "b": two} for name, one, two in differences(a, b)},
        "comparison": dataset_object(found),
    }  # fmt: skip
