"""What `setdown drop --vary` shows: standing and loads at each level, and the best one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.ensemble.drop_vary import STATIC
from sim.report import drop_words
from sim.report.as_json import dataset_object
from sim.report.decision_words import level_amount, share
from sim.report.display import fixed, percent
from sim.report.tables import new_table, titled

if TYPE_CHECKING:
    from rich.console import Group
    from xarray import Dataset

# a drop that tips slides too: its way would hide that of those that stand
STATISTIC = {"slide_distance": "median", "peak_strut_force": "p95", "peak_stroke": "p95",
             "peak_deceleration": "p95"}  # fmt: skip
SHOWN = ("peak_strut_force", "peak_stroke", "peak_deceleration", "slide_distance")


def level_words(found: Dataset, place: int) -> str:
    """Write a level with its unit."""
    levels = found["level"]
    largest = max(abs(float(x)) for x in levels)
    return level_amount(
        str(found.attrs["scenario_key"]), float(levels[place]), str(levels.attrs["units"]), largest
    )


def parts(found: Dataset) -> Iterator[Any]:
    """Answer and table, in the order of printing."""
    yield Text(answer(found), style="bold")
    yield versus(found)
    yield Text(about(found), style="dim")
    yield ""
    yield _table(found)
    yield ""
    yield drop_words.CAUTION


def all_alike(found: Dataset) -> bool:
    """Whether no level changes anything that is shown."""
    names = ("standing", *SHOWN, "mean_hops")
    return all(bool((found[name] == found[name].isel(level=0)).all()) for name in names)


def answer(found: Dataset) -> str:
    """Name the best level and what it does."""
    key = str(found.attrs["scenario_key"])
    if all_alike(found):
        return (
            f"{key} changes nothing here: every level gives the same drops. Does it belong to "
            f"{found.attrs['strut']} struts?"
        )
    best = int(found.attrs["best"])
    lower, middle, upper = (float(x) for x in found["standing"].isel(level=best))
    force = float(found["peak_strut_force"].isel(level=best).sel(statistic="p95", bound="estimate"))
    return (
        f"Best is {key} = {level_words(found, best)}: {percent(middle)} of drops end standing "
        f"({percent(lower)} to {percent(upper)}), 95 % of all drops with a strut force of "
        f"{drop_words.shown('peak_strut_force', force)} at most."
    )


def versus(found: Dataset) -> str:
    """Say whether the best can be told from the next."""
    if all_alike(found):
        return "There is nothing to choose."
    other, chance = level_words(found, int(found.attrs["next"])), float(found.attrs["p_value"])
    by = str(found.attrs["by"])
    what = "stands as often, so the smaller strut force decides" if by != "standing" else (
        f"{int(found.attrs['only_best'])} drops stand only at the best, "
        f"{int(found.attrs['only_next'])} only at this")  # fmt: skip
    test = "McNemar's exact test" if by == "standing" else "sign test of the strut force"
    levels = found.sizes["level"]
    needed = (1.0 - float(found.attrs["confidence"])) / max(levels - 1, 1)
    picked = f"; the best of {levels} needs p < {needed:.2g}" if levels > 2 else ""
    small = f"= {chance:.2g}" if chance >= 1e-4 else "< 0.0001"
    told = "is beyond noise" if found.attrs["told_apart"] else "cannot be told from noise"
    return f"Next is {other}: {what}; the difference {told} ({test}, p {small}{picked})."


def about(found: Dataset) -> str:
    """Say what was dropped."""
    with_it = "; sliding friction in proportion" if found.attrs["scenario_key"] == STATIC else ""
    return (
        f"{found.attrs['vehicle']}: {int(found.attrs['flights']):,} drops at each level, the same "
        f"draws at every one{with_it}; {found.attrs['strut']} struts on "
        f"{drop_words.SURFACES[str(found.attrs['surface'])]}, landing motor "
        f"{found.attrs['landing_motor']}, seed {found.attrs['seed']}"
    )


def _table(found: Dataset) -> Group:
    key = str(found.attrs["scenario_key"])
    heads = ["strut [N]", "stroke [mm]", "decel. [g]", "slide [mm]"]  # in the order of SHOWN
    table = new_table([key.rpartition(".")[2], "standing", "bounds", "hops", *heads])
    for place in range(found.sizes["level"]):
        row = found.isel(level=place)
        lower, middle, upper = (float(x) for x in row["standing"])
        cells = []
        for name in SHOWN:
            _, _, scale, digits = drop_words.LOADS[name]
            value = float(row[name].sel(statistic=STATISTIC[name], bound="estimate"))
            cells.append(fixed(value, digits, scale))
        star = " *" if place == found.attrs["best"] and not all_alike(found) else ""
        table.add_row(
            level_words(found, place) + star, percent(middle),
            f"{100.0 * lower:.1f} to {100.0 * upper:.1f}", fixed(float(row["mean_hops"]), 2),
            *cells,
        )  # fmt: skip
    level = share(float(found.attrs["confidence"]))
    return titled(
        f"{level} bounds [%]; hops: mean; slide: median; the others: 95th percentile over all "
        "drops; * best",
        table,
    )


def as_object(found: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(found), "versus": versus(found), "picture": str(picture),
        "vary": dataset_object(found),
    }  # fmt: skip
