"""The files of a first scenario: their text, and writing all of them or none."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from sim.cli.new_answers import Found
from sim.scenario.starter import Answer
from sim.scenario.starter_curve import curve_text
from sim.scenario.starter_file import Timing, scenario_text
from sim.scenario.starter_vehicle import MotorTotals


def files_of(target: Path, found: Found, timing: Timing) -> dict[Path, str]:
    """Text of every file, the scenario last.

    Parameters
    ----------
    target : Path
        Of the scenario; stand-in curves lie beside it.
    found : Found
    timing : Timing
        From a trial flight.
    """
    files: dict[Path, str] = {}
    motors: dict[str, MotorTotals] = {}
    for which, motor in found.motors.items():
        given = found.answers[f"{which}_curve"].text
        if given:
            motors[which] = replace(motor, curve=relative_name(given, target.parent))
            continue
        path = target.with_name(f"{target.stem}_{which}.csv")
        impulse, burn = found.answers[f"{which}_impulse"], found.answers[f"{which}_burn"]
        totals = f"{_said(impulse)} in {_said(burn)}"
        assert isinstance(motor.curve, list)
        files[path] = curve_text([(row[0], row[1]) for row in motor.curve], which, totals)
        motors[which] = replace(
            motor, curve=path.name, origin=f"assumed, an invented stand-in with {totals}"
        )
    files[target] = scenario_text(target.stem, found.answers, motors, timing)
    return files


def _said(answer: Answer) -> str:
    return f"{answer.text} ({'given' if answer.given else 'assumed'})"


def relative_name(name: str, folder: Path) -> str:
    """Name of a file as seen from a folder, with forward slashes; as it is on another drive."""
    path = Path(name)
    with suppress(ValueError):
        path = Path(os.path.relpath(path, folder))
    return path.as_posix()


def write_all(files: Mapping[Path, str | bytes]) -> None:
    """Write all files, or none: each under another name first, then renamed.

    Raises
    ------
    OSError
        As the system says it; nothing is left half-written.
    """
    parts = {path: path.with_name(f".{path.name}.part") for path in files}
    try:
        for path, content in files.items():
            if isinstance(content, bytes):
                parts[path].write_bytes(content)
            else:
                parts[path].write_text(content, encoding="utf-8", newline="\n")
        for path, part in parts.items():
            part.replace(path)
    finally:
        for part in parts.values():
            part.unlink(missing_ok=True)
