"""What counts as success: one predicate, a list of limits that must all hold.

A line of [success] reads `touchdown_speed = "< 2.5 m/s"` (also <=, >, >=), or `ignition_height =
"4..9 m"` (a range, both ends included), `inside_landing_pad = true`, `first_contact = "foot"`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim.scenario.amounts import AmountProblem, read_quantity
from sim.scenario.dimensions import DIMENSIONS
from sim.scenario.units import with_article

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# outcome variables that a limit may name: dimension, and whether below zero makes sense
VARIABLES: dict[str, tuple[str, bool]] = {
    "touchdown_speed": ("speed", False),
    "sink_rate": ("speed", True),
    "lateral_speed": ("speed", False),
    "tilt": ("angle", False),
    "tilt_rate": ("angular rate", False),
    "roll_rate": ("angular rate", True),
    "miss_distance": ("length", False),
    "thrust_to_weight_at_contact": ("number", False),
    "burn_left_at_contact": ("number", False),
    "throttle_at_contact": ("number", False),
    "mass_at_contact": ("mass", False),
    "contact_time": ("time", False),
    "lift_off_time": ("time", False),
    "apogee_time": ("time", False),
    "apogee_height": ("length", True),
    "apogee_tilt": ("angle", False),
    "landing_light_time": ("time", False),
    "ignition_command_time": ("time", False),
    "ignition_height": ("length", True),
    "ignition_sink_rate": ("speed", True),
    "maximum_speed": ("speed", False),
    "maximum_acceleration": ("acceleration", False),
    "maximum_dynamic_pressure": ("pressure", False),
    "maximum_tilt_climb": ("angle", False),
    "maximum_tilt_burn": ("angle", False),
    "stage_closest": ("length", False),
    "rest_tilt": ("angle", False),
    "hops": ("number", False),
    "slide_distance": ("length", False),
    "peak_strut_force": ("force", False),
    "peak_stroke": ("length", False),
    "peak_deceleration": ("acceleration", False),
    "feet_on_pad": ("number", False),
}
FLAGS = ("inside_landing_pad", "standing")
WORDS = {
    "first_contact": ("none", "foot", "nozzle", "tail_ring", "nose"),
    "outcome": (
        "feet_first", "off_landing_pad", "airframe_first", "tumbled", "landing_motor_unlit",
        "never_came_down", "never_left_launch_pad", "numerical_failure", "standing", "tipped",
        "unsettled", "frame_struck", "leg_overloaded", "frame_overloaded", "too_fast",
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Limit:
    """One line of the success predicate.

    Parameters
    ----------
    variable : str
        Name of an outcome variable.
    low, high : float or None
        Bounds, SI; None if open.
    flag : bool, str or None
        What a yes-or-no or worded outcome must be.
    text : str
        As the user wrote it.
    low_included, high_included : bool
        Whether the bound itself is still success.
    """

    variable: str
    low: float | None
    high: float | None
    flag: bool | str | None
    text: str
    low_included: bool = True
    high_included: bool = True

    def holds(self, values: Any) -> NDArray[np.bool_]:
        """Whether the limit holds, run by run; an undefined value (nan) never does.

        Parameters
        ----------
        values : array_like
            Of the outcome variable, SI; words for a worded outcome.
        """
        import numpy as np

        values = np.asarray(values)
        if self.flag is not None:
            same: NDArray[np.bool_] = values == self.flag
            return same
        good = ~np.isnan(values)
        if self.low is not None:
            good &= values >= self.low if self.low_included else values > self.low
        if self.high is not None:
            good &= values <= self.high if self.high_included else values < self.high
        return np.asarray(good)


_ONE_SIDED = re.compile(r"\s*(<=|>=|<|>)\s*(.+)$")
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_RANGE = re.compile(rf"\s*({_NUMBER})\s*([^\d\s.][^.]*?)?\s*\.\.\s*({_NUMBER})\s*(.*)$")


def read_limit(variable: str, raw: object) -> Limit:
    """Read one line of [success].

    Raises
    ------
    AmountProblem
        With what was found and what would be right.
    """
    if variable in VARIABLES:
        return _numeric(variable, raw)
    if variable in FLAGS:
        if not isinstance(raw, bool):
            raise AmountProblem(_say(raw), "write true or false")
        return Limit(variable, None, None, raw, "true" if raw else "false")
    if variable in WORDS:
        words = WORDS[variable]
        if raw not in words:
            raise AmountProblem(_say(raw), f"write one of {', '.join(words)}")
        return Limit(variable, None, None, str(raw), str(raw))
    raise AmountProblem("unknown outcome", nearest_variable(variable))


def nearest_variable(variable: str) -> str:
    """Say what outcome a person may have meant."""
    from difflib import get_close_matches

    known = [*VARIABLES, *FLAGS, *WORDS]
    near = get_close_matches(variable, known, n=1, cutoff=0.5)
    return f'did you mean "{near[0]}"?' if near else "known outcomes: " + ", ".join(known)


def _numeric(variable: str, raw: object) -> Limit:
    dimension = DIMENSIONS[VARIABLES[variable][0]]
    example = dimension.examples[0]
    unit = example.split(" ", 1)[1] if " " in example else ""
    two = f"1..2 {unit}".strip()
    shape = f'write "< {example}", "> {example}" or "{two}"'
    if not isinstance(raw, str):
        raise AmountProblem(_say(raw), shape)
    one = _ONE_SIDED.match(raw)
    if one:
        value = read_quantity(one[2], dimension).value
        included = one[1].endswith("=")
        limit = (
            Limit(variable, None, value, None, raw, True, included)
            if one[1].startswith("<")
            else Limit(variable, value, None, None, raw, included, True)
        )
    else:
        pair = _RANGE.match(raw)
        if pair is None:
            raise AmountProblem(_say(raw), shape)
        last_unit = pair[4].strip()
        low = read_quantity(f"{pair[1]} {(pair[2] or last_unit).strip()}".strip(), dimension).value
        high = read_quantity(f"{pair[3]} {last_unit}".strip(), dimension).value
        limit = Limit(variable, low, high, None, raw)
    _check_possible(limit, dimension.name)
    return limit


def _check_possible(limit: Limit, dimension: str) -> None:
    low, high = limit.low, limit.high
    if low is not None and high is not None and low >= high:
        raise AmountProblem(f'"{limit.text}" can never hold', "write the lower end first")
    below_zero = VARIABLES[limit.variable][1]
    none_below = high is not None and (high < 0 or (high == 0 and not limit.high_included))
    if none_below and not below_zero:
        raise AmountProblem(
            f'"{limit.text}" can never hold',
            f"{with_article(dimension)} like this is never below zero",
        )
    if limit.variable == "tilt" and low is not None and low > math.pi:
        raise AmountProblem(f'"{limit.text}" can never hold', "tilt is at most 180 deg")


def _say(raw: object) -> str:
    if isinstance(raw, bool):
        return "true" if raw else "false"
    return f'"{raw}"' if isinstance(raw, str) else str(raw)
