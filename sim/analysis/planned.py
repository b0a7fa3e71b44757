"""Looks planned before the flights that they judge, and the share of the risk that each may spend.

A bound that holds at every number of flights has more than two times the slack of one for a number
fixed beforehand. Where a pilot can say how many flights the answer will take, it is cheaper to fix
a few looks by the pilot alone and to share the risk out over them: the flights judged had no say
in when they are looked at, so each look is a fixed sample, and the risks add up (Bonferroni).

Sources (from memory): C. Stein, Ann. Math. Statistics 16 (1945) 243 (a pilot fixes the size of the
sample); K. K. G. Lan and D. L. DeMets, Biometrika 70 (1983) 659 (spending the risk look by look).
"""

from __future__ import annotations

import math
from typing import NamedTuple

FIRST_RISK = 0.8  # share of the risk for the first look; each later one has as much of the rest
GROWTH = 2.0  # from look to look


class Look(NamedTuple):
    """A look at the flights so far."""

    flights: int
    risk: float  # share of all the risk that it may spend


def planned_looks(first: float, most: int, *, least: int = 1) -> list[Look]:
    """When to look, and what each look may spend.

    Parameters
    ----------
    first : float
        Flights that should be enough, judged by other flights than those that are looked at;
        infinite if it cannot be said.
    most : int
        Flights allowed; there is always a look at these, which spends all that is left.
    least : int
        At the first look.

    Returns
    -------
    list of Look
        Rising numbers of flights; the shares add up to 1.

    Notes
    -----
    A bound that takes the risk times its share at each look is wrong at any of them with the whole
    risk at most, whenever one stops.
    """
    if not 0 < least <= most:
        raise ValueError(f"first look at {least} or more of {most} flights cannot be")
    looks: list[Look] = []
    size, left = max(float(least), first), 1.0
    while size <= most - 1:
        looks.append(Look(math.ceil(size), FIRST_RISK * left))
        left -= FIRST_RISK * left
        size *= GROWTH
    looks.append(Look(most, left))
    return looks
