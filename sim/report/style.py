"""One look for all pictures: readable in print, in grey and by colour-blind people.

Any two colours of things drawn stay apart for people without red or green cones, and every series
has a line style or a marker of its own: tests hold both. Import this late: it loads matplotlib.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from sim.errors import RunFailure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK = "#20262e"
SOFT = "#59636e"  # captions and notes
FAINT = "#8b95a1"  # rulers: thin lines that stand behind
BLANK = "#c9ced4"  # where there is no number
GROUND = "#eef0f2"
NAVY, SKY, TEAL, AMBER, RUST, PLUM = (
    "#1d3f72", "#5aa9dd", "#12836d", "#e3a02c", "#b8421f", "#8549bd",
)  # fmt: skip
SERIES = ((NAVY, "-"), (AMBER, "--"), (TEAL, "-."), (RUST, ":"))

DOTS_PER_INCH = 150
SETTINGS: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 9.0,
    "axes.titlesize": 10.0,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.edgecolor": FAINT,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "axes.grid": True,
    "grid.color": "#dfe3e8",
    "grid.linewidth": 0.6,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.direction": "out",
    "legend.frameon": True,
    "legend.framealpha": 0.9,
    "legend.edgecolor": "none",
    "legend.fontsize": 8.0,
    "lines.linewidth": 1.4,
    "figure.facecolor": "white",
}
"""Settings of matplotlib that all pictures share."""


@contextmanager
def picture(
    path: Path, width: float, height: float, *, arranged: bool = True
) -> Iterator[Figure]:
    """Give a figure to draw in and write it as PNG, whole or not at all.

    Parameters
    ----------
    path : Path
        Replaced if it is there.
    width, height : float [in]
    arranged : bool
        Let matplotlib find room for titles and labels: it draws all twice for that. Without it the
        margins are for the caller to set.

    Raises
    ------
    RunFailure
        The file cannot be written.
    """
    with mpl.rc_context(SETTINGS):
        figure = Figure(figsize=(width, height), layout="constrained" if arranged else None)
        FigureCanvasAgg(figure)
        yield figure
        _write(figure, path)


def _write(figure: Figure, path: Path) -> None:
    unfinished = path.with_name(f".{path.name}.tmp")
    try:
        # no clock time inside: the same flights give the same bytes
        figure.savefig(unfinished, format="png", dpi=DOTS_PER_INCH, metadata={"Software": None})
        unfinished.replace(path)
    except OSError as problem:
        unfinished.unlink(missing_ok=True)
        raise RunFailure(
            f"the picture {path} could not be written: {problem.strerror or problem}. The data "
            "are safe; make room or give another place with -o"
        ) from problem


def caption(figure: Figure, text: str) -> None:
    """Put sample size, confidence and the like under a picture."""
    figure.supxlabel(text, fontsize=7.5, color=SOFT, x=0.01, ha="left")


def note(axes: Axes, text: str) -> None:
    """Put a small note in the corner of a panel."""
    axes.text(
        0.99, 0.01, text, transform=axes.transAxes, ha="right", va="bottom", fontsize=7.5,
        color=SOFT,
    )  # fmt: skip
