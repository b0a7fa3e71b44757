"""Picture of one drop: forces on the feet, strokes, height and tilt over time."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.ensemble.drop_summary import made_for
from sim.report import drop_words, style
from sim.report.drop_answer import answer

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from sim.ensemble.fly_one import Flight
    from sim.scenario import Scenario

LOOKS = (
    (style.NAVY, "-"), (style.AMBER, "--"), (style.TEAL, "-."), (style.RUST, ":"),
    (style.PLUM, (0, (6, 1))), (style.SKY, (0, (3, 1, 1, 1, 1, 1))),
)  # fmt: skip


def draw_drop(path: Path, flight: Flight, scenario: Scenario) -> None:
    """Draw one drop.

    Parameters
    ----------
    path : Path
        PNG to write.
    flight : Flight
        From `sim.ensemble.drop.drop_one`.
    scenario : Scenario
    """
    line, touch = flight.trace, flight.outcomes["contact_time"]
    count, limits = int(scenario.choices["legs.count"]), made_for(scenario)
    rigid = str(scenario.choices["legs.strut"]) == "rigid"
    with style.picture(path, 9.0, 8.6) as figure:
        rows = figure.subplots(4, 1, sharex=True)
        time = line["time"]
        for leg in range(count):
            colour, dashes = LOOKS[leg]
            name = f"foot {leg + 1}, {_compass(scenario, leg)}"
            rows[0].plot(time, line[f"foot_force_{leg}"], color=colour, ls=dashes, label=name)
            rows[1].plot(time, 1e3 * line[f"stroke_{leg}"], color=colour, ls=dashes)
        rows[0].set_ylabel("force on\na foot [N]")
        rows[0].set_ylim(bottom=0.0)
        rows[0].legend(loc="upper right", ncols=2)
        rows[1].set_ylabel("stroke of\na strut [mm]")
        if rigid:
            style.note(rows[1], "rigid struts do not give way")
        else:
            stop = 1e3 * limits["peak_stroke"]
            rows[1].axhline(stop, color=style.INK, lw=1.0, ls=(0, (1, 2)))
            rows[1].text(time[-1], stop, "stop ", ha="right", va="bottom", fontsize=7.5)
            rows[1].set_ylim(top=max(1.2 * stop, 1.1e3 * flight.outcomes["peak_stroke"]))
        above = line["up"] - float(scenario.numbers["landing_pad.height"].value)
        rows[2].plot(time, 1e3 * above, color=style.NAVY)
        rows[2].set_ylabel("cg above\nground [mm]")
        rows[3].plot(time, np.degrees(line["tilt"]), color=style.NAVY)
        rows[3].set_ylabel("tilt of the\nlong axis [deg]")
        rows[3].set_ylim(0.0, max(1.0, 1.1 * math.degrees(float(line["tilt"].max()))))
        rows[3].set_xlabel("time since letting go [s]")
        end = flight.outcomes["rest_time"]
        last = float(min(time[-1], end + 0.3) if math.isfinite(end) else time[-1])
        rows[0].set_xlim(0.0, last)
        _mark(rows, touch, end, last)
        figure.suptitle(
            f"{flight.about['title']}, {drop_words.ground_words(scenario)}\n{answer(flight)}",
            x=0.01, ha="left", fontweight="bold", fontsize=10,
        )  # fmt: skip
        style.caption(figure, (
            "One simulated drop; it says nothing of the spread. Forces are the largest in each "
            f"tick of {1e3 * float(np.median(np.diff(time))):.0f} ms. Let go at 0 s, lowest foot "
            f"{_fall(flight)} above the ground."
        ))  # fmt: skip


def _fall(flight: Flight) -> str:
    height = float(flight.about.get("release_height", math.nan))
    return f"{1e3 * height:.0f} mm" if math.isfinite(height) else "just"


def _compass(scenario: Scenario, leg: int) -> str:
    """Direction of a foot, belly north: its azimuth goes from east towards north."""
    first = float(scenario.numbers["legs.first_azimuth"].value)
    azimuth = first + 2.0 * math.pi * leg / int(scenario.choices["legs.count"])
    return f"{math.degrees(0.5 * math.pi - azimuth) % 360.0:.0f} deg east of north"


def _mark(rows: list[Axes], touch: float, rest: float, last: float) -> None:
    """Mark what happens; letting go is named where there is room before the touch."""
    marks = [(touch, "first contact"), (rest, "at rest")]
    if touch > 0.08 * last:
        marks.insert(0, (0.0, "let go"))
    for time, name in marks:
        if not math.isfinite(time):
            continue
        for axes in rows:
            axes.axvline(time, color=style.FAINT, lw=1.0, ls=":" if name == "at rest" else "--")
        rows[0].annotate(
            name, (time, 1.0), xycoords=("data", "axes fraction"), xytext=(2, 2),
            textcoords="offset points", fontsize=7.5, color=style.INK, annotation_clip=False,
        )  # fmt: skip
