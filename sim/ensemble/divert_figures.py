"""Surplus of a landing motor without a throttle, and the lean that sheds it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sim.avionics.landing_plan import boost_share
from sim.ensemble.divert_plan import vertical_share
from sim.ensemble.figures import Derived, Figure

if TYPE_CHECKING:
    from sim.scenario import Scenario

LEAST = 0.5  # share of the thrust that is thought of


def divert_figures(found: Derived, scenario: Scenario, sink: float) -> None:
    """Add the surplus of the boost, lit at a sink rate [m/s], and the steady lean for it."""
    from sim.ensemble.settings import planned_vehicle

    share = boost_share(planned_vehicle(scenario, LEAST), sink)
    if not math.isfinite(share):
        return
    tilt = math.acos(min(share, 1.0))
    limit = float(scenario.numbers["flight_computer.divert_tilt"].believed)
    most = 1.0 - vertical_share(limit)
    found.add(
        "landing motor",
        Figure("surplus_impulse", "surplus to be shed", 1.0 - share, "1", "%",
               f"of the boost's impulse, straight down; a lean of {math.degrees(limit):g} deg "
               f"all along sheds {100 * most:.1f} %"),
        Figure("divert_tilt_needed", "lean that sheds it", tilt, "rad", "deg", "held all along"),
    )  # fmt: skip
    if tilt > limit:
        found.cautions.append(
            f"The surplus asks for a lean of {math.degrees(tilt):.0f} deg, more than the limit of "
            f"{math.degrees(limit):.0f} deg: raise the apogee, or fit a weaker motor."
        )
    elif share > 0.995:
        found.cautions.append(
            "The boost has next to no surplus: a divert can shed thrust, but not add any. Lower "
            "the apogee, or fit a stronger motor."
        )
