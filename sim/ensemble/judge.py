"""Whether a flight is a success: the predicate of its scenario, line by line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.registry import OUTCOME_MEANINGS

if TYPE_CHECKING:
    from sim.scenario import Limit

CONTACT_POINTS = ("none", "foot", "nozzle", "tail_ring", "nose")  # by number, sim.physics.contact
# the only outcomes that may be a success; where it is followed to rest, only a vehicle that stands
COULD_SUCCEED = ("feet_first", "standing", "off_landing_pad", "airframe_first")


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
        A flight that did not come down, failed numerically, or was followed to its end and does not
        stand, is never a success.
    """
    known = [OUTCOME_MEANINGS.index(name) for name in COULD_SUCCEED]
    good = np.isin(out["outcome"], known)
    followed = np.isfinite(out["rest_tilt"]) if "rest_tilt" in out else np.zeros_like(good)
    if followed.any():
        good = good & (~followed | (out["standing"] > 0.5))
    for limit in limits:
        good = good & holds(limit, out)
    return np.asarray(good)


def holds(limit: Limit, out: Mapping[str, NDArray[np.float64]]) -> NDArray[np.bool_]:
    """Whether one line of the predicate holds, flight by flight."""
    if limit.variable == "inside_landing_pad":
        return np.asarray((out["inside_landing_pad"] > 0.5) == limit.flag)
    if limit.variable == "standing":
        return np.asarray((out["standing"] > 0.5) == limit.flag)
    if limit.variable == "first_contact":
        return np.asarray(out["contact_point"] == CONTACT_POINTS.index(str(limit.flag)))
    if limit.variable == "outcome":
        from sim.scenario.success import WORDS

        return np.asarray(out["outcome"] == WORDS["outcome"].index(str(limit.flag)))
    return limit.holds(out[limit.variable])
