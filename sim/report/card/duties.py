"""What holds for every flight, whatever was simulated: cautions, misfire, fire, whom to ask.

Sources: the hobby codes as named beside each figure (from memory where a wording is recalled);
the rest is common practice. Every figure is a floor: local law, the club's code and the range
safety officer come first.
"""

from __future__ import annotations

from sim.report.card.sheet import BLANK, Pairs, Panel, Steps

WIND_CODE = 8.94
"""m/s: 20 mph, above which the hobby codes do not fly (19 CCR 1036(c); codes, from memory)."""

MISFIRE_WAIT = 60
"""s: wait of the model safety code after a misfire; an officer may ask for longer."""

CAUTIONS = (
    ("The range safety officer decides.", ("Local law and your club's code come first; nothing on "
     "this card allows a flight. Guided flight and landing near people are outside what the hobby "
     "codes foresee: ask beforehand, fly under somebody who holds the licence that is needed.")),
    ("A simulation is no better than its scenario.", ("Do not fly if a reading below is outside "
     "its limit, or if the digest on board is not the one on this card.")),
    ("The landing motor is live until it has burned or been made safe,", ("in flight and on the "
     "ground. Igniters go in last, on the launch pad, away from people; the computer is armed "
     "last of all and disarmed first of all.")),
)  # fmt: skip


def misfire() -> Panel:
    """On the launch pad, and with a live landing motor on the ground."""
    return Panel("If it does not go as planned", [Steps([
        ("No ignition on the launch pad:", (f"safety key out, nobody moves. Wait {MISFIRE_WAIT} s "
         "at least (model safety code), longer if the officer says. One person goes, from the "
         "side: computer disarmed first, launch leads off and shorted, then both igniters out.")),
        ("Stage gone, landing motor not lit, on the ground:", ("it is live, and the computer may "
         "still command it: waiting alone does not make it safe. Call it out, keep all at the "
         f"stand-off. Wait {MISFIRE_WAIT} s at least from the last motion or smoke, and until the "
         "officer agrees.")),
        ("Approach:", ("one person, eyes, hands and face covered, from the side: never in front of "
         "nozzle or nose, never over it. Do not stand it up. Arming pin in or power off, igniter "
         "leads cut and shorted, igniter out; then pick it up, nozzle away from everybody.")),
        ("Cannot be disarmed, or hangs in a tree or wire:", ("leave it, guard it, tell the "
         "officer; a power line is for its operator.")),
        ("Comes down hot or off the field:", "treat as live; nobody catches or chases it."),
    ], numbered=False)])  # fmt: skip


def fire() -> Panel:
    """A grass fire, and what must stand ready."""
    return Panel("Grass fire", [Steps([
        ("Before:", ("no flight on dry grass or under a fire ban. Water, extinguisher and beater "
         "in hand, one person named; ground cleared around both pads.")),
        ("If it burns:", ("call out, people away upwind. Beat or wet it from the burnt side only "
         "if it is small and the motor has burned out. With a live motor in or near the fire "
         "stay at the stand-off: it can light by itself. Else call the fire service at once.")),
    ], numbered=False)])  # fmt: skip


def whom() -> Panel:
    """Names and numbers to write in."""
    return Panel("Whom to ask", [Pairs([
        ("Range safety officer", BLANK), ("Land owner, airspace", BLANK),
        ("Fire service, rescue", BLANK), ("First aid, extinguisher at", BLANK),
    ])])  # fmt: skip
