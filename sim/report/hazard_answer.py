"""What `setdown hazard` shows: where everything comes down, beside what codes ask for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.as_json import dataset_object
from sim.report.decision_words import share
from sim.report.hazard_codes import OFFICER, distances
from sim.report.sentences import CAUTION
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

_CENTRES = {"launch_point": "launch point", "mark": "landing mark"}
_PIECES = {"both": "all of it", "vehicle": "vehicle alone", "stage": "dropped stage alone"}


def parts(found: Dataset, scenario: str) -> Iterator[Any]:
    """Answer, tables and what to do next, in the order of printing."""
    yield Text(answer(found), style="bold")
    yield from shortfalls(found)
    yield OFFICER
    yield ""
    yield _radii(found)
    yield ""
    yield _codes(found)
    yield ""
    yield Text(what_was_flown(found), style="dim")
    yield "Next:"
    yield steps([
        (f"setdown faults {scenario}", "which fault costs most, what noticing it is worth"),
        (f"setdown hazard {scenario} -n {2 * int(found.attrs['flights'])}", "a tighter bound"),
    ])  # fmt: skip
    yield ""
    yield CAUTION


def answer(found: Dataset) -> str:
    """How far from the launch point everything lies, for the largest share that is shown."""
    level = share(float(found.attrs["confidence"]))
    told = []
    for wanted in found["share"].to_numpy():
        bound = _radius(found, float(wanted), "upper")
        if math.isfinite(bound):
            told.append(f"{share(float(wanted))} within {rounded_up(bound)} m")
    kinds = "all scatter and all faults" if int(found.attrs["faults"]) else "all scatter, NO FAULTS"
    if not told:
        return f"These flights are too few to say where everything comes down ({kinds})."
    return (
        f"Of all flights, {kinds}, everything comes down {' and '.join(told)} of the launch point "
        f"({level} confidence each)."
    )


def shortfalls(found: Dataset) -> Iterator[str]:
    """What is not shown, why, and how many flights would do; what was assumed."""
    flown = int(found.attrs["flights"])
    for wanted, needed in zip(found["share"].to_numpy(), found["flights_needed"].to_numpy(),
                              strict=True):  # fmt: skip
        name = share(float(wanted))
        bound = _radius(found, float(wanted), "upper")
        if int(needed) == 0:
            yield (
                f"{name}: NOT SHOWN, and no number of flights will: several faults at once, which "
                f"were not flown, may come in {share(float(found.attrs['rest_upper']))} of flights."
                " Test the mechanisms more often, or ask for less."
            )
        elif int(needed) > flown:
            yield f"{name}: NOT SHOWN by {flown:,} flights; it needs {int(needed):,} at least (-n)."
        elif not math.isfinite(bound):
            yield (
                f"{name}: NO RADIUS; too many flights did not come down in the time allowed "
                "(flight.longest), or not as numbers."
            )
    if not int(found.attrs["faults"]):
        yield (
            "The scenario has no faults: this is where SOUND vehicles come down, and no clear "
            "area. Give each fault that is possible a chance with --chance, or write [faults.NAME] "
            "sections."
        )
    elif math.isfinite(float(found.attrs["assumed_chance"])):
        chance = share(float(found.attrs["assumed_chance"]))
        yield (
            f"The scenario has no faults: each of {found.attrs['faults']} possible ones was "
            f"ASSUMED to have a chance of {chance}."
        )


def what_was_flown(found: Dataset) -> str:
    """Sample sizes and methods."""
    apart = found.sizes["stratum"]
    rest = float(found.attrs["rest_upper"])
    left = f"; up to {share(rest)} not flown, counted as outside" if rest > 0.0 else ""
    return (
        f"{int(found.attrs['flights']):,} flights in {apart} sets of faults on the same draws, "
        f"weighted by chance{left}. Bounds: exact for each set (Clopper and Pearson 1934), put "
        "together by drawing, chances from tests from their posterior; one set alone gives the "
        "order statistic of Wilks (1941). Points of first touch: add the vehicle's length, and "
        "what may bounce, slide or burn."
    )


def _radius(found: Dataset, wanted: float, bound: str, centre: str = "launch_point",
            piece: str = "both") -> float:  # fmt: skip
    return float(found["radius"].sel(centre=centre, piece=piece, share=wanted, bound=bound))


def rounded_up(metres: float) -> str:
    """Tenths of a metre, rounded up: a clear area must not be made smaller by rounding."""
    return f"{math.ceil(10.0 * metres - 1e-9) / 10.0:.1f}" if math.isfinite(metres) else "-"


def _radii(found: Dataset) -> Any:
    level = share(float(found.attrs["confidence"]))
    heads = ["about", "what"]
    for wanted in found["share"].to_numpy():
        heads += [f"{share(float(wanted))}: seen", "bound"]
    table = new_table(heads, left=2)
    for centre, where in _CENTRES.items():
        for piece, what in _PIECES.items():
            cells = []
            for wanted in found["share"].to_numpy():
                for bound in ("estimate", "upper"):
                    metres = _radius(found, float(wanted), bound, centre, piece)
                    cells.append(
                        f"{rounded_up(metres)} m" if math.isfinite(metres) else "not shown"
                    )
            table.add_row(where, what, *cells)
        table.add_section()
    return titled(f"Radius that holds a share of flights, upper bound at {level} confidence", table)


def _codes(found: Dataset) -> Any:
    table = new_table(["stand-off", "of whom, where", "source", "how it is known"], left=1)
    for column in table.columns[1:]:
        column.justify = "left"
    for row in distances(found.attrs, float(found.attrs["apogee_height_99"])):
        table.add_row(f"{row.metres:.1f} m", row.who, row.source, row.current)
    facts = (
        f"{float(found.attrs['impulse']):.0f} N s in {int(found.attrs['motors'])} motors, "
        f"{1e3 * float(found.attrs['propellant_mass']):.0f} g propellant, "
        f"{float(found.attrs['lift_off_mass']):.2f} kg at lift-off"
    )
    return titled(f"Published distances, as a reminder ({facts})", table)


def as_object(found: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    rows = distances(found.attrs, float(found.attrs["apogee_height_99"]))
    return {
        "answer": answer(found), "scenario_digest": found.attrs["scenario_digest"],
        "remarks": list(shortfalls(found)), "officer": OFFICER,
        "picture": str(picture), "hazard": dataset_object(found),
        "codes": [
            {"metres": row.metres, "who": row.who, "source": row.source, "known": row.current}
            for row in rows
        ],
    }  # fmt: skip
