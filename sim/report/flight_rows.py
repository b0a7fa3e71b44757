"""One flight second by second: heights, speeds, tilt, commands, beliefs, each above one time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.report import style
from sim.report.flight_body import axes_of
from sim.report.flight_views import SHORT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Floats = NDArray[np.float64]
ROWS = 5


def draw_rows(rows: Any, line: dict[str, Floats], times: dict[str, float]) -> None:
    """Draw what the trace says over time.

    Parameters
    ----------
    rows : sequence of Axes
        `ROWS` panels that share their time.
    line : dict of str to ndarray (samples,)
        The trace.
    times : dict of str to float [s]
        Of events.
    """
    for draw, row in zip((_heights, _speeds, _tilt, _commands, _beliefs), rows, strict=True):
        draw(row, line)
        _mark_events(row, times)
        row.yaxis.set_label_coords(-0.1, 0.5)
    _name_events(rows[0], times)
    rows[-1].set_xlabel("time since the ascent igniter was commanded [s]")
    rows[-1].set_xlim(0.0, float(line["time"][-1]))


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
        up = np.clip(axes_of(told)[0][:, 2], -1.0, 1.0)
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
        if name not in SHORT:
            continue
        axes.annotate(SHORT[name], (time, 1.0), xycoords=axes.get_xaxis_transform(),
                      xytext=(0, 2), textcoords="offset points", ha="center", fontsize=7.5,
                      color=style.SOFT)  # fmt: skip
