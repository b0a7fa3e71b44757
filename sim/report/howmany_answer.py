"""What `setdown howmany` shows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.decision_words import share
from sim.report.display import percent
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset


def parts(found: Dataset) -> Iterator[Any]:
    """Answer, table and what to do next, in the order of printing."""
    success, level = (share(float(found.attrs[name])) for name in ("success", "confidence"))
    needed = found["runs_needed"].to_numpy()
    failures = found["failures"].to_numpy()
    yield Text(
        f"{int(needed[0]):,} flights without a failure show a success of at least {success} with "
        f"{level} confidence; with {int(failures[1])} failure{'s' if failures[1] > 1 else ''} it "
        f"takes {int(needed[1]):,}.",
        style="bold",
    )
    yield from _at_hand(found, success, level)
    yield ""
    heads = ["failures allowed", "flights needed", "share that fails"]
    chances = found["chance_to_show"].to_numpy() if "chance_to_show" in found else None
    table = new_table([*heads, "chance that it comes out"] if chances is not None else heads)
    for place, (allowed, flights) in enumerate(zip(failures, needed, strict=True)):
        row = [f"{int(allowed):,}", f"{int(flights):,}", percent(allowed / flights, 2)]
        table.add_row(*row, *([percent(chances[place])] if chances is not None else []))
    yield titled(f"Flights, their number fixed beforehand, that show {success} ({level})", table)
    yield ""
    yield "Exact binomial: Wilks (1941); Hanson and Beard, NASA/TP-2010-216447."
    count = int(needed[min(3, len(needed) - 1)])
    yield "Next:"
    yield steps([
        (f"setdown disperse scenarios/heron.toml -n {count}", "fly so many"),
        (f"setdown tolerance FILE KEY --success {float(found.attrs['success']):g}",
         "how far an input may go at this success"),
    ])  # fmt: skip


def _at_hand(found: Dataset, success: str, level: str) -> Iterator[Any]:
    """Say what the flights at hand allow, and what they show."""
    if "failures_allowed" in found:
        allowed = int(found["failures_allowed"])
        if allowed < 0:
            yield "The flights at hand are too few: even without a failure they cannot show it."
        else:
            yield f"Among the flights at hand {allowed:,} may fail."
    if "shown" in found:
        attained = percent(float(found["confidence_attained"]), 2)
        does = "They show" if bool(found["shown"]) else "They do not show"
        yield f"{does} {success} with {level} confidence; the confidence they attain is {attained}."
