"""What a person is asked for a first scenario, and how an answer is read.

Nothing here flies or computes a flight: questions, defaults, and messages about a bad answer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sim.scenario.amounts import AmountProblem, read_amount
from sim.scenario.dimensions import DIMENSIONS

EXHAUST_SPEED = 1800.0  # m/s, impulse over propellant of small composite motors, from memory
STRUTS = ("rigid", "spring", "gas", "crush", "friction")
UNITS = ("consumer", "calibrated", "industrial")
SHAPES = ("two-part", "even")
NO_THROTTLE = "none"


class AnswerProblem(ValueError):
    """An answer that cannot be taken; the text says what was found and what would be right."""


@dataclass(frozen=True)
class Answer:
    """One answer.

    Parameters
    ----------
    text : str
        As typed, or as the default has it.
    value : float
        SI; a whole number for a count, nan for a word.
    given : bool
        By the person; else it is a default.
    """

    text: str
    value: float
    given: bool


Answers = Mapping[str, Answer]


@dataclass(frozen=True)
class Question:
    """One question.

    Parameters
    ----------
    name : str
        Of the option, with underscores.
    ask : str
        As it is put at the terminal.
    kind : str
        A dimension, "count", "word" or "file".
    default : callable
        Text of the default, from the answers so far.
    low, high : float
        SI, what a small rocket may have.
    words : tuple of str
        Allowed, for a word; or allowed besides a quantity.
    when : callable
        Whether it is asked at all, from the answers so far.
    spread : bool
        Whether an answer may carry one ("1.3 kg +/- 8 g").
    """

    name: str
    ask: str
    kind: str
    default: Callable[[Answers], str]
    low: float = -math.inf
    high: float = math.inf
    words: tuple[str, ...] = ()
    when: Callable[[Answers], bool] = lambda _: True
    spread: bool = False

    @property
    def option(self) -> str:
        """The option of the command line that answers it."""
        return "--" + self.name.replace("_", "-")

    @property
    def sample(self) -> str:
        """What an answer looks like."""
        return DIMENSIONS[self.kind].examples[0] if self.kind in DIMENSIONS else ""

    def read(self, text: str, given: bool = True) -> Answer:
        """Read an answer.

        Raises
        ------
        AnswerProblem
        """
        text = text.strip()
        if self.kind == "file":
            return Answer(text, math.nan, given)
        if self.words and text.lower() in self.words:
            return Answer(text.lower(), math.nan, given)
        if self.kind == "word":
            raise AnswerProblem(f'"{text}" is not known here; write one of {", ".join(self.words)}')
        if self.kind == "count":
            return self._count(text, given)
        try:
            amount = read_amount(text, DIMENSIONS[self.kind])
            if amount.law.varies and not self.spread:
                raise AnswerProblem(f'"{text}" has a spread; write one number: "{self.sample}"')
            read_amount(text, DIMENSIONS[self.kind], "non_negative")
        except AmountProblem as problem:
            right = problem.right.partition(", or {")[0]
            other = f", or {self.words[0]}" if self.words else ""
            raise AnswerProblem(f"{problem.found}; {right}{other}") from None
        if not self.low <= amount.value <= self.high:
            raise AnswerProblem(
                f'"{text}" is outside {shown(self.low, self.kind)} to '
                f"{shown(self.high, self.kind)}, which setdown is made for; check number and unit"
            )
        return Answer(text, amount.value, given)

    def _count(self, text: str, given: bool) -> Answer:
        low, high = int(self.low), int(self.high)
        if not text.isascii() or not text.isdigit() or not low <= int(text) <= high:
            raise AnswerProblem(f'"{text}" is not a whole number from {low} to {high}; write one')
        return Answer(str(int(text)), float(text), given)


def shown(value: float, kind: str, digits: int = 3) -> str:
    """Write an SI value with the unit that a person would use for it."""
    unit, factor = {
        "length": ("m", 1.0) if abs(value) >= 0.4 else ("mm", 1e3),
        "mass": ("kg", 1.0) if abs(value) >= 1.0 else ("g", 1e3),
        "impulse": ("N s", 1.0), "time": ("s", 1.0), "angle": ("deg", 180.0 / math.pi),
        "speed": ("m/s", 1.0), "number": ("%", 100.0), "inertia": ("kg m2", 1.0),
        "area": ("m2", 1.0), "torque": ("N m", 1.0), "angular momentum": ("N m s", 1.0),
        "force": ("N", 1.0), "stiffness": ("N/m", 1.0), "damping": ("N s/m", 1.0),
    }[kind]  # fmt: skip
    number = value * factor
    if number == 0.0:
        return f"0 {unit}"
    places = max(digits - 1 - math.floor(math.log10(abs(number))), 0)
    text = f"{number:.{places}f}" if places < 7 else f"{number:.{digits - 1}e}"
    return f"{text} {unit}"


def lift_off_mass(answers: Answers) -> float:
    """Mass [kg] of vehicle and stage without propellant."""
    return answers["dry_mass"].value + answers["stage_mass"].value


def _fixed(text: str) -> Callable[[Answers], str]:
    return lambda _: text


def _times(name: str, factor: float, kind: str, digits: int = 2) -> Callable[[Answers], str]:
    return lambda answers: shown(factor * answers[name].value, kind, digits)


def _mass_of_size(answers: Answers) -> str:
    """Mass of a vehicle as dense as the demonstration one."""
    volume = math.pi / 4.0 * answers["diameter"].value ** 2 * answers["length"].value
    return shown(430.0 * volume, "mass", 2)


def _totals(motor: str) -> Callable[[Answers], bool]:
    return lambda answers: not answers[f"{motor}_curve"].text


# impulse for each kilogram without propellant that carries a vehicle to about forty metres
_CLIMB = 36.0  # m/s

QUESTIONS: tuple[Question, ...] = (
    Question("length", "Length of what lands, nose tip to tail, ascent stage off", "length",
             _fixed("1.00 m"), 0.3, 3.0, spread=True),
    Question("diameter", "Diameter of the body tube", "length", _times("length", 0.076, "length"),
             0.015, 0.5, spread=True),
    Question("dry_mass", "Mass of what lands, without propellant", "mass", _mass_of_size, 0.1, 25.0,
             spread=True),
    Question("stage_mass", "Mass of the dropped ascent stage: empty motor and mount", "mass",
             _times("dry_mass", 0.15, "mass"), 0.005, 10.0, spread=True),
    Question("legs", "Number of legs", "count", _fixed("4"), 3, 6),
    Question("leg_span", "Diameter of the circle of open feet", "length",
             _times("length", 0.64, "length"), 0.05, 3.0),
    Question("strut", "What gives way in a leg", "word", _fixed("spring"), words=STRUTS),
    Question("inertial", "Quality of the inertial unit", "word", _fixed("consumer"), words=UNITS),
    Question("tilt", "How far out of plumb the launch pad usually stands", "angle",
             _fixed("0.3 deg"), 0.0, math.radians(15.0)),
    Question("wind", "Mean wind at 10 m above ground", "speed", _fixed("2.5 m/s"), 0.0,
             20.0, spread=True),
    Question("ascent_curve", "Ascent motor: CSV file of its thrust curve (Enter: give totals)",
             "file", _fixed("")),
    Question("ascent_impulse", "Ascent motor: total impulse", "impulse",
             lambda answers: shown(_CLIMB * lift_off_mass(answers), "impulse", 2),
             0.5, 5000.0, when=_totals("ascent")),
    Question("ascent_burn", "Ascent motor: burn time", "time", _fixed("1.1 s"), 0.1, 20.0,
             when=_totals("ascent")),
    Question("throttle", "Throttle of the landing motor: largest share of thrust taken away, or "
             "none", "number", _fixed("35 %"), 0.01, 0.8, words=(NO_THROTTLE,)),
    Question("landing_curve", "Landing motor: CSV file of its thrust curve (Enter: give totals)",
             "file", _fixed("")),
    Question("landing_shape", "Landing motor: strong start and long weak rest, or even",
             "word", _fixed("two-part"), words=SHAPES, when=_totals("landing")),
    Question("landing_burn", "Landing motor: burn time", "time", _fixed("4.0 s"), 0.3, 20.0,
             when=_totals("landing")),
    Question("landing_impulse", "Landing motor: total impulse", "impulse", _fixed(""),
             0.5, 5000.0, when=_totals("landing")),
)  # fmt: skip
"""In the order in which they are asked. The default of `landing_impulse` takes a trial flight; see
`sim.ensemble.starter_fit`."""


USUAL_LANDING_IMPULSE = "140 N s"
"""Of the vehicle that all default answers give, rounded; an example and no default."""


def usual_answers() -> dict[str, str]:
    """Texts of the default answers to all questions, as examples."""
    answers: dict[str, Answer] = {}
    for question in QUESTIONS:
        text = question.default(answers) or USUAL_LANDING_IMPULSE
        text = "" if question.kind == "file" else text
        answers[question.name] = question.read(text, given=False)
    return {name: answer.text for name, answer in answers.items()}


def contradictions(answers: Answers) -> list[tuple[str, str]]:
    """Answers that are fine alone and nonsense together.

    Parameters
    ----------
    answers : mapping of str to Answer
        As far as they have been given.

    Returns
    -------
    list of (str, str)
        Name of the question to answer otherwise, and what is wrong.
    """
    found: list[tuple[str, str]] = []
    length, diameter = (answers[name].value if name in answers else math.nan
                        for name in ("length", "diameter"))  # fmt: skip
    if diameter > 0.5 * length:
        said = (
            f"{answers['diameter'].text} wide and {answers['length'].text} long; a rocket is at "
            "least twice as long as wide: check both units"
        )
        return [("diameter", said)]  # what else is compared with it means nothing then
    if "leg_span" in answers and answers["leg_span"].value <= 1.2 * diameter:
        said = (
            f"open feet on a circle of {answers['leg_span'].text} hardly stand out from a body of "
            f"{answers['diameter'].text}; give the circle of the open feet, usually half the "
            "length or more"
        )
        found.append(("leg_span", said))
    if "dry_mass" in answers:
        density = answers["dry_mass"].value / (math.pi / 4.0 * diameter**2 * length)
        if not 20.0 < density < 5000.0:
            said = (
                f"{answers['dry_mass'].text} in a body of that size is {density:.0f} kg/m3; built "
                "rockets have 100 to 1000: check mass, length, diameter and their units"
            )
            found.append(("dry_mass", said))
    return found
