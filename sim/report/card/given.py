"""What other verbs found out, read from the JSON that they print: limits and the clear area."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sim.errors import UserMistake


@dataclass(frozen=True)
class Limit:
    """How far one input may go.

    Attributes
    ----------
    key : str
        Of the scenario.
    meaning : str
        What its levels are: value, magnitude, deviation or spread.
    good : float [SI]
        The largest level shown to be good; nan if there is none.
    crossed : bool
        Whether success was seen to fall too low beyond it.
    wanted, confidence : float [1]
    """

    key: str
    meaning: str
    good: float
    crossed: bool
    wanted: float
    confidence: float


@dataclass(frozen=True)
class ClearArea:
    """Radius [m] around the launch point that holds a share of all flights, with what falls off.

    `remark` is what must be said beside it: no faults in it, or chances that were assumed.
    """

    radius: float
    share: float
    confidence: float
    remark: str = ""


def read_limits(paths: Sequence[Path], digest: str) -> list[Limit]:
    """Read the limits in files of `setdown tolerance ... --json`.

    Parameters
    ----------
    paths : sequence of Path
    digest : str
        Of the scenario that the card is for.

    Raises
    ------
    UserMistake
        With everything that is wrong with all of them.
    """
    found, wrong = {}, []
    for path in paths:
        try:
            limit = _limit(path, digest)
        except UserMistake as mistake:
            wrong.append(str(mistake))
            continue
        if limit.key in found:
            wrong.append(f"{path}: a limit of {limit.key} was given already; give one of them")
        found[limit.key] = limit
    if wrong:
        raise UserMistake("\n".join(wrong))
    return list(found.values())


def _limit(path: Path, digest: str) -> Limit:
    about, variables = _parts(path, "tolerance", "setdown tolerance FILE KEY --json")
    _same(path, about, digest, "setdown tolerance")
    try:
        good, crossing = (_number(variables[name]["value"]) for name in ("good_end", "crossing"))
        limit = Limit(
            str(about["scenario_key"]), str(about["meaning"]), good,
            math.isfinite(good) and math.isfinite(crossing),
            float(about["wanted_success"]), float(about["confidence"]),
        )  # fmt: skip
    except (KeyError, TypeError, ValueError) as problem:
        raise UserMistake(
            f"{path}: a tolerance without what a card needs ({problem}); make it again with "
            "setdown tolerance FILE KEY --json"
        ) from problem
    return limit


def read_clear_area(path: Path, digest: str) -> ClearArea:
    """Read the radius of the clear area in a file of `setdown hazard ... --json`.

    Raises
    ------
    UserMistake
        It is no such file, or of another scenario.
    """
    about, variables = _parts(path, "hazard", "setdown hazard FILE --json")
    known = "scenario_digest" in about
    if known:
        _same(path, about, digest, "setdown hazard")
    try:
        shares = variables["radius"]["value"]["launch_point"]["both"]
        shown = {float(share): _number(bounds["upper"]) for share, bounds in shares.items()}
    except (KeyError, TypeError, AttributeError, ValueError) as problem:
        raise UserMistake(
            f"{path}: a hazard study without its radii ({problem}); make it again with setdown "
            "hazard FILE --json"
        ) from problem
    share = max((share for share, radius in shown.items() if math.isfinite(radius)), default=0.0)
    level = _number(about.get("confidence"))
    if not share or not 0.0 < level < 1.0:
        raise UserMistake(
            f"{path}: no radius is shown in it; make it again with more flights, as its remarks say"
        )
    remarks = [] if known else [(f"of {about.get('vehicle', 'an unnamed vehicle')}, scenario not "
                                "said")]  # fmt: skip
    if not about.get("faults"):
        remarks.append("NO FAULTS in it")
    elif math.isfinite(_number(about.get("assumed_chance"))):
        remarks.append("chances of faults assumed")
    return ClearArea(shown[share], share, level, "; ".join(remarks))


def _parts(path: Path, what: str, command: str) -> tuple[dict[str, Any], dict[str, Any]]:
    try:
        whole = json.loads(path.read_text(encoding="utf-8"))
    except OSError as problem:
        raise UserMistake(f"{path}: cannot be read ({problem.strerror or problem})") from problem
    except (ValueError, RecursionError) as problem:
        raise UserMistake(f"{path}: not JSON ({problem}); it should come from {command}") from None
    part = whole.get(what) if isinstance(whole, dict) else None
    about = part.get("attributes") if isinstance(part, dict) else None
    variables = part.get("variables") if isinstance(part, dict) else None
    if not isinstance(about, dict) or not isinstance(variables, dict):
        raise UserMistake(f"{path}: not what {command} prints")
    return about, variables


def _same(path: Path, about: dict[str, Any], digest: str, verb: str) -> None:
    theirs = str(about.get("scenario_digest", "unknown"))
    if theirs != digest:
        raise UserMistake(
            f"{path}: of another scenario (digest {theirs[:12]}, this one has {digest[:12]}); "
            f"run {verb} again with this scenario and the same --set"
        )


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return math.nan
    return float(value)
