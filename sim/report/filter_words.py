"""What is said of the navigation filter's honesty: one sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from xarray import Dataset

_WORDS = {
    "optimistic": "believes itself better than it is",
    "pessimistic": "believes itself worse than it is",
    "consistent": "is as good as it believes",
    "unknown": "never came to be judged",
}


def filter_sentence(consistency: Dataset) -> str:
    """Say whether the filter is honest, with its figures.

    Parameters
    ----------
    consistency : Dataset
        From `sim.analysis.consistency`.
    """
    names = str(consistency["verdict"].attrs["flag_meanings"]).split()
    parts = []
    for moment in consistency["moment"].to_numpy():
        row = consistency.sel(moment=moment)
        low, high = (float(x) for x in row["chance"])
        verdict = _WORDS[names[int(row["verdict"])]]
        if int(row["flights"]) == 0:
            parts.append(f"at {moment} it {verdict}")
            continue
        parts.append(
            f"at {moment} it {verdict}, mean normalised error squared {float(row['mean']):.2f}, "
            f"6 if honest ({low:.2f} to {high:.2f} by chance, {int(row['flights']):,} flights)"
        )
    count = int(consistency["innovation_count"])
    text = "The navigation filter: " + "; ".join(parts) + "."
    if count:
        mean, refused = float(consistency["innovation_mean"]), int(consistency["refused_count"])
        text += (
            f" Mean normalised innovation squared {mean:.2f}, 1 if honest, over {count:,} "
            f"readings, {refused:,} of them refused."
        )
    return text
