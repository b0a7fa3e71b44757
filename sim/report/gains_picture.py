"""Picture of attitude gains: margins of the linear loop above, flown results below."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sim.report import style
from sim.report.decision_words import share
from sim.report.tables import DEGREES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from xarray import Dataset

MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*")


def draw_gains(path: Path, found: Dataset) -> None:
    """Draw margins and flown results over bandwidth, a line for each damping.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.ensemble.gains.fly_gains`.
    """
    with style.picture(path, 12.0, 6.6) as figure:
        upper, lower = figure.subplots(2, 3, sharex=True)
        _lines(upper[0], found, found["ascent_phase_margin"].to_numpy() * DEGREES,
               "Phase margin, climb [deg]")  # fmt: skip
        upper[0].axhline(30.0, color=style.FAINT, ls=":", lw=1.2)
        gain = found["ascent_gain_margin"].to_numpy()
        _lines(upper[1], found, 20.0 * np.log10(gain), "Gain margin, climb [dB]")
        upper[1].axhline(6.0, color=style.FAINT, ls=":", lw=1.2)
        _lines(upper[2], found, 100.0 * found["overshoot"].to_numpy(),
               "Overshoot at pitch-over [%]: flown")  # fmt: skip
        _lines(lower[0], found, found["gimbal_travel"].to_numpy() * DEGREES,
               "Gimbal travel, median [deg]: flown")  # fmt: skip
        tilt = found["tilt"].sel(bound="estimate").to_numpy() * DEGREES
        _lines(lower[1], found, tilt, "Tilt at contact, 95 % [deg]: flown")
        _lines(lower[2], found, 100.0 * found["success"].sel(bound="estimate").to_numpy(),
               "Success [%]: flown", 100.0 * found["success"].to_numpy())  # fmt: skip
        for axes in (*upper, *lower):
            axes.axvline(found.attrs["bandwidth_now"], color=style.FAINT, lw=1.0)
            axes.set_ylim(bottom=0.0)
        lower[1].set_ylim(top=max(10.0, min(60.0, float(np.nanmax(tilt)) * 1.1)))
        for axes in lower:
            axes.set_xlabel("bandwidth [rad/s]")
        upper[0].legend(title="damping", loc="best")
        figure.suptitle(f"{found.attrs['vehicle']}: attitude gains", x=0.01, ha="left",
                        fontweight="bold", fontsize=11)  # fmt: skip
        style.caption(figure, (
            f"{int(found.attrs['flights']):,} flights at each point, the same draws; "
            "vertical line: "
            f"bandwidth as it is; dotted: 30 deg and 6 dB; bars: "
            f"{share(float(found.attrs['confidence']))} bounds."
        ))  # fmt: skip


def _lines(
    axes: Axes, found: Dataset, values: np.ndarray, title: str, rows: np.ndarray | None = None
) -> None:
    x = found["bandwidth"].to_numpy()
    for j, damping in enumerate(found["damping"].to_numpy()):
        colour, dashes = style.SERIES[j % len(style.SERIES)]
        y = np.where(np.isfinite(values[:, j]), values[:, j], np.nan)
        axes.plot(x, y, color=colour, ls=dashes, marker=MARKERS[j % len(MARKERS)], ms=4,
                  label=f"{damping:g}")  # fmt: skip
        if rows is not None:
            reach = np.abs(rows[:, j, [0, 2]].T - y)
            axes.errorbar(x, y, reach, color=colour, ls="none", elinewidth=0.8, capsize=2)
    axes.set_title(title)
