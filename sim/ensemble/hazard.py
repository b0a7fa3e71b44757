"""Where everything comes down, all faults and all scatter: the flights behind a clear area."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from sim.ensemble.batches import Outcomes, Progress
from sim.ensemble.fault_odds import Odds, find_odds
from sim.ensemble.protocols import Floats, Fly
from sim.ensemble.registry import OUTCOME_MEANINGS
from sim.ensemble.strata import SEVERAL, Flown, fly_strata, plan_weighted, weights
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.scenario import Scenario

SHARES = (0.99, 0.999)
LEAST = 500
PIECES = ("vehicle", "stage", "both")
CENTRES = ("launch_point", "mark")


def solve_hazard(
    scenario: Scenario,
    *,
    flights: int = 16_000,
    confidence: float = 0.95,
    shares: Sequence[float] = SHARES,
    assumed: float | None = None,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> tuple[Dataset, Flown]:
    """Find the radius about launch point and mark that holds a share of all impacts.

    Parameters
    ----------
    scenario : Scenario
    flights : int
        In all, shared out over the sets of faults.
    confidence : float [1]
        One-sided, of each bound.
    shares : sequence of float [1]
        Of flights.
    assumed : float [1], optional
        Chance of each possible fault, for a scenario that gives none.
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Dataset
        radius [m] (centre, piece, share, bound) with bound "estimate" and "upper", infinite where
        it is not shown; flights_needed (share).
    Flown
        The flights.
    """
    import xarray as xr

    from sim.analysis.hazard import flights_needed, radius_within
    from sim.analysis.strata import Strata

    if flights < LEAST:
        raise UserMistake(f"{flights} flights are too few; give at least {LEAST}")
    odds = find_odds(scenario, assumed)
    flown = fly_strata(
        scenario, odds, plan_weighted(odds, flights), seed=seed, workers=workers,
        progress=progress, fly=fly,
    )  # fmt: skip
    mean, samples = weights(flown)
    strata = Strata(mean, samples, [s.flights for s in flown.strata])
    pad = (scenario.numbers["landing_pad.east"].value, scenario.numbers["landing_pad.north"].value)
    table = np.full((len(CENTRES), len(PIECES), len(shares), 2), np.nan)
    needed = np.array([flights_needed(strata, share, confidence) for share in shares])
    for i, about in enumerate(CENTRES):
        origin = (0.0, 0.0) if about == "launch_point" else pad
        for j, piece in enumerate(PIECES):
            reaches = [reach(s.outcomes, piece, origin) for s in flown.strata]
            for k, share in enumerate(shares):
                found = radius_within(strata, reaches, share, confidence, int(needed[k]))
                table[i, j, k] = found.estimate, found.bound
    dims = ("centre", "piece", "share", "bound")
    about_radius = {"units": "m", "long_name": "radius within which that share of flights lies"}
    return xr.Dataset(
        {
            "radius": (dims, table, about_radius),
            "flights_needed": (("share",), needed, {"units": "1"}),
            "weight": (("stratum",), mean, {"units": "1"}),
            "flown": (("stratum",), [s.flights for s in flown.strata], {"units": "1"}),
        },
        coords={
            "centre": list(CENTRES), "piece": list(PIECES), "share": list(shares),
            "bound": ["estimate", "upper"], "stratum": [s.name for s in flown.strata],
        },
        attrs={
            "vehicle": scenario.title, "scenario_digest": scenario.digest, "seed": seed,
            "confidence": confidence,
            "flights": int(strata.flights.sum()), "rest": flown.rest,
            "rest_upper": float(np.quantile(flown.rests, confidence)),
            "mark_east": pad[0], "mark_north": pad[1],
            "assumed_chance": _assumed(odds), "faults": len(odds.names),
            "apogee_height_99": _apogee(flown), **class_facts(scenario),
        },
    ), flown  # fmt: skip


def _assumed(odds: Odds) -> float:
    """Chance that was assumed for all faults; nan where the scenario gave them."""
    bases = {fault.basis for fault in odds.faults}
    return odds.faults[0].chance if bases == {"assumed"} else np.nan


def _apogee(flown: Flown) -> float:
    """Height of the cg that 99 % of sound flights stay below [m]; nan if it is not recorded."""
    sound = flown.of().outcomes
    if "apogee_height" not in sound:
        return np.nan
    return float(np.nanquantile(sound["apogee_height"], 0.99))


def impacts(outcomes: Mapping[str, Floats], piece: str) -> Floats:
    """Where a piece comes down, from the launch point.

    Parameters
    ----------
    outcomes : mapping of str to ndarray (n,)
    piece : {"vehicle", "stage"}

    Returns
    -------
    ndarray (n, 2) [m]
        East and north. Infinite where it is not known: not down in time, or no numbers. NaN for a
        stage that never left the vehicle. A vehicle that stays on the launch pad is there.
    """
    if piece == "stage":
        if "stage_east" not in outcomes:
            return np.full((len(outcomes["outcome"]), 2), np.nan)
        points = np.stack([outcomes["stage_east"], outcomes["stage_north"]], axis=1)
        parted = np.isfinite(outcomes["separation_time"])
        lost = parted & ~np.isfinite(points).all(axis=1)
        return np.where(lost[:, np.newaxis], np.inf, points)
    points = np.stack([outcomes["landing_east"], outcomes["landing_north"]], axis=1)
    stays = outcomes["outcome"] == OUTCOME_MEANINGS.index("never_left_launch_pad")
    points = np.where(stays[:, np.newaxis], 0.0, points)
    known = np.isfinite(points).all(axis=1)
    return np.where(np.atleast_1d(known)[:, np.newaxis], points, np.inf)


def reach(outcomes: Outcomes, piece: str, origin: tuple[float, float]) -> Floats:
    """Distance of the farthest of the pieces from a point [m], flight by flight."""
    if piece == "both":
        return np.maximum(reach(outcomes, "vehicle", origin), reach(outcomes, "stage", origin))
    points = impacts(outcomes, piece)
    away = np.hypot(points[:, 0] - origin[0], points[:, 1] - origin[1])
    # a stage that stays on comes down with the vehicle
    return np.where(np.isnan(away), 0.0, away)


def class_facts(scenario: Scenario) -> dict[str, float]:
    """What the published codes go by: impulse of all motors, propellant and mass at lift-off."""
    impulse = propellant = 0.0
    motors = 0
    mass = scenario.numbers["vehicle.dry_mass"].value
    if scenario.has("stage"):
        mass += scenario.numbers["stage.mass"].value
    for part in ("ascent_motor", "landing_motor"):
        if scenario.has(part):
            motors += 1
            time, thrust = scenario.curves[f"{part}.curve"][:, :2].T
            impulse += float(np.trapezoid(thrust, time))
            propellant += scenario.numbers[f"{part}.propellant_mass"].value
    return {
        "impulse": impulse, "motors": motors, "propellant_mass": propellant,
        "lift_off_mass": mass + propellant,
    }  # fmt: skip


def points_by_kind(flown: Flown) -> list[Floats]:
    """Impacts for a picture, from the launch point.

    Returns
    -------
    list of ndarray (n, 2) [m]
        Of sound vehicles, of those with one fault, with more, and of all dropped stages.
    """
    kinds: list[list[Floats]] = [[], [], [], []]
    for stratum in flown.strata:
        several = stratum.faults == SEVERAL
        kinds[2 if several else min(2, len(stratum.faults))].append(
            impacts(stratum.outcomes, "vehicle")
        )
        kinds[3].append(impacts(stratum.outcomes, "stage"))
    return [np.concatenate(each) if each else np.zeros((0, 2)) for each in kinds]
