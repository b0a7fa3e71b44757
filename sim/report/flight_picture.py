"""Picture of one flight: from the side, from above, and second by second."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.patches import Circle
from numpy.typing import NDArray

from sim.report import style
from sim.report.flight_sheet import Pad, Sheet

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Floats = NDArray[np.float64]

# Margins, in parts of the picture. Fixed, with room for wide numbers: to let them be found takes
# longer than flying and drawing together.
_LEFT = {"left": 0.055, "right": 0.4, "bottom": 0.115, "top": 0.945, "hspace": 0.2}
_RIGHT = {"left": 0.495, "right": 0.935, "bottom": 0.07, "top": 0.955, "hspace": 0.11}

TICK_EVERY = 0.5  # s, between pictures of the attitude
SHORT = {
    "lift_off_time": "lift-off", "separation_time": "stage free", "apogee_time": "apogee",
    "landing_light_time": "light", "contact_time": "contact",
}  # fmt: skip


def draw_sheet(path: Path, sheet: Sheet) -> None:
    """Draw one flight.

    Parameters
    ----------
    path : Path
        PNG to write.
    sheet : Sheet
        From `sim.report.flight_sheet.make_sheet`.

    Raises
    ------
    RunFailure
        The file cannot be written.
    """
    line, times = sheet.line, {n: at for n, at in sheet.times.items() if n in SHORT}
    with style.picture(path, 12.0, 9.2, arranged=False) as figure:
        left = figure.add_gridspec(2, 1, height_ratios=(2.1, 1.0), **_LEFT)
        right = figure.add_gridspec(5, 1, **_RIGHT)
        panels: Any = left.subplots(), right.subplots(sharex=True)
        (side, plan), rows = panels
        figure.suptitle(sheet.title, x=0.01, y=0.99, ha="left", fontweight="bold", fontsize=11)
        _side(side, sheet, times)
        _plan(plan, line, sheet.pad)
        _heights(rows[0], line)
        _speeds(rows[1], line)
        _tilt(rows[2], line)
        _commands(rows[3], line)
        _beliefs(rows[4], line)
        for row in rows:
            _mark_events(row, sheet.times)
            row.yaxis.set_label_coords(-0.1, 0.5)
        _name_events(rows[0], times)
        rows[-1].set_xlabel("time since the ascent igniter was commanded [s]")
        rows[-1].set_xlim(0.0, float(line["time"][-1]))
        style.caption(figure, (
            f"One simulated flight, seed {sheet.seed}; it says nothing of the spread. "
            f"Arrows: the nose, every {TICK_EVERY:g} s, in true angle. Shaded: a motor burns."
        ))  # fmt: skip


def nose_direction(line: dict[str, Floats]) -> tuple[Floats, Floats, Floats]:
    """East, north and up part of the unit vector along the nose, from the attitude."""
    q0, q1, q2, q3 = (line[f"quaternion_{i}"] for i in range(4))
    return 1.0 - 2.0 * (q2**2 + q3**2), 2.0 * (q1 * q2 + q0 * q3), 2.0 * (q1 * q3 - q0 * q2)


def _towards(pad: Pad | None) -> tuple[float, float]:
    """Point from the launch point towards the landing pad; east if there is none apart."""
    distance = math.hypot(pad.east, pad.north) if pad else 0.0
    if pad is None or distance <= 1e-6:
        return 1.0, 0.0
    return pad.east / distance, pad.north / distance


def _attitudes(line: dict[str, Floats]) -> NDArray[np.int64]:
    time = line["time"]
    return np.searchsorted(time, np.arange(0.0, time[-1], TICK_EVERY)).clip(0, len(time) - 1)


# ---- where it goes -------------------------------------------------------------------------------


def _side(axes: Axes, sheet: Sheet, times: dict[str, float]) -> None:
    line, (to_east, to_north) = sheet.line, _towards(sheet.pad)
    along = line["east"] * to_east + line["north"] * to_north
    axes.plot(along, line["up"], color=style.NAVY)
    _stage(axes, line, to_east, to_north)
    ends = _pad_ends(sheet.pad, to_east, to_north)
    if sheet.pad:
        axes.plot(ends, [sheet.pad.height] * 2, color=style.INK, lw=3.0, solid_capstyle="butt",
                  label="landing pad")  # fmt: skip
    axes.axhline(0.0, color=style.FAINT, lw=0.8)
    nose = nose_direction(line)
    at = _attitudes(line)
    # angles as on the screen, so that a tilt is seen as it is although the path is stretched
    axes.quiver(
        along[at], line["up"][at], nose[0][at] * to_east + nose[1][at] * to_north, nose[2][at],
        angles="uv", pivot="middle", scale=22.0, width=0.006, headwidth=2.6, headlength=3.0,
        headaxislength=3.0, color=style.RUST, zorder=3,
    )  # fmt: skip
    for name, time in times.items():
        x = float(np.interp(time, line["time"], along))
        z = float(np.interp(time, line["time"], line["up"]))
        left = name in ("lift_off_time", "separation_time")
        low = name in ("lift_off_time", "contact_time")
        axes.plot(x, z, marker="o", ms=4, color=style.INK, zorder=4)
        axes.annotate(
            SHORT[name], (x, z), xytext=(-10 if left else 10, 9 if low else 0),
            textcoords="offset points", va="center", ha="right" if left else "left",
            fontsize=8, color=style.INK,
        )  # fmt: skip
    ends = [float(along.min()), float(along.max()), *ends]
    wide = max(max(ends) - min(ends), 4.0)
    axes.set_xlim(min(ends) - 0.25 * wide, max(ends) + 0.25 * wide)
    axes.set_ylim(-0.05 * float(line["up"].max()), 1.2 * float(line["up"].max()))
    axes.set_xlabel("from the launch point towards the landing pad [m] (stretched)")
    axes.set_ylabel("height of the cg above launch ground [m]")
    axes.set_title("From the side")
    if axes.get_legend_handles_labels()[0]:
        axes.legend(loc="upper left")


def _pad_ends(pad: Pad | None, to_east: float, to_north: float) -> list[float]:
    """Find the ends of the landing pad along the direction of the picture; none without one."""
    if pad is None:
        return []
    middle = pad.east * to_east + pad.north * to_north
    return [middle - pad.radius, middle + pad.radius]


def _stage(axes: Axes, line: dict[str, Floats], to_east: float, to_north: float) -> None:
    if "stage_up" not in line:
        return
    apart = np.hypot(line["stage_east"] - line["east"], line["stage_north"] - line["north"])
    free = (np.hypot(apart, line["stage_up"] - line["up"]) > 0.5) & (line["stage_up"] > 0.0)
    if free.any():
        along = line["stage_east"] * to_east + line["stage_north"] * to_north
        axes.plot(along[free], line["stage_up"][free], color=style.AMBER, ls="--", lw=1.1,
                  label="dropped stage")  # fmt: skip


def _plan(axes: Axes, line: dict[str, Floats], pad: Pad | None) -> None:
    axes.plot(line["east"], line["north"], color=style.NAVY, label="cg")
    axes.plot(0.0, 0.0, marker="s", ms=5, color=style.INK, ls="none", label="launch point")
    if pad is not None:
        axes.add_patch(Circle((pad.east, pad.north), pad.radius, facecolor=style.GROUND,
                              edgecolor=style.INK, zorder=0.5))  # fmt: skip
        axes.plot(pad.east, pad.north, marker="+", ms=10, mew=1.6, color=style.INK, ls="none",
                  label="mark")  # fmt: skip
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


def _mark_events(axes: Axes, times: dict[str, float]) -> None:
    start, end = times.get("lift_off_time"), times.get("ascent_burn_out_time")
    if start is not None and end is not None:
        axes.axvspan(start, end, color=style.GROUND, zorder=0.4)
    light, contact = times.get("landing_light_time"), times.get("contact_time")
    if light is not None:
        right = contact if contact is not None else axes.get_xlim()[1]
        axes.axvspan(light, right, color=style.GROUND, zorder=0.4)
    for name, time in times.items():
        if name in SHORT:
            axes.axvline(time, color=style.FAINT, lw=0.7)


def _name_events(axes: Axes, times: dict[str, float]) -> None:
    for name, time in times.items():
        axes.annotate(SHORT[name], (time, 1.0), xycoords=axes.get_xaxis_transform(),
                      xytext=(0, 2), textcoords="offset points", ha="center", fontsize=7.5,
                      color="#59636e")  # fmt: skip
