"""The answer: one sentence, and the few numbers to see at a glance."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sim.analysis.landing_box import PAD_STATES
from sim.report.display import bounds, percent
from sim.report.page.blocks import Block, Section, Tile, Tiles, Words
from sim.report.page.facts import Facts
from sim.report.sentences import success_sentence

if TYPE_CHECKING:
    from xarray import DataArray


def section(facts: Facts) -> Section:
    """Answer to the question that the ensemble was flown for."""
    assert facts.contact is not None
    blocks: list[Block] = [Words(success_sentence(facts.contact), "lead"), Tiles(tiles(facts))]
    return Section("answer", "The answer", blocks)


def tiles(facts: Facts) -> list[Tile]:
    """Chance of success, landing box, landing pad and touchdown speed."""
    assert facts.contact is not None
    assert facts.box is not None
    share = facts.contact["success"]
    found = [Tile("succeed", percent(float(share.sel(bound="estimate"))), _percents(share))]
    if "standing" in facts.contact["outcome"].to_numpy():
        row = facts.contact["outcome_probability"].sel(outcome="standing")
        if float(row.sel(bound="estimate")) > 0.0:
            found.append(
                Tile(
                    "stand on the landing pad at the end",
                    percent(float(row.sel(bound="estimate"))),
                    _percents(row),
                )
            )
    far = facts.box["radius_95"].sel(about="mark")
    found.append(_measure("from the mark: 95 % come down within this", far, "m"))
    if "landing_pad_state" in facts.box:
        state = PAD_STATES[int(facts.box["landing_pad_state"])]
        wanted = percent(float(facts.box.attrs["probability"]), 0)
        level = percent(float(facts.box.attrs["confidence"]), 0)
        what = f"landing pad radius for all feet of {wanted}"
        if state == "attained":
            size = f"{float(facts.box['landing_pad_radius']):.2f} m"
            found.append(Tile(what, size, f"with {level} confidence"))
        else:
            found.append(Tile(what, "none", state.replace("_", " ")))
    speed = facts.contact["touchdown_speed"].sel(statistic="p95")
    found.append(_measure("touchdown speed: 95 % are slower", speed, "m/s"))
    return found


def _percents(row: DataArray) -> str:
    low, _, high = (100.0 * float(x) for x in row)
    return f"{low:.1f} to {high:.1f} %"


def _measure(what: str, row: DataArray, unit: str) -> Tile:
    low, middle, high = (float(x) for x in row)
    number = f"{middle:.2f} {unit}" if math.isfinite(middle) else "no bound"
    return Tile(what, number, f"{bounds(low, high)} {unit}")
