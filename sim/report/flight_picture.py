"""Picture of one flight: from the side, from above, the last metres, and second by second."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sim.report import style
from sim.report.flight_rows import ROWS, draw_rows
from sim.report.flight_sheet import Sheet
from sim.report.flight_views import (
    TICK_EVERY,
    draw_last_metres,
    draw_plan,
    draw_side,
    frame_of_last_metres,
)

# Margins, in parts of the picture. Fixed, with room for wide numbers: to let them be found takes
# longer than flying and drawing together.
_LEFT = {"left": 0.055, "right": 0.42, "bottom": 0.085, "top": 0.95, "hspace": 0.3}
_RIGHT = {"left": 0.51, "right": 0.935, "bottom": 0.085, "top": 0.95, "hspace": 0.11}


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
    with style.picture(path, 12.0, 11.6, arranged=False) as figure:
        left = figure.add_gridspec(3, 1, height_ratios=(1.75, 1.05, 1.2), **_LEFT)
        panels: Any = left.subplots()
        side, close, plan = panels
        figure.suptitle(sheet.title, x=0.01, y=0.99, ha="left", fontweight="bold", fontsize=11)
        draw_side(side, sheet)
        draw_last_metres(close, sheet)
        frame_of_last_metres(side, close)
        times = draw_plan(plan, sheet)
        rows = figure.add_gridspec(ROWS, 1, **_RIGHT).subplots(sharex=True)
        draw_rows(rows, sheet.line, sheet.times)
        leaning = "" if times == 1 else f" {times} times"
        style.caption(figure, (
            f"One simulated flight, seed {sheet.seed}; it says nothing of the spread. Red arrows: "
            f"the nose every {TICK_EVERY:g} s; from the side in true angle, from above its lean "
            f"in vehicle lengths{leaning}.\nThe last metres: the vehicle every {TICK_EVERY:g} s "
            "before contact (pale) and at the end. Shaded: a motor burns."
        ))  # fmt: skip
