"""How hard, how tilted: touchdown speed against tilt, the limits, and what the legs took."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.analysis.touchdown import touchdown as summarise
from sim.report import landing_picture, style, tables
from sim.report.display import bounds, fixed, percent
from sim.report.page.blocks import Block, Figure, Figures, Section, Sign, Table, Words
from sim.report.page.drawing import draw, key_of
from sim.report.page.facts import MOST_DRAWN, Facts
from sim.report.page.from_screen import from_screen
from sim.report.page.landing import drawn
from sim.report.sentences import weakest_limit

if TYPE_CHECKING:
    from xarray import Dataset

# what a flight that was followed to rest leaves behind: name, words, unit, factor, decimals
REST = (
    ("rest_tilt", "tilt at the end", "deg", tables.DEGREES, 1),
    ("hops", "hops", "", 1.0, 0),
    ("slide_distance", "slide along the ground", "m", 1.0, 2),
    ("peak_strut_force", "largest force in a strut", "N", 1.0, 1),
    ("peak_stroke", "largest stroke of a strut", "mm", 1000.0, 1),
    ("peak_deceleration", "largest deceleration by the ground", "m/s2", 1.0, 1),
)


def section(facts: Facts) -> Section:
    """Speed against tilt, the limits of success, and measures of the touchdown."""
    assert facts.contact is not None
    blocks: list[Block] = []
    weakest = weakest_limit(facts.contact)
    if weakest:
        blocks.append(Words(weakest))
    blocks.append(Figures([_against(facts), _cumulative(facts)]))
    limits = tables.limits_table(facts.contact)
    if limits is not None:
        blocks.append(from_screen(limits, "limit"))
    blocks.append(from_screen(tables.touchdown_table(facts.contact), "at first contact", left=2))
    rest = rest_table(facts.ds, facts.confidence)
    if rest is not None:
        blocks.append(rest)
    return Section("touchdown", "How hard, how tilted", blocks)


def _against(facts: Facts) -> Figure:
    assert facts.contact is not None
    contact, part = facts.contact, facts.ds.isel(run=slice(0, MOST_DRAWN))
    kinds = landing_picture.kinds_of(part)
    key: list[Sign] = []

    def paint(figure: Any) -> None:
        axes = figure.subplots()
        landing_picture.draw_touchdown(axes, part, contact, kinds)
        axes.set_title("")
        for text in axes.texts:
            text.set_fontsize(9.0)
        key.extend(key_of(axes))

    svg = draw("speed-and-tilt", 400.0, paint)
    key += [
        Sign("limits of success (shaded: allowed)", style.INK, "", (), line=True),
        Sign("median touchdown speed", style.NAVY, "", (6, 3), line=True),
        Sign("95th percentile of touchdown speed", style.NAVY, "", (7, 2.5, 1.5, 2.5), line=True),
    ]
    return Figure(
        "speed-and-tilt", "Touchdown speed against tilt", svg,
        alt="Each flight as a point: touchdown speed to the right, tilt at first contact upward; "
            "a frame marks what the limits of success allow. The table below has the figures.",
        caption=f"{drawn(part.sizes['run'], facts.flights)} Counts in the key are of those drawn.",
        key=key,
    )  # fmt: skip


def _cumulative(facts: Facts) -> Figure:
    """Share of flights up to each touchdown speed, sink rate and lateral speed."""
    assert facts.contact is not None
    names = (("touchdown_speed", "touchdown speed"), ("sink_rate", "sink rate"),
             ("lateral_speed", "lateral speed"))  # fmt: skip
    key: list[Sign] = []
    columns = {name: facts.ds[name].to_numpy() for name, _ in names}
    top = max(
        (float(np.nanquantile(v, 0.995)) for v in columns.values() if np.isfinite(v).any()),
        default=1.0,
    )
    shares = np.linspace(0.0, 1.0, 401)

    def paint(figure: Any) -> None:
        axes = figure.subplots()
        for (name, label), (colour, dashes) in zip(names, style.SERIES, strict=False):
            values = np.sort(np.where(np.isfinite(columns[name]), columns[name], np.inf))
            places = np.round(shares * (values.size - 1)).astype(int)
            known = np.isfinite(values[places])
            axes.plot(values[places][known], 100.0 * shares[known], color=colour, ls=dashes,
                      label=label)  # fmt: skip
        axes.set_xlim(0.0, 1.1 * top)
        axes.set_ylim(0.0, 101.0)
        axes.set_xlabel("speed at first contact [m/s]")
        axes.set_ylabel("flights up to this speed [%]")
        key.extend(key_of(axes))

    svg = draw("speeds", 400.0, paint)
    p95 = float(facts.contact["touchdown_speed"].sel(statistic="p95", bound="estimate"))
    told = f"95 % of flights touch down slower than {p95:.2f} m/s." if math.isfinite(p95) else ""
    return Figure(
        "speeds", "How many flights are slower than that", svg,
        alt="Rising curves: the share of flights below each touchdown speed, sink rate and lateral "
            f"speed. {told}",
        caption=f"All {facts.flights:,} flights; one that did not come down is never counted as "
                "slow.",
        key=key,
    )  # fmt: skip


def rest_table(ds: Dataset, confidence: float) -> Table | None:
    """What happened between touchdown and rest; None where no flight was followed so far."""
    there = [row for row in REST if row[0] in ds and bool(np.isfinite(ds[row[0]]).any())]
    if not there:
        return None
    found = summarise(ds, confidence=confidence, limits=(), quantities=[row[0] for row in there])
    rows = []
    for name, label, unit, scale, digits in there:
        row = found[name]
        low, middle, high = (float(x) for x in row.sel(statistic="p95"))
        rows.append((
            label, unit,
            fixed(float(row.sel(statistic="median", bound="estimate")), digits, scale),
            fixed(middle, digits, scale), bounds(low, high, digits, scale),
            fixed(float(row.sel(statistic="p99", bound="estimate")), digits, scale),
        ))  # fmt: skip
    level = percent(confidence, 0)
    return Table(
        f"From touchdown to rest: percentiles over all flights, {level} bounds of the 95th",
        ["until it rests", "unit", "median", "95 %", "lower to upper", "99 %"], rows, left=2,
        note="A flight without a value counts as infinitely bad: beyond.",
    )  # fmt: skip
