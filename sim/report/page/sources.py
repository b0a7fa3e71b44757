"""What causes the scatter: the error budget if there is one, and what the flights alone tell."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np

from sim.analysis.ranks import ranked_inputs
from sim.report.display import percent, signed, words
from sim.report.page.blocks import Block, Commands, Section, Table, Words
from sim.report.page.facts import MOST_READ, Facts

MOST = 12
HEADS = {"miss_east": "miss, east", "miss_north": "miss, north"}


def section(facts: Facts) -> Section:
    """Error budget found beside the ensemble, rank correlations, and how to get the rest."""
    blocks: list[Block] = []
    beside = budget_beside(facts.path)
    budget = _read(beside) if beside.exists() else None
    if budget is not None:
        blocks += _budget(facts, budget, beside)
    ranks = rank_table(facts)
    if ranks is not None:
        blocks += [
            Words(
                "A first look, from this ensemble alone: which inputs go together with an outcome. "
                "1 or -1 would be lock step, 0 nothing; the sign says which way. It does not see "
                "what spreads flights to all sides alike, such as an error with a free direction "
                "or the noise in flight, and it is no share of the scatter: the error budget is."
            ),
            ranks,
        ]
    if budget is None:
        blocks.append(Words(
            "How much of the scatter each source causes, alone and with the others, takes flights "
            "of its own. This page shows the error budget if it lies beside the ensemble as "
            f"{beside.name}:"
        ))  # fmt: skip
        blocks.append(Commands([
            (f"setdown budget SCENARIO --json > {beside}", "then write the report again"),
        ]))  # fmt: skip
    return Section("sources", "What causes the scatter", blocks)


def budget_beside(path: Path) -> Path:
    """Where the error budget of an ensemble is looked for."""
    return path.with_name(f"{path.stem}_budget.json")


def rank_table(facts: Facts) -> Table | None:
    """Inputs that go together with an outcome more than noise would; None of a sweep."""
    if facts.swept:
        return None
    found = ranked_inputs(facts.ds, confidence=facts.confidence, most=MOST_READ)
    quantities = [str(name) for name in found["quantity"].to_numpy()]
    if not quantities:
        return None
    table, noise = found["correlation"].to_numpy(), found["noise"].to_numpy()
    strength = np.nan_to_num(np.abs(table))
    told = strength > noise
    ranked = np.argsort(-strength.max(axis=1), kind="stable")
    order = [int(i) for i in ranked if told[i].any()][:MOST]
    keys = [str(key) for key in found["input"].to_numpy()]
    rows = [
        [keys[i], *(
            signed(table[i, j]) if told[i, j] else "noise" for j in range(len(quantities))
        )]
        for i in order
    ]  # fmt: skip
    if not rows:
        rows = [["no input goes beyond noise", *("noise" for _ in quantities)]]
    most = int(found["flights"].max())
    return Table(
        "Rank correlation of inputs with outcomes (Spearman)",
        ["input", *(HEADS.get(name, words(name)) for name in quantities)], rows,
        note=f"{most:,} flights that came down; {len(keys)} uncertain inputs tried, the strongest "
             f"{len(order)} shown. Noise: below {float(noise.max()):.2f}, which none of so many "
             f"inputs without effect would reach, with {percent(facts.confidence, 0)} confidence "
             "for all together (Bonferroni).",
    )  # fmt: skip


def _read(path: Path) -> dict[str, Any] | None:
    """Budget that `setdown budget --json` printed; None if the file holds something else."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        variables = found["budget"]["variables"]
        if not isinstance(variables["total"]["value"], dict):
            return None
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return dict(found)


def _budget(facts: Facts, found: dict[str, Any], path: Path) -> list[Block]:
    about = found["budget"]["attributes"]
    blocks: list[Block] = [Words(str(found.get("answer", "")))]
    if about.get("scenario_digest") != facts.ds.attrs.get("scenario_digest"):
        blocks.append(Words(
            f"{path.name} is of another scenario than this ensemble: it is shown, but it need not "
            "hold here.", "warning",
        ))  # fmt: skip
    total = found["budget"]["variables"]["total"]["value"]
    first = found["budget"]["variables"].get("first", {}).get("value", {})
    level = percent(float(about.get("confidence") or math.nan), 0)
    for quantity, sources in total.items():
        ranked = sorted(sources, key=lambda name: -(_middle(sources[name]) or 0.0))[:MOST]
        rows = [
            [name, _share(sources[name]), _share(first.get(quantity, {}).get(name))]
            for name in ranked
        ]
        blocks.append(Table(
            f"Error budget: shares of the variance of {words(quantity)}, {level} bounds",
            ["source", "with interactions [%]", "by itself [%]"], rows,
            note=f"{int(about.get('flights') or 0):,} flights; Sobol' indices, from {path.name}. "
                 f"The {len(ranked)} largest of {len(sources)} sources.",
        ))  # fmt: skip
    return blocks


def _middle(row: Any) -> float | None:
    return row.get("estimate") if isinstance(row, dict) else None


def _share(row: Any) -> str:
    if not isinstance(row, dict) or row.get("estimate") is None:
        return "-"
    low, middle, high = (row.get(bound) for bound in ("lower", "estimate", "upper"))
    ends = [f"{max(100.0 * x, 0.0):.0f}" if x is not None else "no bound" for x in (low, high)]
    return f"{max(100.0 * float(middle or 0.0), 0.0):.1f} ({ends[0]} to {ends[1]})"
