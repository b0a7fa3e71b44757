"""What `setdown faults` shows: what each fault does, what it costs, what noticing it is worth."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.as_json import dataset_object
from sim.report.decision_words import share
from sim.report.display import fixed, percent, signed
from sim.report.sentences import CAUTION
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

NEEDS_PARACHUTE = (
    "A response needs something to respond with: without a [parachute], or on_fault = "
    '"level_out", a fault that is noticed is a loss all the same, so none was flown.'
)

_RESPONSES = {
    "parachute": "the parachute", "level_out": "levelling out", "do_not_light": "not lighting",
}  # fmt: skip


def words(fault: str) -> str:
    """Name of a fault as people say it."""
    return "no fault" if fault == "none" else fault.replace("_", " ")


def parts(found: Dataset, scenario: str) -> Iterator[Any]:
    """Answer, tables and what to do next, in the order of printing."""
    yield Text(answer(found), style="bold")
    yield overall(found)
    yield response(found)
    yield from remarks(found)
    yield ""
    yield _what_each_does(found)
    yield ""
    yield _what_each_costs(found)
    yield ""
    yield Text(method(found), style="dim")
    yield "Next:"
    yield steps(next_steps(found, scenario))
    yield ""
    yield CAUTION


def _costliest(found: Dataset) -> str:
    shares = found["share_of_losses"]
    known = [(float(x), str(n)) for x, n in zip(shares, found["fault"].to_numpy(), strict=True)
             if str(n) != "none" and math.isfinite(float(x))]  # fmt: skip
    return max(known)[1] if known and max(known)[0] > 0.0 else ""


def answer(found: Dataset) -> str:
    """Name the fault that costs most vehicles, and how many are lost in all."""
    low, middle, high = (float(x) for x in found["lost_overall"])
    level = share(float(found.attrs["confidence"]))
    worst = _costliest(found)
    limit = f"touching down faster than {float(found.attrs['lost_above']):g} m/s"
    if not worst:
        return (
            f"None of these faults loses the vehicle ({limit}) in the flights flown: at most "
            f"{percent(high)} of flights ({level} confidence)."
        )
    part = float(found["share_of_losses"].sel(fault=worst))
    return (
        f"Costliest fault: {words(worst)}, {percent(part, 0)} of all vehicles lost. "
        f"{percent(middle)} of flights lose the vehicle ({limit}), between {percent(low)} and "
        f"{percent(high)} ({level} confidence, what is not known of the chances included)."
    )


def overall(found: Dataset) -> str:
    """Success over all faults, beside that of sound vehicles."""
    low, middle, high = (float(x) for x in found["success"])
    sound = float(found["success_given"].sel(fault="none", bound="estimate"))
    return (
        f"Success, faults counted: {percent(middle)}, between {percent(low)} and {percent(high)}; "
        f"of sound vehicles {percent(sound)}."
    )


def response(found: Dataset) -> str:
    """What it is worth that the flight computer notices, and what it does then."""
    if not int(found.attrs["response"]):
        if int(found.attrs["parachute"]):
            return "Nothing on board could notice a fault: the scenario has no [flight_computer]."
        return NEEDS_PARACHUTE
    low, middle, high = (float(x) for x in found["saved_overall"])
    off, on = (float(found[f"lost_overall_{key}"].sel(bound="estimate"))
               for key in ("without", "with"))  # fmt: skip
    if low > 0.0:
        sure = "saves vehicles"
    elif high < 0.0:
        sure = "COSTS vehicles"
    else:
        sure = "may save vehicles, not shown beyond doubt"
    success = [float(found[f"success_{key}"].sel(bound="estimate")) for key in ("without", "with")]
    return (
        f"With all checks and {_RESPONSES[str(found.attrs['on_fault'])]} "
        f"(check_stage, check_light, check_continuity) "
        f"{percent(on)} are lost, with none {percent(off)}: it {sure}, {_signed(middle)} of "
        f"flights ({_signed(low)} to {_signed(high)}); success {percent(success[0])} without, "
        f"{percent(success[1])} with."
    )


def remarks(found: Dataset) -> Iterator[str]:
    """Say what was assumed and what was not flown."""
    assumed = float(found.attrs["assumed_chance"])
    if math.isfinite(assumed):
        yield (
            f"The scenario has no faults: each fault that the vehicle can have was ASSUMED to have "
            f"a chance of {share(assumed)} (--chance); write [faults.NAME] sections for your own."
        )
    rest = float(found.attrs["rest"])
    if rest > 0.0:
        yield (
            f"Three faults or more at once, in {percent(rest, 2)} of flights, were not flown and "
            "count as lost."
        )


def method(found: Dataset) -> str:
    """Sample sizes and methods."""
    given = str(found.attrs["checks"])
    return (
        f"{int(found.attrs['flights']):,} flights for each of {int(found.attrs['configurations'])} "
        f"settings of the checks (as given: {given}), every fault on the same draws; sets weighted "
        "by chance (Cochran 1977, chapter 5), bounds of each set exact (Clopper and Pearson 1934). "
        "Of two faults at once, half the loss to each."
    )


def next_steps(found: Dataset, scenario: str) -> list[tuple[str, str]]:
    """Commands worth giving next, and what each shows."""
    lines = []
    worst = _costliest(found)
    if worst:
        lines.append((f"setdown fly {scenario} --fault {worst.replace('_', '-')}",
                      "the costliest fault, second by second"))  # fmt: skip
    if int(found.attrs["response"]):
        best = max(
            (str(n) for n in found["fault"].to_numpy()),
            key=lambda n: float(found["saved"].sel(fault=n, bound="estimate")),
        )
        settings = {"stage_hangs_on": "check_stage", "landing_no_light": "check_continuity"}
        if best in settings:
            setting = f"--set-b flight_computer.{settings[best]}=true"
            lines.append((f"setdown compare {scenario} {scenario} {setting}",
                          "what that check alone does"))  # fmt: skip
    lines.append((f"setdown hazard {scenario}", "where it all comes down"))
    return lines


def _signed(value: float) -> str:
    return f"{signed(100.0 * value, 1)} %"


def _what_each_does(found: Dataset) -> Any:
    level = share(float(found.attrs["confidence"]))
    table = new_table(["fault", "chance", "stands", "m/s: median", "95 %", "m off: median", "95 %"])
    for name in found["fault"].to_numpy():
        row = found.sel(fault=name)
        table.add_row(
            words(str(name)), _chance(row), _between(row["standing"]),
            fixed(float(row["touchdown_speed_median"]), 1),
            fixed(float(row["touchdown_speed_95"]), 1),
            fixed(float(row["miss_distance_median"]), 1),
            fixed(float(row["miss_distance_95"]), 1),
        )  # fmt: skip
    flown = int(found["flown"].isel(fault=-1))
    return titled(
        f"Where it happens: {flown} flights each, checks as given, {level} bounds; m/s at the "
        "first touch, m off the mark", table,
    )  # fmt: skip


def _chance(row: Dataset) -> str:
    low, middle, high = (float(x) for x in row["chance"])
    basis = str(row["basis"].item())
    text = percent(middle, 1 if middle >= 0.01 else 2)
    if basis in ("tests", "rest") and high > low:
        text = f"{text} ({100 * low:.1f}-{100 * high:.1f})"
    if basis == "margin":
        text += " margin"
    if basis == "assumed":
        text += " assumed"
    if str(row["after"].item()) != "none":
        cause = words(str(row["after"].item()))
        text += f", {percent(float(row['chance_after']), 0)} after {cause}"
    return text


def _between(bounds: Any, digits: int = 0) -> str:
    low, middle, high = (100.0 * float(x) for x in bounds)
    return f"{middle:.{digits}f} % ({low:.{digits}f}-{high:.{digits}f})"


def _what_each_costs(found: Dataset) -> Any:
    level = share(float(found.attrs["confidence"]))
    both = bool(int(found.attrs["response"]))
    heads = ["fault", "lost where it happens", "of all losses"]
    if both:
        heads += ["checks off", "checks on", "saved by them"]
    table = new_table(heads)
    for name in found["fault"].to_numpy():
        row = found.sel(fault=name)
        part = float(row["share_of_losses"])
        cells = [_between(row["lost"]), percent(part) if math.isfinite(part) else "-"]
        if both:
            low, middle, high = (100.0 * float(x) for x in row["saved"])
            cells += [
                f"{100 * float(row['lost_without']):.0f} %",
                f"{100 * float(row['lost_with']):.0f} %",
                f"{signed(middle, 0)} % ({signed(low, 0)} to {signed(high, 0)})",
            ]  # fmt: skip
        table.add_row(words(str(name)), *cells)
    return titled(
        f"Vehicles lost (faster than {float(found.attrs['lost_above']):g} m/s at the ground), "
        f"{level} bounds" + (", saved: flight by flight on the same draws" if both else ""), table,
    )  # fmt: skip


def as_object(found: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(found), "scenario_digest": found.attrs["scenario_digest"],
        "overall": overall(found), "response": response(found),
        "remarks": list(remarks(found)), "method": method(found), "picture": str(picture),
        "faults": dataset_object(found),
    }  # fmt: skip
