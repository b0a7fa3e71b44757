"""What `setdown ignition` shows: success and speed over ignition and throttle authority."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.as_json import dataset_object, scalar
from sim.report.decision_words import share
from sim.report.display import amount, percent, unit_for
from sim.report.grid_words import best_place, success_cell
from sim.report.sentences import CAUTION
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.ensemble.burn_match import Match


def authority_words(value: float) -> str:
    """Write an authority: "none" or a percentage."""
    return "none" if value == 0.0 else percent(value, 0)


def level_words(found: Dataset, value: float) -> str:
    """Write a level of the ignition setting with its unit."""
    unit = str(found["level"].attrs["units"])
    return amount(value, unit, unit_for("", unit, 1.0), 4)


def parts(found: Dataset, match: Match, scenario: str) -> Iterator[Any]:
    """Answer, tables and what to do next, in the order of printing."""
    yield Text(answer(found), style="bold")
    yield enough(found)
    yield ""
    yield _grid(found, "success")
    yield ""
    yield _grid(found, "speed")
    yield ""
    yield Text("When the landing impulse ends just at the ground", style="bold")
    yield from match_sentences(match)
    yield ""
    yield Text(
        f"{int(found['success'].size / 3 * found.attrs['flights']):,} flights, the same draws at "
        "every point. The match of the burn is by hand: nominal, straight up and down, "
        "no steering.",
        style="dim",
    )
    best = found.isel(best_place(found["success"]))
    key = str(found.attrs["scenario_key"])
    told = level_words(found, float(best["level"]))
    yield "Next:"
    yield steps([
        (f'setdown compare {scenario} {scenario} --set-b {key}="{told}"', "flight by flight"),
    ])  # fmt: skip
    yield ""
    yield CAUTION


def answer(found: Dataset) -> str:
    """Name the best ignition setting at the authority that the scenario has."""
    key, now = str(found.attrs["scenario_key"]), float(found.attrs["authority_now"])
    own = found.sel(authority=now)
    here = own.isel(best_place(own["success"]))
    low, middle, high = (float(x) for x in here["success"])
    return (
        f"With the throttle as it is (authority {authority_words(now)}) success is "
        f"greatest at {key} "
        f"{level_words(found, float(here['level']))}: {percent(middle)} "
        f"({percent(low)} to {percent(high)})."
    )


def enough(found: Dataset) -> str:
    """Say what authority is enough: the least whose best cannot be told from the best of all."""
    rows = []
    for authority in found["authority"].to_numpy():
        column = found["success"].sel(authority=authority)
        best = column.isel(best_place(column))
        rows.append((float(authority), *(float(x) for x in best)))
    top = max(rows, key=lambda row: row[2])
    least = min((row for row in rows if row[3] >= top[2]), key=lambda row: row[0])
    each = ", ".join(f"{authority_words(row[0])} {percent(row[2], 0)}" for row in rows)
    if least[0] == top[0]:
        return (
            f"Best success by authority: {each}. Less than {authority_words(top[0])} costs "
            "success."
        )
    return (
        f"Best success by authority: {each}. {authority_words(least[0]).capitalize()} is "
        "enough, as "
        "far as these flights can tell."
    )


def match_sentences(match: Match) -> Iterator[str]:
    """Say which apogee, ballast, throttle or height to light at fits the burn to the ground."""
    low, high = match.apogee_least, match.apogee_full
    full = "no apogee, however high (drag holds the fall below what the motor takes out)" if (
        math.isinf(high)) else f"an apogee of {high:.1f} m"  # fmt: skip
    yield (
        f"The apogee as it is: {match.apogee:.1f} m (feet above the landing pad). Full thrust all "
        f"along would need {full}; the least that the throttle lets through "
        f"({percent(match.least_share, 0)}), "
        + (f"{low:.1f} m." if low > 0.0 else "no apogee at all: it hardly slows the fall.")
    )
    if math.isfinite(match.share):
        inside = match.least_share <= match.share <= 1.0
        yield (
            f"At this apogee and mass {percent(match.share, 0)} of the thrust on average fits, lit "
            f"{match.height:.1f} m up at {match.sink:.1f} m/s; "
            + ("the throttle can do that." if inside else "the throttle cannot do that.")
        )
    else:
        yield "No share of the thrust fits this apogee and mass."
    if math.isfinite(match.ballast):
        verb = "added" if match.ballast >= 0.0 else "taken off"
        yield (
            f"Without a throttle: {1e3 * abs(match.ballast):.0f} g {verb} would fit (the apogee "
            "changes with it)."
        )
    else:
        yield "Without a throttle no ballast fits: other motors are needed."


def _grid(found: Dataset, what: str) -> Any:
    key = str(found.attrs["scenario_key"])
    heads = [authority_words(float(a)) for a in found["authority"].to_numpy()]
    unit = str(found["level"].attrs["units"])
    table = new_table([f"{key.partition('.')[2]} [{unit}]", *heads, "lit at [m]"])
    for level in found["level"].to_numpy():
        row = found.sel(level=level)
        cells = []
        for authority in found["authority"].to_numpy():
            cell = row.sel(authority=authority)
            cells.append(success_cell(cell["success"]) if what == "success" else _speed(cell))
        mark = " *" if level == found.attrs["level_now"] else ""
        height = float(row["ignition_height"].sel(authority=found.attrs["authority_now"]))
        table.add_row(f"{level:g}{mark}", *cells, f"{height:.1f}")
    level = share(float(found.attrs["confidence"]))
    title = "Success [%]" if what == "success" else "Touchdown speed [m/s], median and 95 %"
    return titled(
        f"{title}; across: throttle authority; {int(found.attrs['flights']):,} flights "
        f"each, {level} "
        "bounds; * as it is", table,
    )  # fmt: skip


def _speed(cell: Any) -> str:
    half, most = (
        float(cell["touchdown_speed"].sel(percent=p, bound="estimate")) for p in (50.0, 95.0)
    )
    return f"{half:.2f}, {most:.2f}" if math.isfinite(most) else f"{half:.2f}, beyond"


def as_object(found: Dataset, match: Match, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(found), "enough": enough(found), "picture": str(picture),
        "match": {name: scalar(value) for name, value in vars(match).items()},
        "ignition": dataset_object(found),
    }  # fmt: skip
