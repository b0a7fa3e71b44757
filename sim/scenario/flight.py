"""How a flight is computed."""

from __future__ import annotations

from typing import ClassVar, Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity


class Flight(Part):
    """Step and length of a computed flight."""

    optional: ClassVar[bool] = False

    tick: Quantity = quantity(
        "time", "5 ms", sign="positive", doc="control tick, one over flight_computer.control_rate",
        source="follows the control rate",
    )  # fmt: skip
    steps_per_tick: int = choice(1, doc="integration steps in a tick, at the least")
    longest: Quantity = quantity(
        "time", "30 s", sign="positive", doc="after which a flight that is not down is given up",
        source=CHOSEN,
    )  # fmt: skip
    ends_at: Literal["rest", "first_touch"] = choice(
        "rest", doc="a vehicle with legs is followed to rest, or given up at its first touch"
    )
    contact_step: Quantity = quantity(
        "time", "1 ms", sign="positive",
        doc="longest step on the ground; shorter where legs or ground are stiff",
        source="halving it changes less than the statistics can tell",
    )  # fmt: skip
    settle_longest: Quantity = quantity(
        "time", "8 s", sign="positive", doc="after the first touch, to come to rest", source=CHOSEN
    )
