"""Picture of two designs: how far and how hard each comes down, flight by flight."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from textwrap import shorten
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.report import style
from sim.report.compare_answer import answer, quantities
from sim.report.decision_words import share
from sim.report.display import words
from sim.report.tables import SHOWN

if TYPE_CHECKING:
    from xarray import Dataset

MOST_LETTERS = 110  # of a line of the title
SEEN = 0.99  # share of the differences that the frame holds


def draw_compare(
    path: Path, found: Dataset, a: Dataset, b: Dataset, labels: Sequence[str]
) -> None:
    """Draw the distributions of both, and of their differences below.

    Parameters
    ----------
    path : Path
        PNG to write.
    found : Dataset
        From `sim.analysis.compare.compare`.
    a, b : Dataset
        Paired ensembles.
    labels : two of str
        What A is, and what B is.
    """
    names = quantities(found)
    with style.picture(path, 3.0 * len(names), 6.0) as figure:
        axes = figure.subplots(2, len(names), squeeze=False)
        for column, name in enumerate(names):
            unit, scale, _ = SHOWN.get(name, ("m", 1.0, 2))
            one, two = (scale * ds[name].to_numpy() for ds in (a, b))
            upper, lower = axes[0][column], axes[1][column]
            for values, label, colour, dashes in (
                (one, "A", style.NAVY, "-"), (two, "B", style.RUST, "--"),
            ):  # fmt: skip
                x = np.sort(values[np.isfinite(values)])
                upper.plot(x, 100.0 * np.arange(1, x.size + 1) / len(values), color=colour,
                           ls=dashes, label=label)  # fmt: skip
            upper.set_xlim(0.0, _reach(np.concatenate([one, two])))
            upper.set_ylim(0.0, 100.0)
            upper.set_title(f"{words(name)[0].upper()}{words(name)[1:]}")
            upper.set_xlabel(f"[{unit}]")
            gap = (two - one)[np.isfinite(one) & np.isfinite(two)]
            reach = max(_reach(np.abs(gap)), 1e-9)
            lower.hist(np.clip(gap, -reach, reach), bins=41, range=(-reach, reach),
                       color=style.SKY, edgecolor="white", linewidth=0.3)  # fmt: skip
            lower.axvline(0.0, color=style.INK, lw=1.0)
            told = "more than noise" if bool(found[f"{name}_told_apart"]) else "noise"
            lower.set_title(f"B minus A: {told}")
            lower.set_xlabel(f"[{unit}]")
        title = "\n".join(
            shorten(f"{side}: {label}", MOST_LETTERS, placeholder=" ...")
            for side, label in zip("AB", labels, strict=True)
        )
        figure.suptitle(title, x=0.01, ha="left", fontweight="bold", fontsize=11)
        axes[0][0].set_ylabel("flights up to this [%]")
        axes[0][0].legend(loc="lower right")
        axes[1][0].set_ylabel("pairs of flights")
        style.caption(figure, (
            f"{answer(found)}\n{int(found['pairs']):,} pairs; "
            f"{share(float(found.attrs['confidence']))}"
            " confidence; the outermost bars of the lower row hold everything beyond."
        ))  # fmt: skip


def _reach(values: NDArray[np.float64]) -> float:
    known = values[np.isfinite(values)]
    return float(np.quantile(known, SEEN)) * 1.05 if known.size else 1.0
