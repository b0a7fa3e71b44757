"""Picture of one flight: from the side, from above, and second by second."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patches import Circle
from numpy.typing import NDArray

from sim.report import style
from sim.report.display import words
from sim.report.flight_tables import outcome_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from sim.ensemble.fly_one import Event, Flight
    from sim.scenario import Scenario

Floats = NDArray[np.float64]

TICK_EVERY = 0.5  # s, between pictures of the attitude
NAMED = ("lift_off_time", "separation_time", "apogee_time", "landing_light_time", "contact_time")
SHORT = {
    "lift_off_time": "lift-off", "separation_time": "stage free", "apogee_time": "apogee",
    "landing_light_time": "light", "contact_time": "contact",
}  # fmt: skip


def draw_flight(
    path: Path, scenario: Scenario, flight: Flight, events: Sequence[Event]
) -> None:
    """Draw one flight.

    Parameters
    ----------
    path : Path
        PNG to write.
    scenario : Scenario
    flight : Flight
        From `sim.ensemble.fly_one.fly_arrays`.
    events : sequence of Event
    """
    line = flight.trace
    with style.picture(path, 12.0, 9.2) as figure:
        halves: Any = figure.subfigures(1, 2, width_ratios=(1.0, 1.45))
        left, right = halves
        side, plan = left.subplots(2, 1, height_ratios=(2.1, 1.0))
        rows = right.subplots(5, 1, sharex=True)
        title = f"{flight.about['title']}: {words(outcome_name(flight))}"
        figure.suptitle(title, x=0.01, ha="left", fontweight="bold", fontsize=11)
        _side(side, line, scenario, events)
        _plan(plan, line, scenario)
        _heights(rows[0], line)
        _speeds(rows[1], line)
        _tilt(rows[2], line)
        _commands(rows[3], line)
        _beliefs(rows[4], line)
        for row in rows:
            _mark_events(row, events)
        _name_events(rows[0], events)
        rows[-1].set_xlabel("time since the ascent igniter was commanded [s]")
        rows[-1].set_xlim(0.0, float(line["time"][-1]))
        style.caption(figure, (
            f"One simulated flight, seed {flight.about['seed']}; it says nothing of the spread. "
            f"Arrows: the nose, every {TICK_EVERY:g} s, in true angle. Shaded: a motor burns."
        ))  # fmt: skip


def nose_direction(line: dict[str, Floats]) -> tuple[Floats, Floats, Floats]:
    """East, north and up part of the unit vector along the nose, from the attitude."""
    q0, q1, q2, q3 = (line[f"quaternion_{i}"] for i in range(4))
    return 1.0 - 2.0 * (q2**2 + q3**2), 2.0 * (q1 * q2 + q0 * q3), 2.0 * (q1 * q3 - q0 * q2)


def _towards_pad(scenario: Scenario) -> tuple[float, float]:
    """Point from the launch point towards the landing pad; east if they coincide."""
    east, north = (scenario.numbers[f"landing_pad.{axis}"].value for axis in ("east", "north"))
    distance = math.hypot(east, north)
    return (east / distance, north / distance) if distance > 1e-6 else (1.0, 0.0)


def _attitudes(line: dict[str, Floats]) -> NDArray[np.int64]:
    time = line["time"]
    return np.searchsorted(time, np.arange(0.0, time[-1], TICK_EVERY)).clip(0, len(time) - 1)


# ---- where it goes -------------------------------------------------------------------------------


def _side(
    axes: Axes, line: dict[str, Floats], scenario: Scenario, events: Sequence[Event]
) -> None:
    to_east, to_north = _towards_pad(scenario)
    along = line["east"] * to_east + line["north"] * to_north
    axes.plot(along, line["up"], color=style.NAVY)
    _stage(axes, line, to_east, to_north)
    if scenario.has("landing_pad"):
        _pad_from_the_side(axes, scenario, to_east, to_north)
    axes.axhline(0.0, color=style.FAINT, lw=0.8)
    nose = nose_direction(line)
    at = _attitudes(line)
    # angles as on the screen, so that a tilt is seen as it is although the path is stretched
    axes.quiver(
        along[at], line["up"][at], nose[0][at] * to_east + nose[1][at] * to_north, nose[2][at],
        angles="uv", pivot="middle", scale=22.0, width=0.006, headwidth=2.6, headlength=3.0,
        headaxislength=3.0, color=style.RUST, zorder=3,
    )  # fmt: skip
    for event in events:
        if event.name in NAMED:
            x = float(np.interp(event.time, line["time"], along))
            z = float(np.interp(event.time, line["time"], line["up"]))
            left = event.name in ("lift_off_time", "separation_time")
            low = event.name in ("lift_off_time", "contact_time")
            axes.plot(x, z, marker="o", ms=4, color=style.INK, zorder=4)
            axes.annotate(
                SHORT[event.name], (x, z), xytext=(-10 if left else 10, 9 if low else 0),
                textcoords="offset points", va="center", ha="right" if left else "left",
                fontsize=8, color=style.INK,
            )  # fmt: skip
    ends = [float(along.min()), float(along.max()), *_pad_ends(scenario, to_east, to_north)]
    wide = max(max(ends) - min(ends), 4.0)
    axes.set_xlim(min(ends) - 0.25 * wide, max(ends) + 0.25 * wide)
    axes.set_ylim(-0.05 * float(line["up"].max()), 1.1 * float(line["up"].max()))
    axes.set_xlabel("from the launch point towards the landing pad [m] (stretched)")
    axes.set_ylabel("height of the cg above launch ground [m]")
    axes.set_title("From the side")
    axes.legend(loc="upper left")


def _pad_ends(scenario: Scenario, to_east: float, to_north: float) -> list[float]:
    """Find the ends of the landing pad along the direction of the picture; none without one."""
    if not scenario.has("landing_pad"):
        return []
    value = {k: scenario.numbers[f"landing_pad.{k}"].value for k in ("east", "north", "radius")}
    middle = value["east"] * to_east + value["north"] * to_north
    return [middle - value["radius"], middle + value["radius"]]


def _pad_from_the_side(axes: Axes, scenario: Scenario, to_east: float, to_north: float) -> None:
    height = scenario.numbers["landing_pad.height"].value
    axes.plot(_pad_ends(scenario, to_east, to_north), [height] * 2, color=style.INK, lw=3.0,
              solid_capstyle="butt", label="landing pad")  # fmt: skip


def _stage(axes: Axes, line: dict[str, Floats], to_east: float, to_north: float) -> None:
    if "stage_up" not in line:
        return
    apart = np.hypot(line["stage_east"] - line["east"], line["stage_north"] - line["north"])
    free = (np.hypot(apart, line["stage_up"] - line["up"]) > 0.5) & (line["stage_up"] > 0.0)
    if free.any():
        along = line["stage_east"] * to_east + line["stage_north"] * to_north
        axes.plot(along[free], line["stage_up"][free], color=style.AMBER, ls="--", lw=1.1,
                  label="dropped stage")  # fmt: skip


def _plan(axes: Axes, line: dict[str, Floats], scenario: Scenario) -> None:
    axes.plot(line["east"], line["north"], color=style.NAVY, label="cg")
    axes.plot(0.0, 0.0, marker="s", ms=5, color=style.INK, ls="none", label="launch point")
    if scenario.has("landing_pad"):
        value = {k: scenario.numbers[f"landing_pad.{k}"].value for k in ("east", "north", "radius")}
        centre = (value["east"], value["north"])
        axes.add_patch(Circle(centre, value["radius"], facecolor=style.GROUND,
                              edgecolor=style.INK, zorder=0.5))  # fmt: skip
        axes.plot(*centre, marker="+", ms=10, mew=1.6, color=style.INK, ls="none", label="mark")
    axes.plot(line["east"][-1], line["north"][-1], marker="o", ms=5, color=style.RUST, ls="none",
              label="contact or end")  # fmt: skip
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel("east [m]")
    axes.set_ylabel("north [m]")
    axes.set_title("From above")
    axes.legend(loc="upper left", bbox_to_anchor=(-0.02, -0.24), ncols=4, columnspacing=1.0)


# ---- second by second ----------------------------------------------------------------------------


def _heights(axes: Axes, line: dict[str, Floats]) -> None:
    axes.plot(line["time"], line["height_feet"], color=style.NAVY, label="feet")
    axes.set_ylabel("feet above\nlanding pad [m]")
    axes.set_ylim(min(0.0, float(line["height_feet"].min())), 1.18 * line["height_feet"].max())


def _speeds(axes: Axes, line: dict[str, Floats]) -> None:
    sideways = np.hypot(line["velocity_east"], line["velocity_north"])
    _lines(axes, line["time"], {"upward": line["velocity_up"], "sideways": sideways})
    axes.axhline(0.0, color=style.FAINT, lw=0.8)
    axes.set_ylabel("speed of\nthe cg [m/s]")


def _tilt(axes: Axes, line: dict[str, Floats]) -> None:
    series = {"true": np.degrees(line["tilt"])}
    if "believed_quaternion_0" in line:
        told = {f"quaternion_{i}": line[f"believed_quaternion_{i}"] for i in range(4)}
        up = np.clip(nose_direction(told)[2], -1.0, 1.0)
        series["believed"] = np.degrees(np.arccos(up))
    _lines(axes, line["time"], series)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel("tilt [deg]")


def _commands(axes: Axes, line: dict[str, Floats]) -> None:
    time = line["time"]
    gimbal = {"gimbal about y": np.degrees(line["gimbal_y"]),
              "gimbal about z": np.degrees(line["gimbal_z"])}  # fmt: skip
    _lines(axes, time, gimbal, legend=False)
    axes.set_ylabel("gimbal [deg]")
    other = axes.twinx()
    other.plot(time, 100.0 * line["throttle"], color=style.RUST, ls=":", label="throttle")
    other.set_ylim(0.0, 105.0)
    other.grid(visible=False)
    other.set_ylabel("thrust let\nthrough [%]", color=style.RUST)
    other.spines["right"].set_visible(True)
    handles = axes.get_legend_handles_labels()
    more = other.get_legend_handles_labels()
    other.legend(handles[0] + more[0], handles[1] + more[1], loc="lower left", ncols=3)


def _beliefs(axes: Axes, line: dict[str, Floats]) -> None:
    series = {
        axis: line[f"believed_{axis}"] - line[f"true_unit_{axis}"]
        for axis in ("east", "north", "up") if f"true_unit_{axis}" in line
    }  # fmt: skip
    _lines(axes, line["time"], series)
    axes.axhline(0.0, color=style.FAINT, lw=0.8)
    axes.set_ylabel("believed - true\nposition [m]")


def _lines(axes: Axes, time: Floats, series: dict[str, Any], *, legend: bool = True) -> None:
    for (label, values), (colour, dashes) in zip(series.items(), style.SERIES, strict=False):
        axes.plot(time, values, color=colour, linestyle=dashes, label=label)
    if legend and series:
        axes.legend(loc="best", ncols=len(series))


def _mark_events(axes: Axes, events: Sequence[Event]) -> None:
    at = {event.name: event.time for event in events}
    start, end = at.get("lift_off_time"), at.get("ascent_burn_out_time")
    if start is not None and end is not None:
        axes.axvspan(start, end, color=style.GROUND, zorder=0.4)
    light, contact = at.get("landing_light_time"), at.get("contact_time")
    if light is not None:
        right = contact if contact is not None else axes.get_xlim()[1]
        axes.axvspan(light, right, color=style.GROUND, zorder=0.4)
    for event in events:
        if event.name in NAMED:
            axes.axvline(event.time, color=style.FAINT, lw=0.7)


def _name_events(axes: Axes, events: Sequence[Event]) -> None:
    for event in events:
        if event.name in NAMED:
            axes.annotate(SHORT[event.name], (event.time, 1.0),
                          xycoords=axes.get_xaxis_transform(), xytext=(0, 2),
                          textcoords="offset points", ha="center", fontsize=7.5,
                          color="#59636e")  # fmt: skip
