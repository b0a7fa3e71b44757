"""Picture of the likeliest ways to fail: one flight of each, its path, speed and tilt."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.report import style
from sim.report.worst_answer import fails

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.ensemble.worst import Story
    from sim.scenario import Scenario


def draw_worst(
    path: Path, stories: Sequence[Story], shares: Dataset, scenario: Scenario
) -> None:
    """Draw the flights of the stories.

    Parameters
    ----------
    path : Path
        PNG to write.
    stories : sequence of Story
        With their traces.
    shares : Dataset
    scenario : Scenario
    """
    rows = max(1, len(stories))
    with style.picture(path, 11.0, 0.8 + 2.6 * rows) as figure:
        axes = figure.subplots(rows, 3, squeeze=False)
        for place, story in enumerate(stories):
            _flight(axes[place], story, scenario, place + 1)
        if not stories:
            for one in axes[0]:
                one.set_axis_off()
        figure.suptitle(f"{shares.attrs['vehicle']}: the likeliest ways to fail", x=0.01, ha="left",
                        fontweight="bold", fontsize=11)  # fmt: skip
        style.caption(figure, (
            "One flight of each story; crosses: contact. Thick: the landing pad. "
            "Dotted: limits of success."
        ))  # fmt: skip


def _flight(axes: np.ndarray, story: Story, scenario: Scenario, number: int) -> None:
    trace = story.trace
    time, up = trace["time"], trace["height_feet"]
    east = trace["east"] - scenario.numbers["landing_pad.east"].value
    north = trace["north"] - scenario.numbers["landing_pad.north"].value
    size = float(np.hypot(east[-1], north[-1])) or 1.0
    along = (east * east[-1] + north * north[-1]) / size
    axes[0].plot(along, up, color=style.NAVY)
    axes[0].plot(along[-1], up[-1], "x", color=style.RUST, ms=8, mew=2)
    if scenario.has("landing_pad"):
        radius = scenario.numbers["landing_pad.radius"].value
        axes[0].plot([-radius, radius], [0.0, 0.0], color=style.TEAL, lw=4, solid_capstyle="butt")
    axes[0].set_title(f"{number}. {fails(story, scenario)}")
    axes[0].set_xlabel("towards the landing point, from the landing pad's centre [m]")
    axes[0].set_ylabel("feet above the landing pad [m]")
    last = time >= time[-1] - 4.0
    sink = -trace["velocity_up"][last]
    sideways = np.hypot(trace["velocity_east"], trace["velocity_north"])[last]
    axes[1].plot(time[last], sink, color=style.NAVY, label="sink rate")
    axes[1].plot(time[last], sideways, color=style.AMBER, ls="--", label="sideways")
    q0, q1, q2, q3 = (trace[f"quaternion_{i}"][last] for i in range(4))
    tilt = np.degrees(np.arccos(np.clip(2.0 * (q1 * q3 - q0 * q2), -1.0, 1.0)))
    axes[2].plot(time[last], tilt, color=style.NAVY, label="tilt [deg]")
    share = 100.0 * trace["throttle"][last]
    axes[2].plot(time[last], share / 10.0, color=style.AMBER, ls="--", label="throttle [10 %]")
    for limit in scenario.success:
        high = getattr(limit, "high", None)
        if high is not None and limit.variable == "touchdown_speed":
            axes[1].axhline(high, color=style.FAINT, ls=":")
        if high is not None and limit.variable == "tilt":
            axes[2].axhline(np.degrees(high), color=style.FAINT, ls=":")
    for one, label in ((axes[1], "speed [m/s]"), (axes[2], "tilt and throttle")):
        one.set_xlabel("time [s], the last 4 s")
        one.set_ylabel(label)
        one.set_ylim(bottom=0.0)
        one.legend(loc="upper left" if one is axes[1] else "best")
        one.set_ylim(top=1.25 * one.get_ylim()[1])
