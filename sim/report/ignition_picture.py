"""Picture of ignition and throttle: success and touchdown speed, a line for each authority."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.report import style
from sim.report.decision_words import share
from sim.report.ignition_answer import authority_words

if TYPE_CHECKING:
    from xarray import Dataset

LOOKS = (
    (style.RUST, ":", "v"), (style.AMBER, "--", "s"), (style.TEAL, "-.", "^"),
    (style.NAVY, "-", "o"), (style.PLUM, (0, (5, 1)), "D"),
)  # fmt: skip


def draw_ignition(path: Path, found: Dataset) -> None:
    """Draw success and the 95th percentile of touchdown speed.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.ensemble.ignition.fly_ignition`.
    """
    x = found["level"].to_numpy()
    unit, key = str(found["level"].attrs["units"]), str(found.attrs["scenario_key"])
    with style.picture(path, 11.0, 5.0) as figure:
        left, right = figure.subplots(1, 2, sharex=True)
        for j, authority in enumerate(found["authority"].to_numpy()):
            colour, dashes, marker = LOOKS[j % len(LOOKS)]
            column = found.sel(authority=authority)
            success = 100.0 * column["success"].to_numpy()
            speed = column["touchdown_speed"].sel(percent=95.0).to_numpy()
            for axes, rows in ((left, success), (right, speed)):
                middle = np.where(np.isfinite(rows[:, 1]), rows[:, 1], np.nan)
                reach = np.abs(np.nan_to_num(rows[:, [0, 2]].T - middle, posinf=0.0, neginf=0.0))
                axes.errorbar(x, middle, reach, color=colour, ls=dashes, marker=marker, ms=4,
                              elinewidth=0.8, capsize=2, label=authority_words(float(authority)))
        for axes in (left, right):
            axes.axvline(found.attrs["level_now"], color=style.FAINT, lw=1.0)
            axes.set_xlabel(f"{key} [{unit}]")
            axes.set_ylim(bottom=0.0)
        left.set_ylim(top=101.0)
        left.set_title("Success [%]")
        right.set_title("Touchdown speed, 95th percentile [m/s]")
        right.legend(title="throttle authority", loc="best")
        figure.suptitle(f"{found.attrs['vehicle']}: ignition and throttle", x=0.01, ha="left",
                        fontweight="bold", fontsize=11)  # fmt: skip
        style.caption(figure, (
            f"{int(found.attrs['flights']):,} flights at each point, the same draws; bars: "
            f"{share(float(found.attrs['confidence']))} bounds; vertical line: as it is."
        ))  # fmt: skip
