"""Words for how a run stands and whether one may stop: screen and log say the same."""

from __future__ import annotations

import math

from sim.analysis.settling import STATISTICS
from sim.analysis.stopping import ANY_TIME
from sim.report.display import bounds, duration, fixed, percent
from sim.report.run_state import State
from sim.report.settling_view import View

SHORT = {
    "success": "success",
    "radius_95": "R95",
    "circular_error_probable": "CEP",
    "touchdown_speed_95": "touchdown speed 95 %",
}
UNIT = {"radius_95": "m", "circular_error_probable": "m", "touchdown_speed_95": "m/s"}
LOOK_ONCE = "if you look once"
KEEP_LOOKING = "if you keep looking"


def rule_words(confidence: float) -> str:
    """Say which bound is which."""
    return (
        f'"{LOOK_ONCE}": bounds for a number of flights fixed beforehand (Clopper-Pearson, order '
        f"statistics); looked at again and again they are wrong more often than they say. "
        f'"{KEEP_LOOKING}": bounds that hold at every number of flights together, however often '
        "you look and whenever you stop (confidence sequences; Robbins, Howard and Ramdas, from "
        f"memory). Each figure by itself, {percent(confidence, 0)} confidence."
    )


def state_sentence(view: View) -> str:
    """How far the run is and when it will be done, or what became of it."""
    state = view.state
    if state.state == "begun":
        total = f" of {state.total:,} flights" if state.total else ""
        return f"The run{total} for {view.target} has begun; no part of it is finished yet."
    far = f"{state.vehicle}: {state.finished:,} of {state.total:,} flights"
    if len(state.levels) > 1:
        far += f" at {len(state.levels)} levels"
    if state.state == "finished":
        return f"{far}: finished, {view.target} is whole."
    if state.state == "silent":
        return (
            f"{far}; none for {duration(state.quiet)}{_before(state)}: the run seems to have "
            f"stopped. What is finished is kept; the same command goes on: {state.command}"
        )
    if state.state == "writing":
        return f"{far}: all are flown, and {view.target} is being written."
    if math.isnan(state.left):
        return f"{far}; how long it will take is not known yet."
    return (
        f"{far}; {duration(state.left)} left, at {state.rate:,.0f} flights a second over the last "
        "parts."
    )


def _before(state: State) -> str:
    if not math.isfinite(state.usual):
        return ""
    return f" (before, a part came every {max(state.usual, 0.1):.1f} s)"


def warnings(view: View) -> list[str]:
    """What to mind about these figures."""
    state, found = view.state, []
    counted = state.counted * len(state.levels)
    if state.damaged:
        found.append(
            f"Damaged: {', '.join(state.damaged)}. Only flights before it are counted; given "
            "again, the command of the run flies that part anew."
        )
    elif counted < state.finished:
        found.append(
            f"Counted are the first {state.counted:,} flights by number"
            + (" at each level" if len(state.levels) > 1 else "")
            + f"; {state.finished - counted:,} more wait for one before them."
        )
    if not view.independent:
        found.append(
            f"The draws are {state.method.replace('_', ' ')}, not independent: no bound here is "
            "proven for them, least of all before the last flight."
        )
    return found


def value(name: str, number: float, *, unit: bool = True) -> str:
    """One figure with its unit."""
    if name == "success":
        return percent(number) if unit else f"{100.0 * number:.1f}"
    text = fixed(number)
    return f"{text} {UNIT[name]}" if unit and math.isfinite(number) else text


def span(name: str, lower: float, upper: float) -> str:
    """Two bounds without their unit."""
    return bounds(lower, upper, 1, 100.0) if name == "success" else bounds(lower, upper)


def known_to(name: str, share: float) -> str:
    """How well a figure is known."""
    if not math.isfinite(share):
        return "no bound"
    number = 100.0 * share
    text = f"{number:.2g}" if number < 10.0 else f"{number:.0f}"
    return f"+/- {text} points" if name == "success" else f"+/- {text} %"


