"""What to keep in mind before anybody lights a motor."""

from __future__ import annotations

from sim.report.page.blocks import Points, Section, Words
from sim.report.page.facts import Facts
from sim.report.sentences import CAUTION


def section(*facts: Facts) -> Section:
    """Cautions, and what was not simulated."""
    to_rest = all("rest_time" in one.ds for one in facts)
    ends = (
        "flights go on until the vehicle rests, by a simple model of legs and ground; what breaks, "
        "bends or burns is not simulated."
        if to_rest
        else "a flight ends at its first touch; whether the vehicle then stays standing is not "
        "simulated."
    )
    return Section("cautions", "Cautions", [
        Words(CAUTION, "warning"),
        Points([
            ("People first.", ("A rocket that lands on its motor can hurt people. This page knows "
                              "nothing of the crowd, the road or the dry grass. Local law, your "
                              "club's code and the range safety officer decide where and whether "
                              "you fly; where a licence is needed, fly under somebody who holds "
                              "it.")),
            ("Distances.", ("Take every published stand-off as a floor and add what is predicted "
                           "here. Keep away from a live landing motor until it has burned or been "
                           "made safe.")),
            ("What is flown.", (f"Scatter, not breakage: a flat field and still Earth, and {ends} "
                               "Chances of faults are in here only as far as the scenario gives "
                               "them.")),
            ("What goes in comes out.", ("Numbers marked “default” above were not measured on your "
                                        "vehicle. Measure what the list of sources puts first.")),
        ]),
    ])  # fmt: skip
