"""Conditions: a comparison of lanes is a mask; choose with `where`, branch with `any_lane`."""

from typing import Any

import numpy as np

from sim.lanes.compiler import part


def where(mask: Any, if_true: Any, if_false: Any) -> Any:
    """Choose lane by lane. Both sides are computed. Works on tuples, field by field."""
    chosen = if_true if mask else if_false
    return np.float64(chosen) if isinstance(chosen, float) else chosen


def not_(mask: Any) -> Any:
    """Return the opposite mask (`~` would do in numba, but in plain Python ~True is -2)."""
    return not mask


def any_lane(mask: Any) -> Any:
    """Tell whether at least one lane is set; the one way to branch on lanes."""
    return bool(mask)


@part
def all_lanes(mask: Any) -> Any:
    """Tell whether every lane is set."""
    return not any_lane(not_(mask))
