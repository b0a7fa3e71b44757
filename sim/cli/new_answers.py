"""Collecting the answers for a first scenario, from options and at the terminal."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import click

from sim.errors import UserMistake
from sim.scenario.starter import (
    QUESTIONS,
    Answer,
    AnswerProblem,
    Question,
    contradictions,
    shown,
)
from sim.scenario.starter_vehicle import MotorTotals


@dataclass(frozen=True)
class Found:
    """All answers, and the motors that follow from them, with the rows of their curves."""

    answers: dict[str, Answer]
    motors: dict[str, MotorTotals]

    @property
    def defaults(self) -> int:
        """How many answers nobody gave."""
        return sum(not answer.given and bool(answer.text) for answer in self.answers.values())


def collect(given: Mapping[str, str], *, ask: bool) -> Found:
    """Collect the answers: options first, then at the terminal or by default.

    Parameters
    ----------
    given : mapping of str to str
        Options, by name of the question.
    ask : bool
        Put every question that no option answers.

    Raises
    ------
    UserMistake
        With every mistake in the options at once.
    """
    _check_options(given)
    if ask:
        click.echo("Enter takes the answer in brackets. Numbers carry a unit.", err=True)
    answers: dict[str, Answer] = {}
    for question in QUESTIONS:
        if not question.when(answers):
            continue
        if question.name in given:
            answers[question.name] = question.read(given[question.name])
            continue
        default = _default(question, answers)
        if ask:
            answers[question.name] = _asked(question, default, answers)
        else:
            _stop_at(contradictions(answers))  # a default made of nonsense is more of it
            answers[question.name] = _by_default(question, default)
    _stop_at(contradictions(answers))
    return Found(answers, {which: _motor(which, answers) for which in ("ascent", "landing")})


def _check_options(given: Mapping[str, str]) -> None:
    """Refuse options that cannot be read, all at once."""
    found = []
    for question in QUESTIONS:
        if question.name not in given:
            continue
        text = given[question.name]
        try:
            answer = question.read(text)
            if question.kind == "file" and answer.text:
                _read_curve(answer.text)
        except AnswerProblem as problem:
            found.append(f"{question.option}: {problem}")
        motor, _, rest = question.name.partition("_")
        if rest in ("impulse", "burn", "shape") and given.get(f"{motor}_curve"):
            found.append(
                f"{question.option}: beside --{motor}-curve, which says it already; leave one out"
            )
    if found:
        _stop(found)


def _by_default(question: Question, default: str) -> Answer:
    try:
        return question.read(default, given=False)
    except AnswerProblem:
        raise UserMistake(
            f"{question.option}: what it would be by default, {default}, is beyond what setdown is "
            "made for; give it, and check the answers before it; nothing was written"
        ) from None


def _stop_at(wrong: list[tuple[str, str]]) -> None:
    options = {question.name: question.option for question in QUESTIONS}
    if wrong:
        _stop([f"{options[name]}: {text}" for name, text in wrong])


def _stop(found: list[str]) -> None:
    head = "1 answer that" if len(found) == 1 else f"{len(found)} answers that"
    raise UserMistake("\n".join([f"{head} cannot be taken, nothing was written:", *found]))


def _default(question: Question, answers: Mapping[str, Answer]) -> str:
    if question.name != "landing_impulse":
        return question.default(answers)
    from sim.ensemble.starter_fit import FIRST_GUESS, suited_landing_motor

    burn, shape = answers["landing_burn"].value, answers["landing_shape"].text
    suited = suited_landing_motor(answers, _motor("ascent", answers), burn, shape)
    guess = FIRST_GUESS * answers["dry_mass"].value
    return shown(guess if suited is None else suited.impulse, "impulse")


def _asked(question: Question, default: str, answers: Mapping[str, Answer]) -> Answer:
    """Ask until the answer can be taken."""
    words = f" ({', '.join(question.words)})" if question.kind == "word" else ""
    while True:
        text = click.prompt(
            question.ask + words, default=default, show_default=bool(default), err=True
        )
        try:
            answer = question.read(text, given=text.strip() != default)
            if question.kind == "file" and answer.text:
                _read_curve(answer.text)
        except AnswerProblem as problem:
            click.echo(f"  {problem}", err=True)
            continue
        wrong = [said for name, said in contradictions({**answers, question.name: answer})
                 if name == question.name]  # fmt: skip
        if not wrong:
            return answer
        click.echo(f"  {wrong[0]}", err=True)


def _read_curve(name: str) -> list[list[float]]:
    """Rows of a thrust curve.

    Raises
    ------
    AnswerProblem
    """
    from sim.scenario.amounts import AmountProblem
    from sim.scenario.curves import read_curve
    from sim.scenario.declare import CurveSpec
    from sim.scenario.motor import Motor

    spec = Motor.specs()["curve"]
    assert isinstance(spec, CurveSpec)
    found = read_curve(spec, name, Path())
    if isinstance(found, AmountProblem):
        raise AnswerProblem(str(found))
    return found.rows


def _motor(which: str, answers: Mapping[str, Answer]) -> MotorTotals:
    from sim.ensemble.starter_fit import stand_in

    name = answers[f"{which}_curve"].text
    if not name:
        shape = answers["landing_shape"].text if which == "landing" else "even"
        burn, impulse = answers[f"{which}_burn"].value, answers[f"{which}_impulse"].value
        return stand_in(impulse, burn, shape)

    import numpy as np

    from sim.scenario.thrust import reduce_curve

    rows = _read_curve(name)
    curve = reduce_curve(np.array(rows, dtype=np.float64))
    if not math.isfinite(curve.burn_time) or curve.burn_time <= 0.0:
        raise UserMistake(f"--{which}-curve: {name} has no burn time; check its times and thrusts")
    return MotorTotals(rows, curve.total_impulse, curve.burn_time, "given")
