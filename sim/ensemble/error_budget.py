"""Flying an error budget: two sets of draws, and for each source the first with its own swapped.

The draws are Latin hypercubes in independent replicates, whose scatter gives the intervals. The
largest sources are then flown again: by themselves, taken away, and halved.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.ensemble.batches import Batch, Campaign, Outcomes, Progress, first_runs
from sim.ensemble.draws import draw_numbers
from sim.ensemble.protocols import Floats, Fly, ScenarioLike
from sim.ensemble.sources import NOISE, Source, changed, find_sources
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

REPLICATES = 8
BASE = 2_048  # flights of each set
FOLLOWED = 8  # sources that are flown by themselves, without and halved
FOLLOW_FLIGHTS = 1_000
MOST_NOT_DOWN = 0.01  # share of flights without a landing that a budget can bear
CAP = 1.5  # a touchdown faster than this times its limit counts as this times it
_STILL = 2**61  # run number whose noise every flight has when noise must not vary


def fly_budget(
    scenario: ScenarioLike,
    *,
    base: int = BASE,
    follow: int = FOLLOW_FLIGHTS,
    confidence: float = 0.95,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
    vectors: Mapping[str, tuple[Sequence[str], str]] | None = None,
) -> tuple[Dataset, Dataset]:
    """Fly the error budget of miss, touchdown speed and failure.

    Parameters
    ----------
    scenario : Scenario
    base : int
        Flights of each set; there are two sets and one for each source.
    follow : int
        Flights of the largest sources by themselves, taken away, and halved, each.
    confidence : float [1]
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.
    vectors : mapping, optional
        Other quantities: by name the outcomes that are its components, and its unit.

    Returns
    -------
    shares : Dataset
        As `sim.analysis.error_budget.error_budget`.
    followed : Dataset
        See `follow_up`.

    Raises
    ------
    UserMistake
        Nothing is uncertain, too few flights, or too many flights that never come down.
    """
    from sim.analysis.error_budget import error_budget

    sources = find_sources(scenario)
    each = base // REPLICATES
    if each < 16:
        raise UserMistake(f"{base} flights a set are too few; give at least {16 * REPLICATES}")
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    count = min(FOLLOWED, len(sources))
    total = each * REPLICATES * (len(sources) + 2) + (follow * (3 * count + 1) if follow else 0)
    campaign.plan(total)
    sets = [_replicate(campaign, scenario, sources, each, place) for place in range(REPLICATES)]
    told = vectors or {
        "miss": (("miss_east", "miss_north"), "m"),
        "touchdown_speed": (("touchdown_speed",), "m s-1"),
        "failure": (("success",), "1"),
    }
    worst = _limits(scenario, sets, told)
    outcomes = {
        name: (*_values(sets, parts, worst), unit)
        for name, (parts, unit) in told.items()
        if any(_varies(sets, part) for part in parts)
    }
    if not outcomes:
        raise UserMistake("no outcome varies from flight to flight: there is nothing to share out")
    shares = error_budget([source.name for source in sources], outcomes, confidence=confidence)
    shares.attrs |= {
        "title": "error budget", "vehicle": scenario.title, "flights": campaign.flown,
        "flights_per_set": each * REPLICATES, "replicates": REPLICATES, "seed": seed,
        "not_down": int(sum(np.sum(~np.isfinite(out["touchdown_speed"]))
                            for outs in sets for out in outs)) if not vectors else 0,
        "capped": _capped(sets, worst), "cap": CAP, "scenario_digest": scenario.digest,
    }  # fmt: skip
    if not follow:
        return shares, shares.isel(source=[])
    largest = shares["total"].sel(bound="lower").max("quantity").argsort().to_numpy()[::-1]
    chosen = [sources[int(place)] for place in largest[:count]]
    return shares, follow_up(campaign, scenario, chosen, follow, confidence)


def _replicate(
    campaign: Campaign, scenario: ScenarioLike, sources: Sequence[Source], each: int, place: int
) -> list[Outcomes]:
    """Outcomes of A, B and one set for each source."""
    first = campaign.seed * 7_919 + 2 * place  # seeds of the draws, not of the noise
    runs = first_runs(each)
    a, b = (
        draw_numbers(scenario, first + i, runs, method="latin_hypercube", flights=each)
        for i in (0, 1)
    )
    noise_a, noise_b = (first_runs(each, (2 * place + i) * each) for i in (0, 1))
    batches = [Batch(scenario, noise_a, a, drawn=False), Batch(scenario, noise_b, b, drawn=False)]
    for source in sources:
        if source.name == NOISE:
            batches.append(Batch(scenario, noise_b, a, drawn=False))
        else:
            swapped = a | {name: b[name] for name in source.numbers}
            batches.append(Batch(scenario, noise_a, swapped, drawn=False))
    return campaign.fly(batches)


def _limits(
    scenario: ScenarioLike, sets: list[list[Outcomes]], told: Mapping[str, Any]
) -> dict[str, float]:
    """Largest size of each outcome: what a flight without a landing counts as."""
    found = {}
    limits = {limit.variable: getattr(limit, "high", None) for limit in scenario.success}
    for name in {part for parts, _ in told.values() for part in parts}:
        values = np.concatenate([out[name] for outs in sets for out in outs])
        missing = np.mean(~np.isfinite(values))
        if missing > MOST_NOT_DOWN:
            raise UserMistake(
                f"{100.0 * missing:.1f} % of flights have no {name} (they do not come down): a "
                "budget of it would be about those alone; look at the outcomes with disperse"
            )
        largest = float(np.nanmax(np.abs(values)))
        limit = limits.get(name)
        cap = CAP * limit if limit is not None else np.inf
        found[name] = min(largest, cap)
    return found


def _varies(sets: list[list[Outcomes]], name: str) -> bool:
    base = np.concatenate([out[name] for outs in sets for out in outs[:2]])
    known = base[np.isfinite(base)]
    return bool(known.size and np.ptp(known) > 0.0)


def _capped(sets: list[list[Outcomes]], worst: Mapping[str, float]) -> int:
    if "touchdown_speed" not in worst:
        return 0
    every = (out["touchdown_speed"] for outs in sets for out in outs)
    return int(sum(np.sum(speed > worst["touchdown_speed"]) for speed in every))


def _values(
    sets: list[list[Outcomes]], parts: Sequence[str], worst: Mapping[str, float]
) -> tuple[Floats, Floats, Floats]:
    """Stack into (replicates, [sources,] components, n)."""
    whole = np.array([
        [[_bounded(out[name], worst[name]) for name in parts] for out in outs] for outs in sets
    ])  # fmt: skip
    return whole[:, 0], whole[:, 1], whole[:, 2:]


def _bounded(values: Floats, worst: float) -> Floats:
    return np.clip(np.where(np.isfinite(values), values, worst), -worst, worst)


def follow_up(
    campaign: Campaign,
    scenario: ScenarioLike,
    sources: Sequence[Source],
    flights: int,
    confidence: float,
) -> Dataset:
    """Fly sources by themselves, taken away, and halved, on the same draws.

    Parameters
    ----------
    campaign : Campaign
    scenario : Scenario
    sources : sequence of Source
    flights : int
        Of each.
    confidence : float [1]

    Returns
    -------
    Dataset
        Per source: alone_miss [m] and alone_speed [m/s], standard deviations with every other
        source at its nominal value; per source and change ("without", "halved"): miss_95 [m] and
        speed_95 [m/s], how the 95th percentiles change, and success, how it changes, with bounds.
        Noise in flight cannot be halved.
    """
    import xarray as xr

    from sim.analysis.flights import BOUND
    from sim.analysis.proportions import paired_difference

    runs, still = first_runs(flights), np.full(flights, _STILL)
    drawn = draw_numbers(scenario, campaign.seed, runs)
    batches = [Batch(scenario, runs, drawn, drawn=False)]
    for source in sources:
        noise = source.name == NOISE
        own = {name: drawn[name] for name in source.numbers}
        batches += [
            Batch(scenario, runs if noise else still, own, drawn=False),
            Batch(scenario, still if noise else runs, changed(scenario, source, drawn, 0.0), False),
            Batch(scenario, runs, changed(scenario, source, drawn, 0.5), False),
        ]
    base, *rest = campaign.fly(batches)
    size = len(sources)
    alone = np.array([_alone(rest[3 * i]) for i in range(size)]).reshape(size, 2)
    effects = np.full((3, size, 2, 3), np.nan)
    for i, source in enumerate(sources):
        for j in range(2):
            if source.name == NOISE and j == 1:
                continue
            other = rest[3 * i + 1 + j]
            for k, name in enumerate(("miss_distance", "touchdown_speed")):
                effects[k, i, j] = quantile_change(base[name], other[name], confidence)
            lost = int(np.sum((base["success"] > 0.5) & (other["success"] < 0.5)))
            won = int(np.sum((base["success"] < 0.5) & (other["success"] > 0.5)))
            effects[2, i, j] = paired_difference(lost, won, flights, confidence)[:3]
    where = ("source", "change", "bound")
    entries: dict[str, Any] = {
        "alone_miss": (("source",), alone[:, 0], {"units": "m"}),
        "alone_speed": (("source",), alone[:, 1], {"units": "m s-1"}),
        "miss_95": (where, effects[0], {"units": "m", "method": "paired bootstrap"}),
        "speed_95": (where, effects[1], {"units": "m s-1", "method": "paired bootstrap"}),
        "success": (where, effects[2], {"units": "1", "method": "paired, exact, Bonferroni"}),
    }
    coords = {
        "source": [source.name for source in sources], "change": ["without", "halved"],
        "bound": list(BOUND),
    }  # fmt: skip
    attrs = {
        "flights": flights, "confidence": confidence,
        "base_miss_95": _quantile(base["miss_distance"]),
        "base_speed_95": _quantile(base["touchdown_speed"]),
        "base_success": float(np.mean(base["success"])),
    }  # fmt: skip
    return xr.Dataset(entries, coords=coords, attrs=attrs)


def quantile_change(
    before: Floats, after: Floats, confidence: float, share: float = 0.95, resamples: int = 400
) -> tuple[float, float, float]:
    """Change of a percentile between paired flights, with a paired bootstrap interval.

    Parameters
    ----------
    before, after : ndarray (n,)
        NaN counts as beyond everything.
    confidence, share : float [1]
    resamples : int

    Returns
    -------
    (float, float, float)
        Lower bound, estimate, upper bound.
    """
    one, two = (np.where(np.isfinite(x), x, np.inf) for x in (before, after))
    random = np.random.default_rng(0)
    rank = int(np.ceil(share * len(one))) - 1
    gaps = np.empty(resamples)
    for i in range(resamples):
        pick = random.integers(0, len(one), len(one))
        gaps[i] = _gap(np.partition(two[pick], rank)[rank], np.partition(one[pick], rank)[rank])
    tail = 0.5 * (1.0 - confidence)
    low, high = np.quantile(gaps, [tail, 1.0 - tail], method="closest_observation")
    middle = _gap(np.partition(two, rank)[rank], np.partition(one, rank)[rank])
    return float(low), float(middle), float(high)


def _gap(after: float, before: float) -> float:
    """Return the difference; nothing between two that are beyond everything."""
    return 0.0 if np.isinf(after) and np.isinf(before) else float(after - before)


def _alone(out: Outcomes) -> tuple[float, float]:
    miss = np.hypot(np.nanstd(out["miss_east"]), np.nanstd(out["miss_north"]))
    return float(miss), float(np.nanstd(out["touchdown_speed"]))


def _quantile(values: Floats) -> float:
    known = np.where(np.isfinite(values), values, np.inf)
    rank = int(np.ceil(0.95 * len(known))) - 1
    return float(np.partition(known, rank)[rank])
