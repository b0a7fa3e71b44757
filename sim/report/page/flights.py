"""How it flies: height, speed, tilt, gimbal and belief over time, with envelopes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.analysis.envelope import Envelope, edge_holds, envelope
from sim.report import style
from sim.report.display import percent
from sim.report.page.blocks import Block, Commands, Figure, Figures, Section, Sign, Words
from sim.report.page.drawing import draw
from sim.report.page.facts import Facts

if TYPE_CHECKING:
    from sim.ensemble.fly_again import FlownAgain

Floats = NDArray[np.float64]
Line = Mapping[str, Floats]
LEAST = 20  # flights still under way, or the envelope ends
AFTER_CONTACT, STEP = 3.0, 0.05  # s


def _turn(line: Line) -> Floats:
    return np.degrees(np.hypot(line["gimbal_y"], line["gimbal_z"]))


def _astray(line: Line) -> Floats:
    east, north = (line[f"believed_{a}"] - line[f"true_unit_{a}"] for a in ("east", "north"))
    return np.hypot(east, north)


def _tilt(line: Line) -> Floats:
    if "tilt" in line:
        return np.degrees(line["tilt"])
    from sim.ensemble.fly_one import tilt_of

    return np.degrees(tilt_of(*(line[f"quaternion_{i}"] for i in range(4))))


def _speed(line: Line) -> Floats:
    return np.sqrt(sum(line[f"velocity_{axis}"] ** 2 for axis in ("east", "north", "up")))


def _too_high(line: Line) -> Floats:
    return line["believed_up"] - line["true_unit_up"]


# name, title, label of the axis, what it is computed from, whether it may be below zero
PANELS: tuple[tuple[str, str, str, Callable[[Line], Floats], bool], ...] = (
    ("height", "Height", "feet above the landing pad [m]", lambda line: line["height_feet"], False),
    ("speed", "Speed", "speed of the cg [m/s]", _speed, False),
    ("tilt", "Tilt", "tilt [deg]", _tilt, False),
    ("gimbal", "Gimbal", "turn of the thrust line [deg]", _turn, False),
    ("belief-along", "Believed against true: place",
     "believed to true place,\nalong the ground [m]", _astray, False),
    ("belief-height", "Believed against true: height", "believed minus true height [m]", _too_high,
     True),
)  # fmt: skip

AFTER: tuple[tuple[str, str, str, Callable[[Line], Floats], bool], ...] = (
    ("after-tilt", "Tilt after the first touch", "tilt [deg]", _tilt, False),
    ("after-height", "Height after the first touch", "feet above the landing pad [m]",
     lambda line: line["height_feet"], True),
)  # fmt: skip


def section(facts: Facts) -> Section:
    """Envelopes of the flights flown again, or why there are none."""
    title = "How it flies, second by second"
    again = facts.again
    if again is None:
        return Section("flights", title, [
            Words(facts.no_traces),
            Commands([("setdown fly SCENARIO --run 0", "one flight, second by second")]),
        ])  # fmt: skip
    blocks: list[Block] = [Words(_about(facts, again))]
    if again.differing:
        blocks.append(Words(
            f"{again.differing} of these {len(again.runs)} flights did not come out as the file "
            "has them: another version of setdown flew the ensemble. These curves are of the "
            "present version; fly the ensemble again to have both alike.", "warning",
        ))  # fmt: skip
    lines = [_until(line, end) for line, end in zip(again.series, again.contact, strict=True)]
    figures = [_panel(facts, lines, *panel) for panel in PANELS]
    after = _after(again)
    if after is not None:
        figures += [_panel(facts, after, *panel) for panel in AFTER]
    blocks.append(Figures(figures))
    return Section("flights", title, blocks)


def _until(line: Line, end: float) -> dict[str, Floats]:
    """Cut a trace off at a moment, if that is known."""
    kept = line["time"] <= end if np.isfinite(end) else np.full(len(line["time"]), True)
    return {name: values[kept] for name, values in line.items()}


def _after(again: FlownAgain) -> list[dict[str, Floats]] | None:
    """Traces from the first touch on, resting on when they end; None if none was followed."""
    found = []
    for line, start in zip(again.series, again.contact, strict=True):
        kept = line["time"] >= start if np.isfinite(start) else np.zeros(len(line["time"]), bool)
        if np.count_nonzero(kept) < 3:
            continue
        part = {name: values[kept] for name, values in line.items()}
        part["time"] = part["time"] - start
        more = np.arange(part["time"][-1] + STEP, AFTER_CONTACT, STEP)
        part = {name: np.concatenate([v, np.full(len(more), v[-1])]) for name, v in part.items()}
        part["time"][len(part["time"]) - len(more) :] = more
        short = part["time"] <= AFTER_CONTACT
        found.append({name: values[short] for name, values in part.items()})
    return found if len(found) >= LEAST else None


def _about(facts: Facts, again: FlownAgain) -> str:
    size = len(again.runs)
    low, high = (100.0 * (1.0 - share) for share in edge_holds(size, 0.95, facts.confidence))
    return (
        f"{size:,} of the {facts.flights:,} flights, the first ones, were flown again for these "
        "curves. At each moment the band holds the middle 90 % (5th to 95th percentile) of those "
        f"that have not touched the ground; it ends where fewer than {LEAST} are left. Its upper "
        f"edge is really passed by {high:.0f} to {low:.0f} % of flights, with "
        f"{percent(facts.confidence, 0)} confidence, and its lower edge likewise. "
        "Its last part is of the slow ones alone: quicker flights have landed by then."
    )


def _panel(
    facts: Facts, series: Sequence[Line], name: str, title: str, label: str,
    values: Callable[[Line], Floats], signed: bool,
) -> Figure:  # fmt: skip
    times = [line["time"] for line in series]
    lines = [values(line) for line in series]
    since = f"time since {'first contact' if name.startswith('after') else 'the ascent igniter'}"
    found = envelope(times, lines, least=min(LEAST, max(1, len(lines) // 2)))

    def paint(figure: Any) -> None:
        axes = figure.subplots()
        low, middle, high = found.rows
        axes.fill_between(found.time, low, high, color=style.SKY, alpha=0.35, lw=0)
        for edge in (low, high):
            axes.plot(found.time, edge, color=style.NAVY, lw=0.8, ls="--")
        axes.plot(found.time, middle, color=style.NAVY, lw=1.6)
        axes.plot(times[0], lines[0], color=style.RUST, lw=1.1, ls=":")
        if found.time.size:
            axes.set_xlim(0.0, float(found.time[-1]))
            _limit(axes, found, signed)
        if signed:
            axes.axhline(0.0, color=style.FAINT, lw=0.8)
        axes.set_xlabel(f"{since} [s]")
        axes.set_ylabel(label)

    return Figure(
        name, title, draw(name, 270.0, paint),
        alt=f"{title} over time: median and band of the middle 90 % of "
            f"{len(lines)} flights, and one flight. {_peak(found, label)}",
        caption=f"{len(lines)} of {facts.flights:,} flights.",
        key=[
            Sign("median", style.NAVY, "", (), line=True),
            Sign("5th to 95th percentile", style.SKY, fill=True, opacity=0.45),
            Sign("one of these flights", style.RUST, "", (1.5, 2.5), line=True),
        ],
    )  # fmt: skip


def _limit(axes: Any, found: Envelope, signed: bool) -> None:
    """Frame by the envelope, so that one odd flight does not press it flat."""
    low, high = float(np.nanmin(found.rows)), float(np.nanmax(found.rows))
    room = 0.08 * max(high - low, 1e-6)
    axes.set_ylim(low - room if signed or low < 0.0 else 0.0, high + room)


def _peak(found: Envelope, label: str) -> str:
    middle = found.rows[1]
    if not middle.size or not np.isfinite(middle).any():
        return ""
    at = int(np.nanargmax(np.abs(middle)))
    what, _, unit = label.replace("\n", " ").rpartition(" ")
    return (
        f"The median of {what} is greatest, {middle[at]:.2f} {unit.strip('[]')}, after "
        f"{found.time[at]:.1f} s."
    )
