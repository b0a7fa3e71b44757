"""Flying until the size of the landing pad is known as tightly as asked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sim.ensemble.batches import Batch, Campaign, Progress, first_runs, join, outcome_dataset
from sim.ensemble.protocols import Fly, ScenarioLike
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

PILOT = 1_000  # flights that choose where the landing pad lies and how it is turned
FIRST_LOOK = 1_000  # flights after them, at least
SPARE = 1.2  # on the number that the pilot says would do
SHARES = (0.80, 0.90, 0.95, 0.99)


def solve_pad_size(
    scenario: ScenarioLike,
    *,
    probability: float = 0.95,
    confidence: float = 0.95,
    within: float = 0.1,
    shares: Sequence[float] = SHARES,
    flights: int = 40_000,
    pilot: int = PILOT,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> tuple[Dataset, Dataset]:
    """Find the smallest landing pads that take all feet of a share of all flights.

    Parameters
    ----------
    scenario : Scenario
    probability : float [1]
        Share of all flights.
    confidence : float [1]
        Of each size by itself; it stays true although one looks and may fly on.
    within : float [m]
        Fly on until the bound of the circle's radius and of half the rectangle's sides is no
        farther than this above what the flights show.
    shares : sequence of float [1]
        Further shares, to see how the size grows.
    flights : int
        Most flights in all.
    pilot : int
        So many first flights choose place and shape.
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    sizes : Dataset
        As `sim.analysis.pad_size.pad_sizes`; attributes `tight` (1 if as tight as asked),
        `within`, and `looks` (number of them that were planned).
    flown : Dataset
        The flights.

    Raises
    ------
    UserMistake
        Impossible options, a scenario without a landing.
    """
    from sim.analysis.pad_size import flights_for_slack, pad_sizes
    from sim.analysis.planned import FIRST_RISK, planned_looks

    if flights <= pilot + 1:
        raise UserMistake(
            f"{flights} flights are too few: {pilot} choose place and shape, the others bound the "
            f"size; give at least {pilot + FIRST_LOOK}"
        )
    if within <= 0.0:
        raise UserMistake("--within must be above zero")
    wanted = sorted({*shares, probability})
    radius = _foot_radius(scenario)
    # where it comes to rest, or where it first touches for a flight that is given up there
    at_rest = scenario.choices.get("flight.ends_at") == "rest" and radius > 0.0
    point = "rest_miss" if at_rest else "miss"
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    campaign.plan(flights)
    names = {"east": f"{point}_east", "north": f"{point}_north"}
    parts = [campaign.fly_one(Batch(scenario, first_runs(pilot)))]
    # the pilot alone says when to look, so that every look is a sample of fixed size
    guess = SPARE * flights_for_slack(
        outcome_dataset(parts[0], first_runs(pilot), seed), share=probability,
        confidence=1.0 - FIRST_RISK * (1.0 - confidence), within=within, **names,
    )  # fmt: skip
    most = flights - pilot
    looks = planned_looks(guess, most, least=min(FIRST_LOOK, most))
    total = pilot
    for look in looks:
        campaign.plan(pilot + look.flights)
        parts.append(campaign.fly_one(
            Batch(scenario, first_runs(pilot + look.flights - total, total))))  # fmt: skip
        total = pilot + look.flights
        flown = outcome_dataset(join(parts), first_runs(total), seed)
        sizes = pad_sizes(
            flown, foot_radius=radius, probability=wanted, confidence=confidence, pilot=pilot,
            risk=look.risk, **names,
        )  # fmt: skip
        slack = _slack(sizes, probability)
        # a share that too few flights attain will hardly come out by flying on
        if slack <= within or _hopeless(sizes, probability):
            break
    sizes.attrs |= {
        "wanted_probability": probability, "within": within, "tight": int(slack <= within),
        "most_flights": flights, "seed": seed, "vehicle": scenario.title,
        "scenario_digest": scenario.digest, "slide_counted": int(at_rest),
        "looks": len(looks),
    }  # fmt: skip
    return sizes, flown


def _foot_radius(scenario: ScenarioLike) -> float:
    has = getattr(scenario, "has", None)
    if has is not None and not has("legs"):
        return 0.0
    return float(scenario.numbers["legs.foot_radius"].value)


def _slack(sizes: Dataset, probability: float) -> float:
    row = sizes.sel(probability=probability)
    return max(float(row["circle_slack"]), float(row["rectangle_slack"]))


def _hopeless(sizes: Dataset, probability: float) -> bool:
    from sim.analysis.landing_box import PAD_STATES

    return PAD_STATES[int(sizes["state"].sel(probability=probability))] == "not_attainable"
