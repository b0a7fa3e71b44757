"""`setdown new`: a first scenario from a few answers, or today's numbers for one there is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from sim.cli import options
from sim.errors import UserMistake
from sim.scenario.starter import QUESTIONS, usual_answers

TODAY = "today"


def _answers(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command one option for each question."""
    usual = usual_answers()
    for question in reversed(QUESTIONS):
        like = usual.get(question.name, "")
        like = ", ".join(question.words) if question.kind == "word" else f'such as "{like}"'
        file = question.kind == "file"
        function = click.option(
            question.option, question.name, metavar="FILE" if file else "ANSWER",
            help=question.ask.partition(" (Enter")[0] + ("." if file else f"; {like}."),
        )(function)  # fmt: skip
    return function


@click.command(
    "new",
    epilog=options.examples(
        "setdown new my-rocket",
        'setdown new my-rocket --length "1.1 m" --dry-mass "1.9 kg +/- 10 g" --yes',
        "setdown new today --of scenarios/heron.toml",
    ),
)
@click.argument("name", metavar="NAME")
@click.option("--of", "base", metavar="FILE", help="Write today's numbers for this scenario.")
@_answers
@click.option("--yes", is_flag=True, help="Ask nothing: take the default of every question left.")
@click.option("--replace", is_flag=True, help="Write over files that are there.")
@options.as_json
def verb(
    name: str, base: str | None, yes: bool, replace: bool, as_json: bool, **flags: str | None
) -> None:
    """Write the scenario NAME.toml of your own vehicle from a few answers.

    Asks at the terminal what is not given by options; Enter takes the default. Says before it
    writes what could not fly. With --of, writes a small file built on that scenario instead: what
    to measure on the day, how, and blanks to fill in.
    """
    from sim.cli.screen import Screen

    screen = Screen(as_json=as_json)
    target = _target(name)
    given = {key: text for key, text in flags.items() if text is not None}
    if base is not None:
        _today(screen, target, base, given, replace)
        return
    if target.stem == TODAY:
        raise UserMistake(
            "today's numbers of which scenario? Write setdown new today --of FILE; for a vehicle "
            "of its own take another name"
        )
    _first(screen, target, given, yes or as_json, replace)


def _target(name: str) -> Path:
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    if not path.stem.strip() or not name.isprintable():
        raise UserMistake(f"{name!r} is no name for a file; write one such as my-rocket")
    if not path.parent.is_dir():
        raise UserMistake(f"the folder {path.parent} does not exist; make it first")
    return path


def _refuse(paths: list[Path], replace: bool) -> None:
    """Refuse to write over what is there."""
    there = [str(path) for path in paths if path.exists()]
    if there and not replace:
        raise UserMistake(
            f"{', '.join(there)}: there already, and nothing was written; give another NAME, or "
            "--replace to write over"
        )
    folders = [str(path) for path in paths if path.is_dir()]
    if folders:
        raise UserMistake(f"{', '.join(folders)} is a folder; give another NAME")


def _today(screen: Any, target: Path, base: str, given: dict[str, str], replace: bool) -> None:
    from sim.cli.new_files import relative_name, write_all
    from sim.scenario import load_scenario
    from sim.scenario.starter_today import today_text

    if given:
        named = ", ".join(question.option for question in QUESTIONS if question.name in given)
        raise UserMistake(
            f"{named}: today's numbers are filled in by hand, not by options; leave it out, or "
            "leave out --of"
        )
    if Path(base).resolve() == target.resolve():
        raise UserMistake(f"{base} cannot be built on itself; give the new file another name")
    scenario = load_scenario(base)
    _refuse([target], replace)
    write_all({target: today_text(scenario, relative_name(base, target.parent), target.stem)})
    if screen.as_json:
        screen.put_json({"written": [str(target)], "base": base, "warnings": []})
        return
    screen.say(
        f"Written: {target}, built on {base}. As it stands it flies the same; open it, and fill in "
        "what you measure today.", f"Next:    setdown disperse {target}",
    )  # fmt: skip


def _first(
    screen: Any, target: Path, given: dict[str, str], ask_nothing: bool, replace: bool
) -> None:
    from sim.cli.new_answers import collect
    from sim.cli.new_files import files_of, write_all

    curves = [target.with_name(f"{target.stem}_{which}.csv") for which in ("ascent", "landing")
              if not given.get(f"{which}_curve")]  # fmt: skip
    _refuse([target, *curves], replace)  # before the questions, not after
    asking = not ask_nothing and _at_terminal()
    if not asking and not ask_nothing:
        screen.note(
            "There is no terminal to ask at: what no option gives takes its default answer."
        )
    found = collect(given, ask=asking)

    from sim.ensemble.starter_fit import fly_trial
    from sim.ensemble.starter_remarks import nonsense, remarks

    trial = fly_trial(found.answers, found.motors)
    mistakes = nonsense(trial, found.motors)
    if mistakes:
        raise UserMistake("\n".join(["This cannot fly, and nothing was written:", *mistakes]))
    warnings = list(remarks(trial, found.answers, found.motors))
    for warning in warnings:
        click.echo(f"Warning: {warning}", err=True)
    files = files_of(target, found, trial.timing)
    _refuse(list(files), replace)
    write_all(files)
    written = [str(path) for path in files]
    if screen.as_json:
        screen.put_json({"written": written, "warnings": warnings, "apogee": trial.apogee,
                         "lift_off_thrust_to_weight": trial.lift_off})  # fmt: skip
        return
    _say(screen, target, written, found.defaults, trial.apogee)


def _say(screen: Any, target: Path, written: list[str], defaults: int, apogee: float) -> None:
    from sim.report import sentences

    screen.say(
        f"Written: {', '.join(written)}",
        f"It climbs to about {apogee:.0f} m. {defaults} of the answers were defaults, and every "
        'number marked "assumed" in the file is a guess until you measure it: what setdown says of '
        "this file it does not yet say of your vehicle.",
        "Next:",
        f"  setdown check {target}      every number that will be used, and what follows",
        f"  setdown fly {target}        one nominal flight",
        f"  setdown disperse {target}   the landing box",
        "",
        sentences.CAUTION,
    )


def _at_terminal() -> bool:
    """Whether there is somebody to ask."""
    return sys.stdin is not None and sys.stdin.isatty()
