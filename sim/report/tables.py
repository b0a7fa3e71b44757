"""Tables for the screen, from datasets of the analyses; rich fits them to the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rich import box as borders
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, Group, RenderResult
from rich.table import Table
from rich.text import Text

from sim.report.display import bounds, fixed, percent, signed, words
from sim.report.sentences import limit_words

if TYPE_CHECKING:
    from xarray import Dataset

DEGREES = 180.0 / math.pi
# quantity of the touchdown table -> unit on screen, factor to it, decimals
SHOWN = {
    "sink_rate": ("m/s", 1.0, 2),
    "lateral_speed": ("m/s", 1.0, 2),
    "touchdown_speed": ("m/s", 1.0, 2),
    "tilt": ("deg", DEGREES, 1),
    "tilt_rate": ("deg/s", DEGREES, 1),
}


_BETWEEN = 2  # columns of the screen between two of a table


class _Table(Table):
    """A table that folds its heads, between words, before it breaks what stands below them."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        heads = [str(column.header) for column in self.columns]
        cells = [max(map(_width, column.cells), default=0) for column in self.columns]
        natural = sum(max(cell_len(head), cell) for head, cell in zip(heads, cells, strict=True))
        if natural + _BETWEEN * (len(heads) - 1) > options.max_width:
            for column, head, cell in zip(self.columns, heads, cells, strict=True):
                column.header = textwrap.fill(head, max([1, cell, *map(len, head.split())]))
        yield from super().__rich_console__(console, options)


def _width(cell: Any) -> int:
    return max(map(cell_len, (cell.plain if isinstance(cell, Text) else str(cell)).splitlines()),
               default=0)  # fmt: skip


def new_table(columns: Sequence[str], *, left: int = 1) -> Table:
    """Make a table of our look: heads on one rule, the first columns left, the others right."""
    table = _Table(
        box=borders.SIMPLE_HEAD, show_edge=False, pad_edge=False, collapse_padding=True,
        header_style="dim",
    )  # fmt: skip
    for place, column in enumerate(columns):
        table.add_column(column, justify="left" if place < left else "right", no_wrap=place < left)
    return table


def titled(title: str, table: Table) -> Group:
    """Put a title above a table, as wide as the screen and not as the table."""
    return Group(Text(title, style="bold"), table)


def landing_box_table(box: Dataset) -> Group:
    """Distances of the landing point from the mark, with bounds."""
    level = percent(float(box.attrs["confidence"]), 0)
    title = f"Landing box: distance of the landing point from the mark [m], {level} bounds"
    table = new_table(["", "distance", "lower to upper"])
    for share in box["percent"].to_numpy():
        lower, middle, upper = (float(x) for x in box["miss"].sel(percent=share))
        name = {50.0: "50 %  (circular error probable)", 95.0: "95 %  (R95)"}.get(
            float(share), f"{share:.0f} %"
        )
        table.add_row(name, fixed(middle), bounds(lower, upper))
    table.add_section()
    for axis in ("east", "north"):
        lower, middle, upper = (float(x) for x in box["bias"].sel(axis=axis))
        table.add_row(f"mean, {axis} of the mark", _plus(middle), _signed(lower, upper))
    major, minor = (float(x) for x in box["sigma"].sel(about="centre"))
    azimuth = float(box["azimuth"].sel(about="centre")) * DEGREES
    table.add_row(
        "spread about the mean, one sigma", f"{fixed(major)} by {fixed(minor)}",
        f"long axis {azimuth:.0f} deg east of north" if math.isfinite(azimuth) else "",
    )  # fmt: skip
    return titled(title, table)


def _signed(lower: float, upper: float) -> str:
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return bounds(lower, upper)
    return f"{signed(lower)} to {signed(upper)}"


def _plus(value: float) -> str:
    return signed(value) if math.isfinite(value) else "-"


def touchdown_table(touchdown: Dataset) -> Group:
    """Speeds and angles at first contact."""
    level = percent(float(touchdown.attrs["confidence"]), 0)
    title = f"At first contact: percentiles over all flights, {level} bounds of the 95th"
    table = new_table(["", "unit", "median", "95 %", "lower to upper", "99 %"], left=2)
    for name, (unit, scale, digits) in SHOWN.items():
        if name not in touchdown:
            continue
        row = touchdown[name]
        low, middle, high = (float(x) for x in row.sel(statistic="p95"))
        table.add_row(
            words(name), unit,
            fixed(float(row.sel(statistic="median", bound="estimate")), digits, scale),
            fixed(middle, digits, scale), bounds(low, high, digits, scale),
            fixed(float(row.sel(statistic="p99", bound="estimate")), digits, scale),
        )  # fmt: skip
    return titled(title, table)


def limits_table(touchdown: Dataset) -> Group | None:
    """How often each line of the success predicate holds; None without one."""
    if touchdown.sizes.get("limit", 0) == 0:
        return None
    level = percent(float(touchdown.attrs["confidence"]), 0)
    title = f"Limits of success: share of flights on which each holds, {level} bounds"
    table = new_table(["limit", "holds", "lower to upper"])
    for name in touchdown["limit"].to_numpy():
        row = touchdown["limit_probability"].sel(limit=name)
        variable, _, text = str(name).partition(" ")
        table.add_row(limit_words(variable, text), *_shares(row))
    return titled(title, table)


