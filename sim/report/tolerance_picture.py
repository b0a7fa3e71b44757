"""Picture of a tolerance: success against the level, with the bracket of the crossing."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.analysis.tolerance import STATES
from sim.report import style
from sim.report.decision_words import share
from sim.report.display import in_unit, unit_for
from sim.report.tolerance_answer import meaning, said

if TYPE_CHECKING:
    from xarray import Dataset

LOOKS = {
    "above": ("o", style.TEAL, "shown good enough"),
    "open": ("D", style.AMBER, "not decided"),
    "below": ("v", style.RUST, "shown not good enough"),
}


def draw_tolerance(path: Path, found: Dataset) -> None:
    """Draw success against the level.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.ensemble.tolerance.solve_tolerance`.
    """
    key, unit = str(found.attrs["scenario_key"]), str(found["level"].attrs.get("units", "1"))
    levels = found["level"].to_numpy()
    shown = unit_for(key, unit, float(levels[-1]))

    def scaled(value: float) -> float:
        # a level is a difference unless it is a value; of the units shown only degC has an offset
        return in_unit(value, unit, shown, difference=found.attrs["meaning"] != "value")

    x = np.array([scaled(float(level)) for level in levels])
    rows = 100.0 * found["success"].to_numpy()
    wanted = 100.0 * float(found.attrs["wanted_success"])
    with style.picture(path, 8.0, 5.2) as figure:
        axes = figure.subplots()
        good, bad = (float(found[name]) for name in ("good_end", "bad_end"))
        if math.isfinite(good) and math.isfinite(bad):
            axes.axvspan(scaled(good), scaled(bad), color=style.GROUND, zorder=0,
                         label=f"bracket: {said(found, good)} to {said(found, bad)}")  # fmt: skip
        axes.fill_between(x, rows[:, 0], rows[:, 2], color=style.NAVY, alpha=0.15, linewidth=0)
        axes.plot(x, rows[:, 1], color=style.NAVY, lw=1.0)
        states = found["state"].to_numpy()
        for state, (marker, colour, label) in LOOKS.items():
            at = states == STATES.index(state)
            if at.any():
                axes.plot(x[at], rows[at, 1], marker, color=colour, ms=6, ls="none", label=label)
        axes.axhline(wanted, color=style.INK, ls="--", lw=1.0, label=f"wanted: {wanted:g} %")
        low = min(float(rows[:, 0].min()), wanted)
        axes.set_ylim(max(0.0, low - 5.0), 101.0)
        axes.set_ylabel("success [%]")
        axes.set_xlabel(key if shown == "1" else f"{key} [{shown}]")
        axes.set_title(f"{found.attrs['vehicle']}: success against {key}")
        axes.legend(loc="lower left")
        style.caption(figure, (
            f"{meaning(found)}\n{int(found.attrs['flights']):,} flights, the same draws at every "
            f"level; band: {share(found.attrs['confidence'])} bounds that stay true while the "
            "search goes on."
        ))  # fmt: skip
