"""The text of a first scenario, from answers, motors and a few times of a trial flight."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from sim.scenario.starter import Answers
from sim.scenario.starter_rest import (
    computer_rows,
    field_rows,
    inertial_rows,
    leg_rows,
    site_rows,
)
from sim.scenario.starter_text import comment, sections
from sim.scenario.starter_vehicle import MotorTotals, motor_rows, vehicle_rows


@dataclass(frozen=True)
class Timing:
    """Settings of the climb that follow from how the vehicle flies [s]."""

    climb_end: float = 1.0
    coast_time: float = 4.5
    drift_time: float = 2.0


HEADINGS = {
    "site": "The place and the day.",
    "vehicle": "What lands, without propellant and without the ascent stage. Stations are "
    "distances behind the tip of the nose.",
    "stage": "The spent ascent motor and its mount, dropped after burn-out.",
    "fins": "Small fins: they carry what lands over the top, nose first.",
    "petals": "Petals at the nose, open from the top: they keep the tail first in the fall.",
    "ascent_motor": "The motor that carries it up.",
    "landing_motor": "The motor that takes out the fall. A solid cannot be shut off or lit again.",
    "throttle": "Plates dipped into the plume of the landing motor; they only take thrust away.",
    "wheels": "Reaction wheels: they hold the attitude between the burns.",
    "inertial": "The inertial unit. Errors are one sigma; 0 +/- x: which way is not known.",
    "flight_computer": "Settings of the built-in flight computer.",
}

_SUCCESS = """
# What counts as success: every line must hold.
[success]
# It stands at rest on its feet.
standing = true
# At first contact. Chosen: what the legs are made for.
touchdown_speed = "< 2.5 m/s"
# Sideways, at first contact. Chosen: more may tip it.
lateral_speed = "< 0.8 m/s"
# From the vertical, at first contact. Chosen.
tilt = "< 8 deg"
# All feet on the landing pad.
inside_landing_pad = true
# A foot touches first.
first_contact = "foot"

# Motors of one lot share the error of their label. Assumed.
[[correlated]]
numbers = ["ascent_motor.label_bias", "landing_motor.label_bias"]
correlation = 0.9

# Motors kept in one box are as warm as one another and nearly as the air. Assumed.
[[correlated]]
numbers = ["ascent_motor.grain_temperature", "landing_motor.grain_temperature", "site.temperature"]
correlation = 0.8
"""


def scenario_text(
    title: str, answers: Answers, motors: Mapping[str, MotorTotals], timing: Timing
) -> str:
    """Write the TOML of a first scenario.

    Parameters
    ----------
    title : str
    answers : mapping of str to Answer
        To every question of `sim.scenario.starter.QUESTIONS` that was asked.
    motors : mapping
        "ascent" and "landing".
    timing : Timing
    """
    rows = [
        *site_rows(), *vehicle_rows(answers), *motor_rows(answers, dict(motors)),
        *leg_rows(answers), *field_rows(answers), *inertial_rows(answers),
        *computer_rows(
            answers["length"].value, timing.climb_end, timing.coast_time, timing.drift_time
        ),
    ]  # fmt: skip
    head = [
        *comment(f"{' '.join(title.split())}: a first scenario, written by setdown new."),
        "#",
        *comment(
            "Above each number stands what it is, where it came from, and how to measure it. "
            '"Given" was answered by you, "assumed" is a guess that a measurement should '
            'replace, "chosen" is a decision of yours to make. A number may carry a unit and a '
            'spread: "1.32 kg +/- 8 g" is a normal law, one standard deviation. Nothing here is '
            "a design: the legs, the fins, the wheels and the petals follow the proportions of "
            "an invented vehicle until you write those of your own."
        ),
        "",
        f"title = {json.dumps(title, ensure_ascii=False)}",
    ]
    return "\n".join([*head, *sections(rows, HEADINGS)]) + "\n" + _SUCCESS