def outcomes_table(touchdown: Dataset) -> Group:
    """Count what became of the flights; outcomes that never came are left out but for one."""
    level = percent(float(touchdown.attrs["confidence"]), 0)
    title = f"What became of the flights, {level} bounds"
    table = new_table(["outcome", "flights", "share", "lower to upper"])
    for name, count in zip(
        touchdown["outcome"].to_numpy(), touchdown["outcome_count"].to_numpy(), strict=True
    ):
        if count or str(name) == "numerical_failure":
            row = touchdown["outcome_probability"].sel(outcome=name)
            table.add_row(words(str(name)), f"{int(count):,}", *_shares(row))
    return titled(title, table)


def _shares(row: Any) -> tuple[str, str]:
    lower, middle, upper = (float(x) for x in row)
    return percent(middle), f"{100.0 * lower:.1f} to {100.0 * upper:.1f} %"


def navigation_table(navigation: Dataset) -> Group:
    """Split the miss into what was flown wrongly and what was believed wrongly."""
    title = "Where the miss comes from: miss = guidance error - navigation error [m]"
    columns = ["", "mean east", "mean north", "median", "95 %", "share of variance"]
    table = new_table(columns)
    names = {
        "miss": "miss",
        "guidance": "guidance (believed to wanted)",
        "navigation": "navigation (believed to true)",
    }
    for part, name in names.items():
        mean = navigation["mean"].sel(part=part, bound="estimate")
        far = navigation["distance"].sel(part=part, bound="estimate")
        share = float(navigation["share_of_variance"].sel(part=part))
        table.add_row(
            name, _plus(float(mean.sel(axis="east"))), _plus(float(mean.sel(axis="north"))),
            fixed(float(far.sel(percent=50.0))), fixed(float(far.sel(percent=95.0))),
            percent(share, 0),
        )  # fmt: skip
    return titled(title, table)


def sweep_table(summary: Dataset, axis: str, labels: Sequence[str]) -> Group:
    """Success and touchdown speed at each level of one swept input.

    Parameters
    ----------
    summary : Dataset
        From `sim.analysis.sweep`.
    axis : str
        Name of the swept input as people write it.
    labels : sequence of str
        Its levels.
    """
    heads = [axis, "success", "lower to upper", "median speed", "95 %", "lower to upper"]
    table = new_table(heads)
    swept = next(str(dim) for dim in summary["success"].dims if dim != "bound")
    for place, label in enumerate(labels):
        row = summary.isel({swept: place})
        speed = row["touchdown_speed"]
        low, middle, high = (float(x) for x in speed.sel(statistic="p95"))
        table.add_row(
            label, *_shares(row["success"]),
            fixed(float(speed.sel(statistic="median", bound="estimate"))),
            fixed(middle), bounds(low, high),
        )  # fmt: skip
    return titled(f"{_levels(summary)}; touchdown speed in m/s", table)


def _levels(summary: Dataset) -> str:
    level = percent(float(summary.attrs["confidence"]), 0)
    return (
        f"{int(summary['flights']):,} flights at each level, the same draws at every one; "
        f"{level} bounds"
    )


def sweep_matrix(
    summary: Dataset, variable: str, axes: Sequence[str], labels: Sequence[Sequence[str]]
) -> Group:
    """One result of a sweep over two inputs, the first down, the second across.

    Parameters
    ----------
    summary : Dataset
        From `sim.analysis.sweep`.
    variable : {"success", "touchdown_speed"}
    axes, labels : sequences
        Names and levels of the two inputs.
    """
    table = new_table(["", *labels[1]])
    first, second = (str(dim) for dim in summary["success"].dims if dim != "bound")
    rows = summary[variable]
    if "statistic" in rows.dims:
        rows = rows.sel(statistic="p95")
    scale, digits = (100.0, 0) if variable == "success" else (1.0, 2)
    for i, label in enumerate(labels[0]):
        cells = []
        for j in range(len(labels[1])):
            low, middle, high = (float(x) for x in rows.isel({first: i, second: j}))
            ends = bounds(low, high, digits, scale).replace("no bound", "-")
            cells.append(f"{fixed(middle, digits, scale)} ({ends})")
        table.add_row(label, *cells)
    name = "Success [%]" if variable == "success" else "Touchdown speed, 95th percentile [m/s]"
    where = f"down: {axes[0]}; across: {axes[1]}"
    return titled(f"{name}\n{_levels(summary)}\n{where}", table)


def mark(good: bool | None) -> Text:
    """Pass and fail in words, coloured where there are colours."""
    if good is None:
        return Text("not known", style="dim")
    return Text("holds", style="green") if good else Text("FAILS", style="bold red")


def steps(found: Sequence[tuple[str, str]]) -> Text:
    """Say what to run next and what for; lines are never broken, so that they can be copied."""
    width = max(len(command) for command, _ in found)
    lines = [f"  {command:{width}}   {what}" for command, what in found]
    return Text("\n".join(lines), no_wrap=True, overflow="ignore")