def stop_sentence(view: View) -> str:
    """Answer "may I stop now?" by the bounds of any time."""
    found, aim = view.verdict, view.aim
    if view.state.state == "finished":
        return "All flights are flown." + _reached(view)
    if not view.now:
        return "May I stop now? Nothing is known yet."
    head = "May I stop now?"
    if found.may_stop is None:
        return f"{head} No bound can say: the draws are not independent. Let the run end."
    if found.may_stop:
        return f"{head} Yes: {'; '.join(_claim_words(view) + _within_words(view))}."
    reasons = _claim_words(view) if "open" in found.claims else []
    for name, share in found.open.items():
        reasons.append(f"{SHORT[name]} is known to {known_to(name, share)}")
    text = f"{head} Not yet: {', '.join(reasons)}"
    if found.open and aim.within is not None:
        text += f"; asked for is {known_to('success', aim.within)} of success and "
        text += f"{known_to('radius_95', aim.within)} of the others"
    if found.about is not None:
        each = " at each level" if len(view.now) > 1 else ""
        text += f". About {_round(found.about):,} flights{each} would do"
        text += _when(view.state, found.about * len(view.now))
    return text + "."


def _reached(view: View) -> str:
    words = _claim_words(view)
    if view.aim.within is not None:
        words += (
            [f"still open: {', '.join(SHORT[n] for n in view.verdict.open)}"]
            if view.verdict.open else _within_words(view)
        )  # fmt: skip
    return f" {'; '.join(words).capitalize()}." if words and view.independent else ""


def _claim_words(view: View) -> list[str]:
    if view.aim.success is None:
        return []
    said = f"at least {100.0 * view.aim.success:g} % succeed"
    claims = view.verdict.claims
    if len(claims) == 1:
        return [{"shown": f"that {said} is shown", "refuted": f"that {said} is refuted",
                 "open": f"whether {said} is open"}[claims[0]]]  # fmt: skip
    counts = ", ".join(f"{kind} at {claims.count(kind)}" for kind in ("shown", "refuted", "open"))
    return [f"that {said} is {counts} of {len(claims)} levels"]


def _within_words(view: View) -> list[str]:
    within = view.aim.within
    if within is None:
        return []
    told = (
        f"success is known to {known_to('success', within)} or better and the others to "
        f"{known_to('radius_95', within)} or better"
    )
    return [told]


def _round(number: int) -> int:
    """Two digits: it is no more than a guess."""
    size = 10 ** max(0, len(str(number)) - 2)
    return int(-(-number // size) * size)


def _when(state: State, needed: int) -> str:
    if needed > state.total:
        return f", more than the {state.total:,} that were asked for"
    if state.state == "flying" and math.isfinite(state.rate):
        return f", in {duration(max(0.0, (needed - state.finished) / state.rate - state.quiet))}"
    return ""


def line(view: View) -> str:
    """Everything in one line, for a log; bounds of any time."""
    state = view.state
    if not view.now:
        return state_sentence(view)
    left = {"silent": f"none for {duration(state.quiet)}, stopped?", "writing": "being written",
            "finished": "finished"}.get(state.state, "")  # fmt: skip
    if state.state == "flying" and math.isfinite(state.left):
        left = f"{duration(state.left)} left"
    told = [f"{state.finished:,} of {state.total:,} flights" + (f", {left}" if left else "")]
    told += so_far(view, STATISTICS)
    answer = {True: "may stop: yes", False: "may stop: not yet", None: "may stop: no bound"}
    if state.state != "finished":
        told.append(answer[view.verdict.may_stop])
    return "; ".join(told)


def so_far(view: View, names: tuple[str, ...]) -> list[str]:
    """Each statistic with its bounds of any time; of a sweep, from its least level to its most."""
    found = []
    for place, name in enumerate(STATISTICS):
        if name not in names or not view.now:
            continue
        rows = [figures[place, ANY_TIME] for figures in view.now]
        if len(rows) == 1:
            lower, middle, upper = (float(x) for x in rows[0])
            text = f"{value(name, middle)} ({span(name, lower, upper)})"
        else:
            middles = [float(row[1]) for row in rows]
            text = f"{value(name, min(middles), unit=False)} to {value(name, max(middles))}"
        found.append(f"{SHORT[name]} {text}")
    return found
