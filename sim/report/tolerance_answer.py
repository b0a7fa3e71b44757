"""What `setdown tolerance` shows: the answer, its bracket, and success level by level."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.text import Text

from sim.analysis.tolerance import STATES
from sim.report.as_json import dataset_object
from sim.report.decision_words import alignment_sentence, level_amount, share
from sim.report.display import percent
from sim.report.sentences import CAUTION
from sim.report.tables import new_table, steps, titled

if TYPE_CHECKING:
    from xarray import Dataset

WIND = "wind.speed"
_SHOWN = {"above": "good enough", "below": "not good enough", "open": "not decided"}


def crossed(found: Dataset) -> bool:
    """Whether the bracket holds a crossing that is shown from the good side."""
    return math.isfinite(float(found["good_end"])) and math.isfinite(float(found["crossing"]))


def parts(found: Dataset, scenario: str) -> Iterator[Any]:
    """Answer, table and what to do next, in the order of printing."""
    yield Text(answer(found), style="bold")
    yield meaning(found)
    if "alignment" in found.attrs:
        yield alignment_sentence(found)
    yield from _warnings(found)
    yield ""
    yield _table(found)
    yield ""
    yield Text(
        f"{int(found.attrs['flights']):,} flights in all, the same draws at every level. "
        "Bounds and "
        "decisions stay true although the search looked at them on its way (confidence sequence; "
        "for the decisions the risk is shared out over the levels).", style="dim",
    )  # fmt: skip
    yield "Next:"
    yield steps(_next(found, scenario))
    yield ""
    yield CAUTION


def answer(found: Dataset) -> str:
    """Say in one sentence how far the input may go, or on which side the crossing lies."""
    key = str(found.attrs["scenario_key"])
    wanted, level = share(found.attrs["wanted_success"]), share(found.attrs["confidence"])
    good, bad = float(found["good_end"]), float(found["bad_end"])
    if crossed(found):
        upper = f"; from {said(found, bad)} on it does not" if math.isfinite(bad) else (
            "; above that these flights do not decide"
        )  # fmt: skip
        if key == WIND and found.attrs["meaning"] == "value":
            return (
                f"Wind limit for flying today: {said(found, good)}. Up to that, success stays at "
                f"{wanted} or more ({level} confidence){upper}."
            )
        return (
            f"Success stays at {wanted} or more up to {_what(found)} of {said(found, good)} "
            f"({level} confidence){upper}."
        )
    return _no_crossing(found, key, wanted, level)


def _no_crossing(found: Dataset, key: str, wanted: str, level: str) -> str:
    shares = found["success"].sel(bound="estimate").to_numpy()
    levels = found["level"].to_numpy()
    first, last = said(found, float(levels[0])), said(found, float(levels[-1]))
    if shares.max() < found.attrs["wanted_success"]:
        best = int(shares.argmax())
        return (
            f"No {key} is small enough: success is below {wanted} from {first} to {last}, at best "
            f"{percent(float(shares[best]))} at {said(found, float(levels[best]))}. The crossing, "
            "if any, lies below the bracket: other sources spoil too many flights."
        )
    if not math.isfinite(float(found["crossing"])):
        return (
            f"No limit found: success stays above {wanted} from {first} to {last}, at the far end "
            f"{percent(float(shares[-1]))}. The crossing lies above the bracket: give a "
            "larger --to."
        )
    return (
        f"Success crosses {wanted} near {said(found, float(found['crossing']))}, but no level is "
        f"shown to be good with {level} confidence: the crossing is too near the low end of the "
        "bracket, or the flights are too few."
    )


def meaning(found: Dataset) -> str:
    """Say what the levels are."""
    key, kind = str(found.attrs["scenario_key"]), str(found.attrs["meaning"])
    drawn = bool(found.attrs["sign_drawn"])
    if kind == "spread":
        return f"Levels are the standard deviation of {key}; the shape of its law is kept."
    if kind == "value":
        return f"Levels are the value of {key}, the same on every flight."
    sign = "its sign drawn per flight" if drawn else "its direction drawn per flight"
    if kind == "deviation":
        return f"Levels are how far {key} is off its nominal value, {sign}; its law is replaced."
    return f"Levels are the size of {key}, the same on every flight, {sign}; its law is replaced."


def said(found: Dataset, value: float) -> str:
    """Write a level with its unit."""
    largest = float(found["level"].to_numpy()[-1])
    unit = str(found["level"].attrs.get("units", "1"))
    return level_amount(str(found.attrs["scenario_key"]), value, unit, largest)


def _what(found: Dataset) -> str:
    key = str(found.attrs["scenario_key"])
    return {
        "spread": f"a standard deviation of {key}",
        "deviation": f"an error of {key}",
    }.get(str(found.attrs["meaning"]), f"a {key}")


def _warnings(found: Dataset) -> Iterator[Text]:
    if math.isfinite(float(found["rises_from"])):
        low, high = (said(found, float(found[name])) for name in ("rises_from", "rises_to"))
        yield Text(
            f"! Success is not monotone: it rises from {low} to {high}. The answer is about the "
            "fall beyond the best level; look at the curve, and mind the low side too.",
            style="yellow",
        )


def _table(found: Dataset) -> Any:
    key = str(found.attrs["scenario_key"])
    wanted = share(found.attrs["wanted_success"])
    table = new_table([key, "success", "lower to upper", "flights", f"{wanted}?"])
    for place, level in enumerate(found["level"].to_numpy()):
        low, middle, high = (float(x) for x in found["success"].isel(level=place))
        state = STATES[int(found["state"].isel(level=place))]
        table.add_row(
            said(found, float(level)), percent(middle),
            f"{100.0 * low:.1f} to {100.0 * high:.1f} %",
            f"{int(found['flights'].isel(level=place)):,}", _SHOWN[state],
        )  # fmt: skip
    return titled(f"Success at each level, {share(found.attrs['confidence'])} bounds", table)


def _next(found: Dataset, scenario: str) -> list[tuple[str, str]]:
    key = str(found.attrs["scenario_key"])
    return [
        (f"setdown budget {scenario}", "what spoils most flights"),
        (f"setdown tolerance {scenario} {key} --of spread", "for its spread")
        if found.attrs["meaning"] != "spread"
        else (f"setdown tolerance {scenario} {key}", "for a fixed size"),
        (f"setdown tolerance {scenario} --levelling", "how to align and zero"),
    ]


def as_object(found: Dataset, picture: Path) -> dict[str, Any]:
    """Everything shown, in SI units."""
    return {"answer": answer(found), "picture": str(picture), "tolerance": dataset_object(found)}


# ---- levelling -----------------------------------------------------------------------------------


def levelling_parts(found: Dataset, scenario: str) -> Iterator[Any]:
    """Answer and table of the nine combinations."""
    yield Text(levelling_answer(found), style="bold")
    yield ""
    level = share(found.attrs["confidence"])
    heads = ["attitude", "zeroing", "success", "lower to upper", "median miss", "95 % miss",
             "lower to upper", "worse than best, p"]  # fmt: skip
    table = new_table(heads, left=2)
    for attitude in found["attitude"].to_numpy():
        for zeroing in found["zeroing"].to_numpy():
            row = found.sel(attitude=attitude, zeroing=zeroing)
            low, middle, high = (float(x) for x in row["success"])
            far = row["miss_distance"].sel(percent=95.0)
            used = (attitude, zeroing) == (found.attrs["alignment"], found.attrs["zeroing"])
            table.add_row(
                f"{attitude}{' *' if used else ''}", str(zeroing), percent(middle),
                f"{100.0 * low:.1f} to {100.0 * high:.1f} %",
                f"{float(row['miss_distance'].sel(percent=50.0, bound='estimate')):.2f} m",
                f"{float(far.sel(bound='estimate')):.2f} m",
                f"{float(far.sel(bound='lower')):.2f} to {float(far.sel(bound='upper')):.2f}",
                _p_value(float(row["p_value"])),
            )  # fmt: skip
    count = int(found["flights"])
    yield titled(
        f"{count:,} flights of each, the same draws, {level} bounds; * as it is", table
    )
    yield "The last column is McNemar's test against the best of nine; small: really worse."
    yield "Next:"
    yield steps([
        (f"setdown tolerance {scenario} launch_pad.tilt --set alignment.attitude=plumb",
         "how plumb the launch pad must be if it is trusted"),
        (f"setdown budget {scenario}", "what else the miss comes from"),
    ])  # fmt: skip
    yield ""
    yield CAUTION


def _p_value(p: float) -> str:
    return "below 0.0001" if p < 1e-4 else f"{p:.4f}"


def levelling_answer(found: Dataset) -> str:
    """Name the best combination and what is not worse."""
    shares = found["success"].sel(bound="estimate")
    at = shares.argmax(dim=["attitude", "zeroing"])
    best = found.isel({str(dim): int(place) for dim, place in at.items()})
    p_values = found["p_value"].to_numpy()
    as_good = int((p_values >= 1.0 - float(found.attrs["confidence"])).sum()) - 1
    others = (
        "every other combination is worse"
        if as_good <= 0
        else f"{as_good} of the 8 others cannot be told from it"
    )
    return (
        f"Best before flight: attitude {best['attitude'].item()}, zeroing "
        f"{best['zeroing'].item()}, with a success of "
        f"{percent(float(best['success'].sel(bound='estimate')))}; {others}."
    )
