"""How far to keep people: the published figures that fit the motors, and the clear area."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sim.report.card.given import ClearArea
from sim.report.card.sheet import BLANK, Note, Pairs, Panel
from sim.report.decision_words import share
from sim.report.hazard_codes import distances

if TYPE_CHECKING:
    from sim.ensemble.card import CardFacts


def stand_off(facts: CardFacts, area: ClearArea | None) -> Panel:
    """Panel of distances.

    Parameters
    ----------
    facts : CardFacts
    area : ClearArea or None
        From a hazard study.
    """
    rows = []
    if area is not None:
        remark = f"; {area.remark}" if area.remark else ""
        said = (
            f"{math.ceil(area.radius - 1e-9)} m around the launch point ({share(area.share)} of "
            f"flights, {share(area.confidence)} confidence{remark})"
        )
        rows.append(("Clear area, simulated", said))
    about = {
        "impulse": sum(motor.impulse for motor in facts.motors), "motors": len(facts.motors),
        "propellant_mass": facts.propellant, "lift_off_mass": facts.lift_off_mass,
    }  # fmt: skip
    for row in distances(about, facts.top):
        memory = ", from memory" if "memory" in row.current else ""
        rows.append((_capital(row.who), f"{row.metres:.0f} m ({row.source}{memory})"))
    rows.append(("Set by the officer today", BLANK))
    note = (
        f"Codes for {about['impulse']:.0f} N s in {len(facts.motors)} motor"
        f"{'s' if len(facts.motors) > 1 else ''}, {facts.lift_off_mass:.2f} kg. Each is a floor: "
        "take the largest that holds here. They know nothing of guided landing: add the "
        "dispersion that is predicted, and count the live landing motor."
    )
    if area is None:
        note += " Simulated clear area: setdown card FILE --hazard H.json."
    return Panel("Stand-off", [Pairs(rows), Note(note)])


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"
