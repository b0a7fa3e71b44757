"""What `setdown pad-size` shows: the smallest landing pads, and how they grow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.analysis.landing_box import PAD_STATES
from sim.report.as_json import dataset_object
from sim.report.decision_words import share
from sim.report.sentences import CAUTION
from sim.report.tables import DEGREES, new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

_WHY = {
    "too_few_flights": "too few flights for any bound",
    "not_shown": "too few on their feet to claim it",
    "not_attainable": "fewer than that come down on their feet",
}


def state_of(row: Dataset) -> str:
    """Say whether there is a bound, of PAD_STATES."""
    return PAD_STATES[int(row["state"])]


def parts(sizes: Dataset, scenario: str) -> Iterator[Any]:
    """Answer, table and what to do next, in the order of printing."""
    yield Text(answer(sizes), style="bold")
    yield tightness(sizes)
    if not int(sizes.attrs["slide_counted"]):
        yield (
            "Counted: where the feet first touch, legs open. Sliding after that is not simulated; "
            "add room for it."
        )
    yield ""
    yield _table(sizes)
    yield ""
    yield Text(
        f"{int(sizes['pilot']):,} first flights chose place and turn, and when to look at the "
        "others, which bound the size by order statistics (Wilks 1941). "
        + _risk(int(sizes.attrs["looks"])), style="dim",
    )  # fmt: skip
    yield "Next:"
    yield steps([
        (f"setdown budget {scenario}", "what the miss comes from"),
        _tighter(sizes, scenario),
    ])  # fmt: skip
    yield ""
    yield CAUTION


def _risk(looks: int) -> str:
    if looks == 1:
        return "One look was planned, so it has all of the risk."
    return (
        f"{looks} looks were planned and share the risk, so the bound is true whenever one stops "
        "(Lan and DeMets 1983)."
    )


def _tighter(sizes: Dataset, scenario: str) -> tuple[str, str]:
    """Half of what the slack is now, and the flights that it takes."""
    row = sizes.sel(probability=float(sizes.attrs["wanted_probability"]))
    slack = max(float(row["circle_slack"]), float(row["rectangle_slack"]))
    if not math.isfinite(slack):
        return f"setdown pad-size {scenario} --probability 0.8", "for fewer flights"
    centimetres = max(1, round(50.0 * slack))
    flights = _round(int(sizes["flights"]) * (1e2 * slack / centimetres) ** 2)
    return f'setdown pad-size {scenario} --within "{centimetres} cm" -n {flights}', "tighter"


def answer(sizes: Dataset) -> str:
    """Say how big the landing pad must be and where to put it, or why that is not known."""
    wanted = float(sizes.attrs["wanted_probability"])
    row = sizes.sel(probability=wanted)
    flights = f"{share(wanted)} of flights"
    level = share(float(sizes.attrs["confidence"]))
    state = state_of(row)
    if state != "attained":
        needed = int(row["flights_needed"])
        more = f"; {needed:,} flights are needed at least" if state == "too_few_flights" else ""
        return (
            f"No landing pad can be named for {flights} ({level} confidence): "
            f"{_WHY[state]}{more}."
        )
    return (
        f"A round landing pad of {_up(float(row['circle_radius']))} m radius, its centre "
        f"{_place(row, 'circle')}, takes all feet of {flights} ({level} confidence); a rectangle "
        f"needs {_up(float(row['rectangle_length']))} by {_up(float(row['rectangle_width']))} m, "
        f"its length {_turn(row)}, its centre {_place(row, 'rectangle')}."
    )


def tightness(sizes: Dataset) -> str:
    """Say how tight the bound is, and how many flights it used and needed."""
    row = sizes.sel(probability=float(sizes.attrs["wanted_probability"]))
    used, within = int(sizes["flights"]), float(sizes.attrs["within"])
    needed = f"any bound at all needs {int(row['flights_needed']):,}"
    slack = max(float(row["circle_slack"]), float(row["rectangle_slack"]))
    if int(sizes.attrs["tight"]):
        return (
            f"Within {1e2 * slack:.1f} cm of what the flights show (asked: {1e2 * within:.1f} cm), "
            f"after {used:,} flights; {needed}."
        )
    if not math.isfinite(slack):
        return f"{used:,} flights used; {needed}."
    return (
        f"Not as tight as asked: the bound lies {1e2 * slack:.1f} cm above what the flights show "
        f"(asked: {1e2 * within:.1f} cm), after all {used:,} flights allowed; about "
        f"{_round(used * (slack / within) ** 2):,} would do. Allow them with -n; {needed}."
    )


def _round(value: float) -> int:
    digits = max(0, int(math.log10(value)) - 1)
    return int(math.ceil(value / 10**digits) * 10**digits)


def _up(metres: float) -> str:
    """Centimetres, rounded up: a landing pad must not be made smaller by rounding."""
    return f"{math.ceil(100.0 * metres - 1e-9) / 100.0:.2f}"


def _place(row: Dataset, shape: str) -> str:
    east, north = (float(row[f"{shape}_{axis}"]) for axis in ("east", "north"))
    to_east = f"{abs(east):.2f} m {'east' if east >= 0.0 else 'west'}"
    to_north = f"{abs(north):.2f} m {'north' if north >= 0.0 else 'south'}"
    return f"{to_east} and {to_north} of the present mark"


def _turn(row: Dataset) -> str:
    return f"towards {(float(row['rectangle_azimuth']) * DEGREES) % 180.0:.0f} deg east of north"


def _table(sizes: Dataset) -> Any:
    heads = ["flights that it takes", "circle, radius", "area", "rectangle", "area", "circle shown",
             "flights at least"]  # fmt: skip
    table = new_table(heads)
    for place, wanted in enumerate(sizes["probability"].to_numpy()):
        row = sizes.isel(probability=place)
        if state_of(row) != "attained":
            table.add_row(share(float(wanted)), *["-"] * 5, f"{int(row['flights_needed']):,}")
            continue
        radius = float(row["circle_radius"])
        table.add_row(
            share(float(wanted)), f"{_up(radius)} m", f"{float(row['circle_area']):.1f} m2",
            f"{_up(float(row['rectangle_length']))} by {_up(float(row['rectangle_width']))} m",
            f"{float(row['rectangle_area']):.1f} m2",
            f"{radius - float(row['circle_slack']):.2f} m", f"{int(row['flights_needed']):,}",
        )  # fmt: skip
    level = share(float(sizes.attrs["confidence"]))
    return titled(
        f"Landing pads that take all feet ({1e2 * float(sizes.attrs['foot_radius']):.0f} "
        "cm from the "
        f"axis), {level} confidence", table,
    )  # fmt: skip


def as_object(sizes: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(sizes), "tightness": tightness(sizes), "picture": str(picture),
        "pad_size": dataset_object(sizes),
    }  # fmt: skip
