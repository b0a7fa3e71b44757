"""What `setdown worst` shows: the likeliest ways to fail, as short stories."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.report.as_json import dataset_object
from sim.report.display import amount, percent, signed, unit_for, words
from sim.report.sentences import CAUTION, limit_words
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.ensemble.saving import Change
    from sim.ensemble.worst import Story
    from sim.scenario import Scenario

SEEN = ("touchdown_speed", "lateral_speed", "tilt", "miss_distance")


def parts(
    stories: Sequence[Story], shares: Dataset, scenario: Scenario, path: str
) -> Iterator[Any]:
    """Answer, stories and what to do next, in the order of printing."""
    yield Text(answer(stories, shares, scenario), style="bold")
    for place, story in enumerate(stories, start=1):
        yield ""
        yield Text(f"{place}. {fails(story, scenario)}", style="bold")
        yield f"   {tale(story, scenario)}"
        yield f"   {far(story)}"
        yield f"   The flight replayed: {seen(story)}."
        yield f"   {change(story, scenario)}"
    yield ""
    yield _limits(shares, scenario)
    if stories:
        yield ""
        yield _numbers(stories, scenario)
    yield ""
    yield Text(
        f"{int(shares.attrs['flights']):,} flights. First-order reliability (Hasofer and "
        "Lind 1974) "
        "with gradients by regression over flights; the noise in flight is averaged over, and "
        "directions cost nothing.", style="dim",
    )  # fmt: skip
    yield "Next:"
    yield steps(_next(stories, path))
    yield ""
    yield CAUTION


def answer(stories: Sequence[Story], shares: Dataset, scenario: Scenario) -> str:
    """Name the likeliest way to fail in a sentence."""
    success = percent(float(shares["success"]))
    if not stories:
        return (
            f"No likely way to fail was found ({success} of flights succeed): no line of "
            "the success "
            "predicate is passed within 6 standard deviations."
        )
    first = stories[0]
    return (
        f"The likeliest way to lose it ({success} of flights succeed): "
        f"{_combination(first, scenario)}"
        f"; then {_limit(first, scenario)} fails, {first.distance:.1f} standard "
        "deviations from the "
        "mean."
    )


def fails(story: Story, scenario: Scenario) -> str:
    """Name the line that a story fails."""
    return f"Fails: {_limit(story, scenario)}"


def _limit(story: Story, scenario: Scenario) -> str:
    limit = next(one for one in scenario.success if one.variable == story.mode)
    return limit_words(limit.variable, limit.text)


def tale(story: Story, scenario: Scenario) -> str:
    """Tell a story in one sentence."""
    text = _combination(story, scenario)
    return f"{text[0].upper()}{text[1:]}."


def _combination(story: Story, scenario: Scenario) -> str:
    told = [_deviation(name, story, scenario) for name, _, _ in story.parts]
    told += [
        f"{name} {_amount(name, story.values[name], scenario)}" for name in story.directions[:2]
    ]
    if not told:
        return "nothing out of the ordinary, noise in flight alone"
    return " with ".join([told[0], ", ".join(told[1:])]) if len(told) > 1 else told[0]


def _deviation(name: str, story: Story, scenario: Scenario) -> str:
    number = scenario.numbers[name]
    value, nominal = story.values[name], number.value
    if nominal == 0.0:
        return f"{name} {_amount(name, value, scenario)}"
    if abs(nominal - 1.0) < 1e-12 and number.unit == "1":
        return f"{name} {signed(100.0 * (value - 1.0), 1)} %"
    return f"{name} {_amount(name, value, scenario)} (not {_amount(name, nominal, scenario)})"


def _amount(name: str, value: float, scenario: Scenario) -> str:
    unit = scenario.numbers[name].unit
    if unit == "1" and abs(value) < 1.0 and scenario.numbers[name].law.kind != "fixed":
        return f"{signed(100.0 * value)} %"
    return amount(value, unit, unit_for(name, unit, abs(value)), 3)


def far(story: Story) -> str:
    """Say how far a story is from the mean, and what flights there do."""
    chance = 0.5 * math.erfc(story.distance / math.sqrt(2.0))
    return (
        f"{story.distance:.1f} standard deviations from the mean (a flat limit so far "
        "away would be "
        f"passed by {percent(chance)} of flights; {percent(story.share)} pass it). There "
        f"{percent(story.fails_there, 0)} of flights fail, the noise in flight varied."
    )


def seen(story: Story) -> str:
    """Say how the flight replayed ended."""
    told = []
    for name in SEEN:
        value = story.outcomes.get(name, math.nan)
        unit = {"tilt": "deg", "miss_distance": "m"}.get(name, "m/s")
        if math.isfinite(value):
            shown = math.degrees(value) if name == "tilt" else value
            told.append(f"{words(name)} {shown:.2f} {unit}")
    return ", ".join(told) if told else "it did not come down"


def change(story: Story, scenario: Scenario) -> str:
    """Name the cheapest changes that would have saved it: of a number, and of a setting."""
    if not story.changes:
        return "No single change of a number or a setting would have saved half of such flights."
    kinds = [next((c for c in story.changes if c.kind == kind), None)
             for kind in ("number", "setting")]  # fmt: skip
    first, *others = sorted((c for c in kinds if c is not None), key=lambda c: c.price)
    told = f"Cheapest change that saves it: {_change_words(first, story, scenario)}."
    for other in others:
        told += f" Of {'settings' if other.kind == 'setting' else 'numbers'}: "
        told += f"{_change_words(other, story, scenario)}."
    return told


def _change_words(change: Change, story: Story, scenario: Scenario) -> str:
    left = f"{percent(story.before, 0)} of flights a little beyond this point fail without it, "
    left += f"{percent(change.fails, 0)} with it"
    if change.kind == "number":
        return f"{change.key} nearer to its middle by {change.price:.2f} sigma ({left})"
    now = float(scenario.numbers[change.key].value)
    wanted = _amount(change.key, now * (1.0 + change.amount), scenario)
    text = f"{change.key} {wanted} ({signed(100.0 * change.amount, 0)} %; {left}"
    if change.success is not None:
        gain = change.success
        low, high = (signed(100.0 * bound, 1) for bound in (gain.lower, gain.upper))
        text += (
            f"; over all flights success goes from {percent(gain.before)} to "
            f"{percent(gain.after)}, by {low} to {high} points with 95 % confidence"
        )
    return text + ")"


def _limits(shares: Dataset, scenario: Scenario) -> Any:
    table = new_table(["line of the success predicate", "flights that fail it"])
    for limit in scenario.success:
        if limit.variable in shares["limit"].to_numpy():
            share = float(shares["fails"].sel(limit=limit.variable))
            table.add_row(limit_words(limit.variable, limit.text), percent(share, 2))
    return titled(f"As sampled, {int(shares.attrs['base']):,} flights", table)


def _numbers(stories: Sequence[Story], scenario: Scenario) -> Any:
    table = new_table(["story", "number", "value", "standard deviations", "share"], left=2)
    for place, story in enumerate(stories, start=1):
        for name, score, share in story.parts:
            table.add_row(str(place), name, _amount(name, story.values[name], scenario),
                          signed(score), percent(share, 0))  # fmt: skip
    return titled("What the stories are made of", table)


def _next(stories: Sequence[Story], path: str) -> list[tuple[str, str]]:
    found = [(f"setdown budget {path}", "which source costs most overall")]
    if stories and stories[0].parts:
        name = stories[0].parts[0][0]
        found.append((f"setdown tolerance {path} {name} --of spread", "how good it must be"))
    return found


def as_object(
    stories: Sequence[Story], shares: Dataset, scenario: Scenario, picture: Path
) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {
        "answer": answer(stories, shares, scenario), "picture": str(picture),
        "shares": dataset_object(shares),
        "stories": [
            {
                "fails": story.mode, "distance": story.distance, "fails_there": story.fails_there,
                "share": story.share, "run": story.run, "values": story.values,
                "parts": [
                    {"name": name, "standard_deviations": score, "share": share}
                    for name, score, share in story.parts
                ],
                "changes": [asdict(one) for one in story.changes],
                "fails_without_change": story.before,
                "replayed": {
                    name: value if math.isfinite(value) else None
                    for name, value in story.outcomes.items()
                },
            }
            for story in stories
        ],
    }  # fmt: skip
