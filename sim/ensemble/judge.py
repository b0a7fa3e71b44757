"""Whether a flight is a success: the predicate of its scenario, line by line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sim.scenario import Limit

CONTACT_POINTS = ("none", "foot", "nozzle", "tail_ring", "nose")  # by number, sim.physics.contact
WORST_SUCCESS = 2  # outcomes above it (tumbled, unlit, never down, failed) are never a success


def judge(
    limits: Sequence[Limit], out: Mapping[str, NDArray[np.float64]]
) -> NDArray[np.bool_]:
    """Whether every line of the predicate holds, flight by flight.

    Parameters
    ----------
    limits : sequence of Limit
    out : mapping of str to float64 array (n,)
        Outcomes; an undefined value (nan) meets no limit.

    Returns
    -------
    bool array (n,)
        A flight that did not come down, or failed numerically, is never a success.
    """
    good = out["outcome"] <= WORST_SUCCESS
    for limit in limits:
        good = good & holds(limit, out)
    return np.asarray(good)


def holds(limit: Limit, out: Mapping[str, NDArray[np.float64]]) -> NDArray[np.bool_]:
    """Whether one line of the predicate holds, flight by flight."""
    if limit.variable == "inside_landing_pad":
        return np.asarray((out["inside_landing_pad"] > 0.5) == limit.flag)
    if limit.variable == "first_contact":
        return np.asarray(out["contact_point"] == CONTACT_POINTS.index(str(limit.flag)))
    if limit.variable == "outcome":
        from sim.scenario.success import WORDS

        return np.asarray(out["outcome"] == WORDS["outcome"].index(str(limit.flag)))
    return limit.holds(out[limit.variable])
