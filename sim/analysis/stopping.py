"""Whether one may stop flying now: asked again and again, and so by bounds of any time alone."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from sim.analysis.flights import Floats
from sim.analysis.settling import RULE, STATISTICS, spread

ANY_TIME = RULE.index("any_time")
CLAIMS = ("shown", "refuted", "open")


class Aim(NamedTuple):
    """What is to be known before one stops.

    `within` [1]: success to so much, every other statistic to such a share of itself; None: not
    asked. `success` [1]: whether at least this share succeeds; None: not asked.
    """

    within: float | None = 0.05
    success: float | None = None


class Verdict(NamedTuple):
    """Whether to stop.

    `may_stop` is None where no bound is proven; `open` has what is not known well enough, with how
    well it is known [1]; `claims` how each level stands to the claim, one of CLAIMS (empty without
    one); `about` is the number of flights that would do, if bounds narrow with its root, or None.
    """

    may_stop: bool | None
    open: Mapping[str, float]
    claims: tuple[str, ...]
    about: int | None


def verdict(levels: Sequence[Floats], flights: int, aim: Aim, *, independent: bool) -> Verdict:
    """Say whether one may stop.

    Parameters
    ----------
    levels : sequence of ndarray (statistic, rule, bound)
        From `sim.analysis.settling.figures`, one for each level of a sweep.
    flights : int
        Counted at each level.
    aim : Aim
    independent : bool
        Whether the flights are independent draws; the bounds are proven for these alone.

    Returns
    -------
    Verdict
        Of all levels together.
    """
    worst = {
        name: max((spread(name, rows[i, ANY_TIME]) for rows in levels), default=math.inf)
        for i, name in enumerate(STATISTICS)
    }
    wanted = aim.within
    unknown = {} if wanted is None else {n: s for n, s in worst.items() if s > wanted}
    claims = () if aim.success is None else tuple(_claim(rows, aim.success) for rows in levels)
    about = None
    if wanted is not None and unknown and all(math.isfinite(s) for s in unknown.values()):
        about = math.ceil(flights * (max(unknown.values()) / wanted) ** 2)
    if not independent:
        return Verdict(None, unknown, claims, about)
    return Verdict(bool(levels) and not unknown and "open" not in claims, unknown, claims, about)


def _claim(rows: Floats, wanted: float) -> str:
    """How one level stands to the claim that at least so many succeed."""
    lower, _, upper = (float(x) for x in rows[0, ANY_TIME])
    return "shown" if lower >= wanted else "refuted" if upper < wanted else "open"
