"""Where it comes down: landing points, the area that takes most of them, and where it stands."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patches import Circle, Ellipse

from sim.analysis.densest import Density, densest
from sim.analysis.flights import came_down
from sim.analysis.landing_box import landing_box
from sim.analysis.limits import foot_radius, landing_pad_radius
from sim.report import landing_picture, style, tables
from sim.report.display import percent
from sim.report.page.blocks import Block, Figure, Figures, Section, Sign, Words
from sim.report.page.drawing import draw, key_of
from sim.report.page.facts import MOST_DRAWN, MOST_READ, Facts
from sim.report.page.from_screen import from_screen
from sim.report.sentences import landing_pad_sentence, miss_sentence

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

SHARES = (0.50, 0.80, 0.95)
_SHADES = ((0.95, "#d7e6f3"), (0.80, "#9cc3e3"), (0.50, "#4f8fc4"))


def section(facts: Facts) -> Section:
    """Landing plan, probable area, landing box and where the miss comes from."""
    assert facts.box is not None
    blocks: list[Block] = [Words(miss_sentence(facts.box)), Words(landing_pad_sentence(facts.box))]
    figures = [plan(facts, facts.ds, facts.box, "plan", "Where it touches the ground")]
    area = _probable(facts)
    figures += [area] if area else []
    rest = _rest(facts)
    figures += [rest] if rest else []
    blocks.append(Figures([*figures, _how_far(facts)]))
    blocks.append(from_screen(tables.landing_box_table(facts.box), "share of flights"))
    if facts.split is not None:
        blocks.append(from_screen(tables.navigation_table(facts.split), "part"))
    return Section("landing", "Where it comes down", blocks)


def plan(
    facts: Facts, ds: Dataset, box: Dataset, name: str, title: str, verb: str = "came down"
) -> Figure:
    """Draw landing points as seen from above, with the landing pad, rings and ellipse."""
    part = ds.isel(run=slice(0, MOST_DRAWN))
    kinds = landing_picture.kinds_of(part)
    key: list[Sign] = []

    def paint(figure: Any) -> None:
        axes = figure.subplots()
        landing_picture.draw_plan(axes, part, box, kinds)
        axes.set_title("")
        key.extend(key_of(axes))
        if _feet(axes, facts):
            key.append(Sign("feet of one vehicle, to scale, at the mark", style.INK, "o"))

    svg = draw(name, 400.0, paint)
    key += [Sign(kind.label, kind.colour, kind.marker) for kind in kinds]
    middle = float(box["radius_95"].sel(about="mark", bound="estimate"))
    far = f"{middle:.2f} m" if math.isfinite(middle) else "no known distance"
    return Figure(
        name, title, svg,
        alt=f"Seen from above, points of {part.sizes['run']:,} flights around the mark, with the "
            f"landing pad, the circles that hold 50 % and 95 % of them and the 95 % ellipse about "
            f"their mean. 95 % {verb} within {far} of the mark.",
        caption=f"{drawn(part.sizes['run'], ds.sizes['run'])} East and north of the mark, in "
                f"metres; ranges are bounds with {percent(facts.confidence, 0)} confidence, over "
                f"all {ds.sizes['run']:,} flights.",
        key=key,
    )  # fmt: skip


def drawn(shown: int, total: int) -> str:
    """Say how many flights are drawn."""
    if shown == total:
        return f"{total:,} flights."
    return f"The first {shown:,} of {total:,} flights are drawn."


def _feet(axes: Axes, facts: Facts) -> bool:
    """Draw the feet of one vehicle at the mark, to scale."""
    radius = foot_radius(facts.ds)
    if not radius or facts.scenario is None or not facts.scenario.has("legs"):
        return False
    count = int(facts.scenario.choices["legs.count"])
    first = facts.scenario.numbers["legs.first_azimuth"].value
    angles = first + 2.0 * np.pi * np.arange(count) / count
    for east, north in zip(radius * np.sin(angles), radius * np.cos(angles), strict=True):
        axes.plot([0.0, east], [0.0, north], color=style.INK, lw=0.8, zorder=5)
    axes.plot(radius * np.sin(angles), radius * np.cos(angles), marker="o", ls="none", ms=3.2,
              color=style.INK, zorder=5)  # fmt: skip
    return True


def _probable(facts: Facts) -> Figure | None:
    """Draw the smallest areas that take shares of the landings."""
    assert facts.box is not None
    part = facts.ds.isel(run=slice(0, 10 * MOST_READ))
    down = came_down(part)
    east, north = (part[f"miss_{axis}"].to_numpy()[down] for axis in ("east", "north"))
    if east.size < 20:
        return None
    radius = landing_pad_radius(facts.ds)
    half = landing_picture.half_width(np.hypot(east, north), facts.box, radius)
    found = densest(east, north, half, shares=SHARES)
    if found is None:
        return None
    svg = draw("area", 400.0, lambda figure: _paint_area(figure, facts, found, half, radius))
    key = [
        Sign(f"smallest area with {percent(share, 0)} of the landings", shade, fill=True)
        for share, shade in reversed(_SHADES)
    ] + [
        Sign("mean and 95 % normal ellipse", style.RUST, "x", (1.5, 2.5), line=True),
        Sign("landing pad", style.INK, "", (), line=True),
        Sign("mark", style.INK, "+"),
    ]  # fmt: skip
    return Figure(
        "area", "Probable area", svg,
        alt=f"Seen from above: shaded areas, darkest in the middle, that take {_listed()} of the "
            "landings, with the landing pad and the ellipse of a normal law of the same spread.",
        caption=f"From {east.size:,} landings; a histogram smoothed a little, so the edges are a "
                "picture and carry no bounds: those are in the table below.",
        key=key,
    )  # fmt: skip


def _listed() -> str:
    return ", ".join(percent(share, 0) for share in SHARES)


def _paint_area(
    figure: Any, facts: Facts, found: Density, half: float, radius: float | None
) -> None:
    assert facts.box is not None
    axes = figure.subplots()
    middles = 0.5 * (found.edges_east[1:] + found.edges_east[:-1])
    for share, shade in _SHADES:
        level = float(found.levels[SHARES.index(share)])
        if 0.0 < level < found.cells.max():
            axes.contourf(middles, middles, found.cells.T, levels=[level, np.inf], colors=[shade])
            axes.contour(middles, middles, found.cells.T, levels=[level], colors=[style.NAVY],
                         linewidths=0.6)  # fmt: skip
    if radius is not None and math.isfinite(radius):
        axes.add_patch(Circle((0, 0), radius, fill=False, edgecolor=style.INK, linewidth=1.6))
    _ellipse(axes, facts.box)
    axes.plot(0, 0, marker="+", color=style.INK, markersize=13, markeredgewidth=1.8)
    axes.set_xlim(-half, half)
    axes.set_ylim(-half, half)
    axes.set_aspect("equal")
    axes.set_xlabel("east of the mark [m]")
    axes.set_ylabel("north of the mark [m]")


def _ellipse(axes: Axes, box: Dataset) -> None:
    major, minor = (float(x) for x in box["sigma"].sel(about="centre"))
    azimuth = float(box["azimuth"].sel(about="centre"))
    if not (math.isfinite(major) and math.isfinite(azimuth)):
        return
    scale = float(box["ellipse_scale"].sel(share=0.95))
    centre = [float(x) for x in box["bias"].sel(bound="estimate")]
    axes.add_patch(Ellipse(
        (centre[0], centre[1]), 2.0 * scale * major, 2.0 * scale * minor,
        angle=90.0 - math.degrees(azimuth), fill=False, edgecolor=style.RUST, linestyle=":",
        linewidth=1.6,
    ))  # fmt: skip
    axes.plot(*centre, marker="x", color=style.RUST, markersize=6, markeredgewidth=1.6)


def _how_far(facts: Facts) -> Figure:
    """Draw the share of flights within each distance of the mark."""
    assert facts.box is not None
    down = came_down(facts.ds)
    far = np.sort(np.where(down, facts.ds["miss_distance"].to_numpy(), np.inf))
    shares = np.linspace(0.0, 1.0, 401)
    at = far[np.round(shares * (far.size - 1)).astype(int)]
    known = np.isfinite(at)
    room, feet = landing_pad_radius(facts.ds), foot_radius(facts.ds)
    edge = room - feet if room is not None and feet is not None else math.inf
    percents = facts.box["percent"].to_numpy()
    rows = facts.box["miss"].to_numpy()
    key = [
        Sign("share of flights", style.NAVY, "", (), line=True),
        Sign("bounds of the percentiles in the table", style.RUST, "|", (), line=True),
    ]

    def paint(figure: Any) -> None:
        axes = figure.subplots()
        axes.plot(at[known], 100.0 * shares[known], color=style.NAVY)
        for share, (low, _, high) in zip(percents, rows, strict=True):
            if math.isfinite(low) and math.isfinite(high):
                axes.plot([low, high], [share, share], color=style.RUST, marker="|", ms=7, lw=1.6)
        if math.isfinite(edge):
            axes.axvline(edge, color=style.INK, ls="--", lw=1.1)
        reach = [float(at[known].max(initial=1.0)), 3.0 * edge if math.isfinite(edge) else math.inf]
        axes.set_xlim(0.0, max(min(reach), float(np.nanmax(np.where(known, at, np.nan)[:397],
                                                           initial=0.5))))  # fmt: skip
        axes.set_ylim(0.0, 101.0)
        axes.set_xlabel("distance from the mark [m]")
        axes.set_ylabel("flights within that [%]")

    if math.isfinite(edge):
        key.append(Sign("farther out, a foot may miss the landing pad", style.INK, "", (6, 3),
                        line=True))  # fmt: skip
    return Figure(
        "how-far", "How far from the mark", draw("how-far", 400.0, paint),
        alt=f"A rising curve: the share of flights within each distance of the mark. "
            f"{miss_sentence(facts.box)}",
        caption=f"All {facts.flights:,} flights at first contact; one that did not come down "
                f"counts as infinitely far. Bounds with {percent(facts.confidence, 0)} confidence.",
        key=key,
    )  # fmt: skip


def _rest(facts: Facts) -> Figure | None:
    """Draw where the vehicle ends, if the flights were followed to rest."""
    needed = ("rest_east", "rest_north", "landing_east", "landing_north")
    if any(name not in facts.ds for name in needed):
        return None
    ds = facts.ds[["outcome", "success", "miss_east", "miss_north", "miss_distance",
                   *(n for n in ("contact_point",) if n in facts.ds)]].copy()  # fmt: skip
    for axis in ("east", "north"):
        mark = facts.ds[f"landing_{axis}"].to_numpy() - facts.ds[f"miss_{axis}"].to_numpy()
        ds[f"miss_{axis}"] = ("run", facts.ds[f"rest_{axis}"].to_numpy() - mark)
    ds["miss_distance"] = ("run", np.hypot(ds["miss_east"].to_numpy(), ds["miss_north"].to_numpy()))
    if not came_down(ds).any():
        return None
    ds.attrs = facts.ds.attrs
    box = landing_box(ds, confidence=facts.confidence)
    return plan(facts, ds, box, "rest", "Where it ends, after hops and slides", "ended")
