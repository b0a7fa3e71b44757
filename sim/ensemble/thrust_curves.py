"""Reduced thrust curves of a scenario, made once."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from sim.scenario.thrust import ThrustCurve

_made: dict[tuple[str, str], ThrustCurve] = {}
KEPT = 128  # curves remembered; a sweep makes a scenario a level


def reduced_curve(scenario: Scenario, part: str) -> ThrustCurve | None:
    """Thrust curve of "ascent_motor" or "landing_motor", or None if the vehicle has none."""
    from sim.scenario.thrust import reduce_curve

    if not scenario.has(part):
        return None
    key = (scenario.digest, part)
    if key not in _made:
        if len(_made) >= KEPT:
            _made.clear()
        _made[key] = reduce_curve(scenario.curves[f"{part}.curve"])
    return _made[key]
