"""Answers in words: the first sentence, what to run next, the caution."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sim.report.display import fixed, percent, words

if TYPE_CHECKING:
    from xarray import Dataset

CAUTION = (
    "A simulation is no better than its scenario. Keep to your local code, and ask the range "
    "safety officer first: distances for people are theirs to set, not this program's."
)


def success_sentence(touchdown: Dataset) -> str:
    """How many flights met the success predicate, and between which bounds the chance lies."""
    lower, share, upper = (float(x) for x in touchdown["success"])
    level = percent(float(touchdown.attrs["confidence"]), 0)
    count, total = int(touchdown["success_count"]), int(touchdown["flights"])
    return (
        f"{percent(share)} of flights succeed ({count:,} of {total:,}); with {level} confidence "
        f"the chance lies between {percent(lower)} and {percent(upper)}."
    )


def landing_pad_sentence(box: Dataset) -> str:
    """How big the landing pad must be, or why these flights do not say."""
    from sim.analysis.landing_box import PAD_STATES  # late: it loads scipy, which `fly` never needs

    share, level = (float(box.attrs[name]) for name in ("probability", "confidence"))
    if "landing_pad_state" not in box:
        return "How big the landing pad must be is not said: the spread of the feet is not known."
    state = PAD_STATES[int(box["landing_pad_state"])]
    wanted = f"{percent(share, 0)} of flights"
    if state == "attained":
        return (
            f"A landing pad of {float(box['landing_pad_radius']):.2f} m radius around the mark "
            f"takes all feet of {wanted}, with {percent(level, 0)} confidence."
        )
    if state == "too_few_flights":
        return (
            f"These flights are too few to say which landing pad takes {wanted} with "
            f"{percent(level, 0)} confidence: that needs {int(box['landing_pad_flights_needed'])}, "
            "were all of them on their feet."
        )
    upright = percent(float(box["on_feet_share"].sel(bound="estimate")))
    if state == "not_shown":
        return (
            f"{upright} came down on their feet, too little above {percent(share, 0)} to claim a "
            f"landing pad for {wanted} with {percent(level, 0)} confidence: fly more."
        )
    return (
        f"No landing pad, however big, takes {wanted}: only {upright} came down on their feet."
    )


def miss_sentence(box: Dataset) -> str:
    """Where half and nearly all of the flights come down."""
    half = fixed(float(box["circular_error_probable"].sel(about="mark", bound="estimate")))
    most = float(box["radius_95"].sel(about="mark", bound="estimate"))
    if not math.isfinite(most):
        return f"Half of the flights come down within {half} m of the mark."
    return f"Half of the flights come down within {half} m of the mark, 95 % within {most:.2f} m."


def weakest_limit(touchdown: Dataset) -> str | None:
    """Name the limit that fails most often, if any fails."""
    if touchdown.sizes.get("limit", 0) == 0:
        return None
    chances = touchdown["limit_probability"].sel(bound="estimate").to_numpy()
    names = touchdown["limit"].to_numpy()
    known = [(p, str(n)) for p, n in zip(chances, names, strict=True) if math.isfinite(p)]
    if not known or min(known)[0] >= 1.0:
        return None
    chance, name = min(known)
    variable, _, text = name.partition(" ")
    limit = limit_words(variable, text)
    return f"The limit that fails most often: {limit}, held by {percent(chance)} of flights."


def limit_words(variable: str, text: str) -> str:
    """Name a limit as people say it."""
    if text == "true":
        return words(variable)
    if text == "false":
        return f"not {words(variable)}"
    joined = " " if text[:1] in "<>" else ": " if text[:1].isalpha() else " in "
    return f"{words(variable)}{joined}{text.replace('_', ' ')}"


def about(dataset: Dataset) -> str:
    """Say what was flown: vehicle, flights, seed, draws."""
    attrs = dataset.attrs
    title = str(attrs.get("title", "")).partition(":")[0]
    draws = str(attrs.get("sampling_method", "random")).replace("_", " ")
    unfinished = f"; UNFINISHED: {attrs['unfinished']}" if "unfinished" in attrs else ""
    seed = attrs.get("seed", "unknown")
    return f"{title}: {dataset.sizes['run']:,} flights, seed {seed}, {draws} draws{unfinished}"


def next_steps(out: str, scenario: str) -> list[tuple[str, str]]:
    """Commands worth giving next, and what each shows."""
    return [
        (f"setdown fly {scenario} --run 0", "one of these flights, second by second"),
        (f'setdown sweep {scenario} --vary "launch_pad.tilt=0..1 deg/11"',
         "how level the launch pad must be"),
        (f"setdown landing-box {out} --confidence 0.99", "the same figures, more cautious"),
    ]  # fmt: skip
