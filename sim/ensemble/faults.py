"""What each fault does and costs, and what noticing it in flight is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from sim.ensemble.batches import Campaign, Progress
from sim.ensemble.fault_odds import FaultOdds, Odds, find_odds
from sim.ensemble.protocols import Floats, Fly
from sim.ensemble.strata import Flags, Flown, Plan, events, fly_strata, plan_each, weights
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

    from sim.analysis.strata import Strata
    from sim.scenario import Scenario

LEAST = 50
PAIR = 32  # flights of each pair of faults
SOUND = 4  # times as many flights of sound vehicles as of each fault
CHECKS = ("check_stage", "check_light", "check_continuity")


def solve_faults(
    scenario: Scenario,
    *,
    flights: int = 300,
    confidence: float = 0.95,
    lost_above: float = 8.0,
    assumed: float | None = None,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> Dataset:
    """Fly each fault by itself and in pairs, with and without the computer noticing.

    Parameters
    ----------
    scenario : Scenario
    flights : int
        Of each fault.
    confidence : float [1]
        Two-sided, of each figure.
    lost_above : float [m/s]
        A vehicle that first touches the ground faster is lost.
    assumed : float [1], optional
        Chance of each possible fault, for a scenario that gives none.
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Dataset
        Dimension `fault`, "none" first; attributes say what was flown.

    Raises
    ------
    UserMistake
        Impossible options, or no fault to fly.
    """
    if flights < LEAST:
        raise UserMistake(f"{flights} flights of each fault are too few; give at least {LEAST}")
    odds = find_odds(scenario, assumed)
    if not odds.names:
        raise UserMistake("the scenario has no faults, and none was assumed; give --chance")
    plan = plan_each(odds, flights, sound=SOUND * flights, pair=PAIR)
    responses = response_settings(scenario)
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    campaign.plan(sum(plan.values()) * (len({*responses.values()}) or 1))
    flown = _fly_all(scenario, responses, odds, plan, campaign)
    return _Summary(flown, odds, confidence, lost_above).dataset(scenario, seed)


def response_settings(scenario: Scenario) -> dict[str, tuple[bool, ...]]:
    """Checks as given, all off and all on; only as given where nothing could come of them."""
    given = tuple(scenario.choices.get(f"flight_computer.{c}") is True for c in CHECKS)
    found = {"given": given}
    levels = scenario.choices.get("flight_computer.on_fault") == "level_out"
    if (scenario.has("parachute") or levels) and scenario.has("flight_computer"):
        usable = tuple(c != "check_stage" or scenario.has("stage") for c in CHECKS)
        found |= {"without": (False,) * len(CHECKS), "with": usable}
    return found


def _fly_all(
    scenario: Scenario, responses: Mapping[str, tuple[bool, ...]], odds: Odds, plan: Plan,
    campaign: Campaign,
) -> dict[str, Flown]:  # fmt: skip
    done: dict[tuple[bool, ...], Flown] = {}
    for name, checks in responses.items():
        if checks in done:
            continue
        told = scenario
        if name != "given":
            told = scenario.with_values(
                {f"flight_computer.{c}": on for c, on in zip(CHECKS, checks, strict=True)}
            )
        done[checks] = fly_strata(told, odds, plan, campaign=campaign)
    return {name: done[checks] for name, checks in responses.items()}


def lost(outcomes: Mapping[str, Floats], above: float) -> Flags:
    """Whether the vehicle is lost: it hits the ground too fast, or nobody knows how it came down.

    One that stays on the launch pad is not.
    """
    from sim.ensemble.registry import OUTCOME_MEANINGS

    stays = outcomes["outcome"] == OUTCOME_MEANINGS.index("never_left_launch_pad")
    slow = outcomes["touchdown_speed"] <= above  # not a number: not slow
    return np.asarray(~slow & ~stays)


def stands(outcomes: Mapping[str, Floats]) -> Flags:
    """Whether it stands on its feet in the end."""
    return np.asarray(outcomes.get("standing", outcomes["success"]) > 0.5)


class _Summary:
    """Figures of one campaign."""

    def __init__(
        self, flown: Mapping[str, Flown], odds: Odds, confidence: float, lost_above: float
    ) -> None:
        from sim.analysis.strata import Strata

        self.flown, self.odds = flown, odds
        self.confidence, self.lost_above = confidence, lost_above
        given = flown["given"]
        self.strata: Strata = Strata(*weights(given), [s.flights for s in given.strata])

    def dataset(self, scenario: Scenario, seed: int) -> Dataset:
        import xarray as xr

        rows = [self._row(())] + [self._row((name,)) for name in self._in_order()]
        shared = self._shares_of_losses()
        for row in rows:
            row["share_of_losses"] = shared[str(row["fault"])]
        found = xr.Dataset(coords={"fault": [row["fault"] for row in rows]})
        for name in rows[0]:
            if name != "fault":
                values = np.array([row[name] for row in rows])
                dims = ("fault", "bound") if values.ndim == 2 else ("fault",)
                found[name] = (dims, values, {"units": _UNITS.get(name, "1")})
        for name, value in self._totals().items():
            found[name] = (("bound",), list(value), {"units": "1"})
        first = self.odds.faults[0]
        return found.assign_coords(bound=["lower", "estimate", "upper"]).assign_attrs(
            vehicle=scenario.title, scenario_digest=scenario.digest, seed=seed,
            confidence=self.confidence, on_fault=str(scenario.choices["flight_computer.on_fault"]),
            lost_above=self.lost_above, flights=int(self.strata.flights.sum()),
            configurations=len({id(part) for part in self.flown.values()}),
            response=int("with" in self.flown), parachute=int(scenario.has("parachute")),
            checks=", ".join(c for c in CHECKS
                             if scenario.choices.get(f"flight_computer.{c}") is True) or "none",
            rest=self.strata.rest,
            assumed_chance=first.chance if first.basis == "assumed" else np.nan,
        )  # fmt: skip

    def _in_order(self) -> list[str]:
        from sim.scenario.faults import FAULTS

        return [name for name in FAULTS if name in self.odds.names]

    # ---- one fault -------------------------------------------------------------------------------

    def _row(self, faults: tuple[str, ...]) -> dict[str, object]:
        from sim.analysis.proportions import clopper_pearson, paired_difference

        out = self.flown["given"].of(*faults).outcomes
        size = len(out["outcome"])
        row: dict[str, object] = {"fault": faults[0] if faults else "none", "flown": size}
        row |= self._chance(faults)
        for name, flags in (
            ("standing", stands(out)), ("success_given", out["success"] > 0.5),
            ("lost", lost(out, self.lost_above)),
        ):  # fmt: skip
            row[name] = list(clopper_pearson(int(flags.sum()), size, self.confidence))
        for name in ("touchdown_speed", "miss_distance"):
            values = np.sort(np.where(np.isfinite(out[name]), out[name], np.inf))
            row[f"{name}_median"] = _quantile(values, 0.5)
            row[f"{name}_95"] = _quantile(values, 0.95)
        if "with" in self.flown:
            off, on = (lost(self.flown[key].of(*faults).outcomes, self.lost_above)
                       for key in ("without", "with"))  # fmt: skip
            row["lost_without"], row["lost_with"] = off.mean(), on.mean()
            saved = paired_difference(
                int((on & ~off).sum()), int((off & ~on).sum()), size, self.confidence
            )
            row["saved"] = list(saved[:3])
        return row

    def _chance(self, faults: tuple[str, ...]) -> dict[str, object]:
        if not faults:
            here = self.flown["given"].of()
            return {"chance": _spread(here.weights, here.weight, self.confidence), "basis": "rest",
                    "failures": -1, "tests": -1, "after": "none", "chance_after": 0.0}  # fmt: skip
        fault: FaultOdds = next(f for f in self.odds.faults if f.name == faults[0])
        return {
            "chance": _spread(fault.samples, fault.chance, self.confidence), "basis": fault.basis,
            "failures": -1 if fault.failures is None else fault.failures,
            "tests": -1 if fault.tests is None else fault.tests,
            "after": fault.after, "chance_after": fault.chance_after,
        }  # fmt: skip

    # ---- all faults ------------------------------------------------------------------------------

    def _totals(self) -> dict[str, Sequence[float]]:
        given = self.flown["given"]
        found: dict[str, Sequence[float]] = {}
        success = self.strata.probability(
            events(given, lambda out: out["success"] > 0.5), self.confidence, rest=False
        )
        found["success"] = success[:3]
        found["lost_overall"] = self._lost("given")[:3]
        if "with" in self.flown:
            for key in ("without", "with"):
                met = events(self.flown[key], lambda out: out["success"] > 0.5)
                found[f"success_{key}"] = self.strata.probability(met, self.confidence, rest=False)[
                    :3
                ]
            found["lost_overall_without"] = self._lost("without")[:3]
            found["lost_overall_with"] = self._lost("with")[:3]
            found["saved_overall"] = self._saved()
        return found

    def _lost_flags(self, key: str) -> list[Flags]:
        return events(self.flown[key], lambda out: lost(out, self.lost_above))

    def _lost(self, key: str) -> Sequence[float]:
        return self.strata.probability(self._lost_flags(key), self.confidence)

    def _saved(self) -> Sequence[float]:
        """Probability that the response saves a vehicle less that it costs one."""
        off, on = self._lost_flags("without"), self._lost_flags("with")
        saves = [a & ~b for a, b in zip(off, on, strict=True)]
        costs = [b & ~a for a, b in zip(off, on, strict=True)]
        return self.strata.difference(saves, costs, self.confidence)[:3]

    def _shares_of_losses(self) -> dict[str, float]:
        """Share of all losses; of two faults at once, half to each."""
        cost = dict.fromkeys(["none", *self.odds.names], 0.0)
        given = self.flown["given"]
        for stratum, flags in zip(given.strata, self._lost_flags("given"), strict=True):
            for name in stratum.faults or ("none",):
                cost[name] += stratum.weight * float(flags.mean()) / max(1, len(stratum.faults))
        total = sum(cost.values())
        return {name: value / total if total > 0.0 else np.nan for name, value in cost.items()}


_UNITS = {
    "touchdown_speed_median": "m s-1", "touchdown_speed_95": "m s-1", "miss_distance_median": "m",
    "miss_distance_95": "m",
}  # fmt: skip


def _quantile(ordered: Floats, share: float) -> float:
    from sim.analysis.order_statistics import quantile_of_sorted

    return quantile_of_sorted(ordered, share)


def _spread(samples: Floats, mean: float, confidence: float) -> list[float]:
    tail = 0.5 * (1.0 - confidence)
    return [float(np.quantile(samples, tail)), mean, float(np.quantile(samples, 1.0 - tail))]
