"""What `setdown budget` shows: what each source costs, and what fixing it would gain."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.as_json import dataset_object
from sim.report.decision_words import share
from sim.report.display import percent, signed
from sim.report.sentences import CAUTION
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

NAMES = {"miss": "miss", "touchdown_speed": "touchdown speed", "failure": "failure"}
ON_SCREEN = {"miss": "m", "touchdown_speed": "m/s", "failure": ""}
LEAST = 0.005  # share of the variance below which a source is not listed
MOST = 14


def ranked(shares: Dataset, quantity: str) -> list[str]:
    """Names of the sources, the largest total share first."""
    total = shares["total"].sel(quantity=quantity, bound="estimate")
    return [str(name) for name in total.sortby(total, ascending=False)["source"].to_numpy()]


def parts(shares: Dataset, followed: Dataset, scenario: str) -> Iterator[Any]:
    """Answer, tables and what to do next, in the order of printing."""
    yield Text(answer(shares, followed), style="bold")
    for quantity in shares["quantity"].to_numpy():
        yield ""
        yield _table(shares, str(quantity))
    if followed.sizes.get("source", 0):
        yield ""
        yield from _followed_tables(followed)
    yield ""
    yield Text(_method(shares, followed), style="dim")
    yield "Next:"
    first = ranked(shares, str(shares["quantity"].to_numpy()[-1]))[0]
    key = first if "." in first and " " not in first else "launch_pad.tilt"
    yield steps([
        (f"setdown tolerance {scenario} {key} --of spread", "how good it must be"),
        (f"setdown worst {scenario}", "the likeliest ways to fail"),
    ])  # fmt: skip
    yield ""
    yield CAUTION


def answer(shares: Dataset, followed: Dataset) -> str:
    """Name the largest source of each outcome, and what halving one would gain most."""
    told = []
    for quantity in shares["quantity"].to_numpy():
        best = ranked(shares, str(quantity))[0]
        low, middle, high = (
            float(x) for x in shares["total"].sel(quantity=quantity, source=best)
        )
        told.append(
            f"{NAMES.get(quantity, quantity)}: {best} ({percent(middle, 0)} of the variance, "
            f"{100.0 * max(low, 0.0):.0f} to {100.0 * min(high, 1.0):.0f} %)"
        )
    text = f"Largest source of {'; of '.join(told)}."
    gain = _best_gain(followed)
    return f"{text} {gain}" if gain else text


def _best_gain(followed: Dataset) -> str:
    if not followed.sizes.get("source", 0):
        return ""
    halved = followed["success"].sel(change="halved")
    middle = halved.sel(bound="estimate").to_numpy()
    best = max(range(len(middle)), key=lambda i: middle[i] if math.isfinite(middle[i]) else -1.0)
    low = float(halved.isel(source=best).sel(bound="lower"))
    name = str(followed["source"].to_numpy()[best])
    if low <= 0.0:
        return "Halving any one source gains no success that can be told from noise."
    return (
        f"Halving {name} would gain most: success from "
        f"{percent(float(followed.attrs['base_success']))} by "
        f"{signed(100.0 * middle[best], 1)} points."
    )


def _table(shares: Dataset, quantity: str) -> Any:
    spread = float(shares["spread"].sel(quantity=quantity))
    unit = ON_SCREEN.get(quantity, str(shares["unit"].sel(quantity=quantity).item()))
    own = f" [{unit}]" if unit else ""
    table = new_table(["source", "total [%]", "first order [%]", f"alone{own}",
                       f"all but this{own}"])  # fmt: skip
    shown = 0
    for name in ranked(shares, quantity):
        row = shares.sel(quantity=quantity, source=name)
        if float(row["total"].sel(bound="estimate")) < LEAST or shown >= MOST:
            break
        shown += 1
        table.add_row(
            name, _shares(row["total"]), _shares(row["first"]),
            f"{float(row['alone'].sel(bound='estimate')):.3f}",
            f"{float(row['left_if_fixed'].sel(bound='estimate')):.3f}",
        )  # fmt: skip
    rest = shares.sizes["source"] - shown
    if rest:
        table.add_row(f"{rest} others, each below", "", "", "", "")
    title = NAMES.get(quantity, quantity)
    return titled(
        f"{title[0].upper()}{title[1:]}: standard deviation {spread:.3f} {unit}, "
        f"{share(float(shares.attrs['confidence']))} bounds", table,
    )  # fmt: skip


def _shares(row: Any) -> str:
    """Estimate and bounds; what scatters below zero is shown as zero."""
    low, middle, high = (max(100.0 * float(x), 0.0) for x in row)
    return f"{middle:.1f} ({low:.0f} to {high:.0f})"


def _followed_tables(followed: Dataset) -> Iterator[Any]:
    attrs = followed.attrs
    yield Text(
        f"The largest sources flown again, {int(attrs['flights']):,} flights each: by themselves, "
        f"taken away, and halved. Now: 95 % miss {attrs['base_miss_95']:.2f} m, 95 % speed "
        f"{attrs['base_speed_95']:.2f} m/s, success {percent(float(attrs['base_success']))}. In "
        "brackets: cannot be told from noise."
    )
    alone = new_table(["alone", "miss, standard deviation [m]", "speed [m/s]"])
    for name in followed["source"].to_numpy():
        row = followed.sel(source=name)
        alone.add_row(str(name), f"{float(row['alone_miss']):.2f}",
                      f"{float(row['alone_speed']):.3f}")  # fmt: skip
    yield alone
    for change, word in (("without", "taken away"), ("halved", "halved")):
        table = new_table([word, "95 % miss [m]", "95 % speed [m/s]", "success [points]"])
        for name in followed["source"].to_numpy():
            row = followed.sel(source=name, change=change)
            if math.isfinite(float(row["success"].sel(bound="estimate"))):
                table.add_row(
                    str(name), _change(row["miss_95"], 2), _change(row["speed_95"], 2),
                    _change(row["success"], 1, 100.0),
                )  # fmt: skip
        yield ""
        yield table


def _change(row: Any, digits: int, scale: float = 1.0) -> str:
    low, middle, high = (scale * float(x) for x in row)
    if not math.isfinite(middle):
        return "-"
    text = signed(middle, digits)
    return text if low > 0.0 or high < 0.0 else f"({text})"


def _method(shares: Dataset, followed: Dataset) -> str:
    flights = int(shares.attrs["flights"])
    count = followed.sizes.get("source", 0)
    more = f" and {int(followed.attrs['flights']) * (3 * count + 1):,}" if count else ""
    lost, capped = int(shares.attrs["not_down"]), int(shares.attrs["capped"])
    gone = f" {lost:,} flights without a landing count as the farthest and fastest." if lost else ""
    if capped:
        gone += (
            f" {capped:,} touchdowns faster than {float(shares.attrs['cap']):g} times the limit "
            "count as so fast, or these few would be all that the budget of speed is about."
        )
    return (
        f"{flights:,}{more} flights; bounds {share(float(shares.attrs['confidence']))}. "
        "Sobol' indices (Saltelli 2010, Jansen 1999; the miss as a "
        f"vector, Gamboa 2014) over {int(shares.attrs['replicates'])} independent Latin "
        "hypercubes; "
        "alone: root of the first-order part; all but this: what is left on average. Total minus "
        f"first order is interaction with other sources.{gone}"
    )


def as_object(shares: Dataset, followed: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(shares, followed), "picture": str(picture),
        "budget": dataset_object(shares), "followed": dataset_object(followed),
    }  # fmt: skip
