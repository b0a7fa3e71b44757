"""The likeliest ways to lose a vehicle: most probable failing combinations, and what would help."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sim.analysis.design_point import FARTHEST, find_design_point, fit_plane, nearest_on
from sim.ensemble.batches import Batch, Campaign, Outcomes, Progress, first_runs
from sim.ensemble.normal_space import NormalSpace, normal_space
from sim.ensemble.protocols import Floats, Fly, ScenarioLike
from sim.ensemble.saving import Change, find_changes, success_with
from sim.errors import UserMistake

if TYPE_CHECKING:
    from xarray import Dataset

Mask = NDArray[np.bool_]

BASE = 4_000  # flights that show where to begin
FLIGHTS = 500  # at each step of a search
DEEPEST = -1.0  # margin that a crash counts as, or a few would outweigh all others
SCALE_FLIGHTS = 200
CHECK = 400  # flights at a point found, other noise each
SECTORS = 3  # directions of the miss from which a search begins
MOST_STORIES = 3
PART = 0.05  # share of the squared distance from which a number is part of a story
SAME = 0.6  # two points closer than this share of their distance are one story


@dataclass(frozen=True)
class Mode:
    """One line of the success predicate as a margin, negative where it fails."""

    name: str
    limit: Any

    def margin(self, out: Outcomes, scenario: Any) -> Floats:
        """Margin (n,) as a share of the limit; NaN without a touchdown."""
        if self.name == "inside_landing_pad":
            radius = float(scenario.numbers["landing_pad.radius"].value)
            feet = scenario.numbers["legs.foot_radius"].value if scenario.has("legs") else 0.0
            return np.asarray((radius - feet - out["miss_distance"]) / radius)
        value, high, low = out[self.name], self.limit.high, self.limit.low
        over = np.full(value.shape, np.inf) if high is None else (high - value) / abs(high or 1.0)
        under = np.full(value.shape, np.inf) if low is None else (value - low) / abs(low or 1.0)
        return np.asarray(np.minimum(over, under), dtype=np.float64)


@dataclass
class Story:
    """One most probable way to fail.

    Attributes
    ----------
    mode : str
        The line of the success predicate that it fails.
    point : ndarray (d,)
        In standard deviations.
    distance : float
        From the mean, in standard deviations, directions not counted.
    values : dict of str to float
        Every uncertain number there, SI.
    parts : list of (name, standard deviations, share of the squared distance)
        The numbers that make the story, the largest first.
    directions : list of str
        Directions that matter beside them.
    fails_there : float
        Share of flights at the point that fail this line, the noise in flight varied.
    share : float
        Share of all flights that fail this line, as sampled; for comparison with `distance`.
    run : int
        Run number of the noise of the flight replayed.
    changes : list of Change
        What would have saved it, the cheapest first.
    before : float
        Share that fails there without a change.
    outcomes, trace : dict
        The flight replayed.
    """

    mode: str
    point: Floats
    distance: float
    values: dict[str, float]
    parts: list[tuple[str, float, float]]
    directions: list[str]
    fails_there: float
    share: float
    run: int = 0
    before: float = 1.0
    changes: list[Change] = field(default_factory=list)
    outcomes: dict[str, Any] = field(default_factory=dict)
    trace: dict[str, Any] = field(default_factory=dict)


class Search:
    """Flights at points of the normal space.

    Parameters
    ----------
    scenario : Scenario
    campaign : Campaign
    space : NormalSpace
    """

    def __init__(self, scenario: ScenarioLike, campaign: Campaign, space: NormalSpace) -> None:
        self.scenario, self.campaign, self.space = scenario, campaign, space
        self._next = 0

    def fly(self, points: Floats, scenario: Any = None) -> tuple[Outcomes, dict[str, Floats]]:
        """Fly points (n, d), each with noise that was not flown before."""
        runs = first_runs(len(points), self._next)
        self._next += len(points)
        values = self.space.values(points)
        batch = Batch(scenario or self.scenario, runs, values, drawn=False)
        return self.campaign.fly_one(batch), values

    def margins(self, mode: Mode, points: Floats) -> Floats:
        """Margins (n,) of a mode at points."""
        out, _ = self.fly(points)
        return np.maximum(mode.margin(out, self.scenario), DEEPEST)


def find_worst(
    scenario: ScenarioLike,
    *,
    stories: int = MOST_STORIES,
    base: int = BASE,
    flights: int = FLIGHTS,
    seed: int = 1,
    workers: int | None = None,
    progress: Progress | None = None,
    fly: Fly | None = None,
) -> tuple[list[Story], Dataset]:
    """Find the likeliest ways to fail.

    Parameters
    ----------
    scenario : Scenario
    stories : int
        Most of them.
    base : int
        Flights that show where to begin.
    flights : int
        At each step of a search; more than there are uncertain numbers.
    seed, workers, progress, fly
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    list of Story
        The nearest to the mean first; none if nothing fails within FARTHEST standard deviations.
    Dataset
        Share of flights that fail each line, and in all.

    Raises
    ------
    UserMistake
        Nothing is uncertain, the success predicate has no line with a margin, too few flights.
    """
    import xarray as xr

    space = normal_space(scenario)
    if not space.names:
        raise UserMistake("nothing in the scenario is uncertain, so no flight differs but by noise")
    if min(flights, base) < 2 * len(space.names):
        raise UserMistake(
            f"{min(flights, base)} flights a step are too few for {len(space.names)} uncertain "
            f"numbers; give at least {2 * len(space.names)}"
        )
    modes = list(_modes(scenario))
    if not modes:
        raise UserMistake("no line of [success] has a margin (a number with < or >) to search by")
    campaign = Campaign(seed, fly=fly, workers=workers, progress=progress)
    campaign.plan(base + (2 * len(modes) + 1) * (5 * flights + 6 * SCALE_FLIGHTS))
    random = np.random.default_rng(seed)
    search = Search(scenario, campaign, space)
    points = random.standard_normal((base, len(space.names)))
    out, _ = search.fly(points)
    failing: dict[str, float] = {}
    found: list[Story] = []
    for mode in modes:
        margins = mode.margin(out, scenario)
        fails = ~(margins >= 0.0)
        failing[mode.name] = float(np.mean(fails))
        for start in _starts(mode, points, margins, out, space):
            point = find_design_point(
                partial(search.margins, mode), start, free=space.free, flights=flights,
                iterations=5, random=random,
            )  # fmt: skip
            half = _to_half(search, mode, point.point)
            if half is not None:
                found.append(_story(search, mode, half, failing[mode.name]))
    kept = _distinct(found, space)[:stories]
    for story in kept:
        _try_changes(search, next(m for m in modes if m.name == story.mode), story)
    shares = xr.Dataset(
        {
            "fails": (("limit",), list(failing.values()), {"units": "1"}),
            "success": ((), float(np.mean(out["success"])), {"units": "1"}),
        },
        coords={"limit": list(failing)},
        attrs={"title": "ways to fail", "vehicle": scenario.title, "seed": seed,
               "flights": campaign.flown, "base": base},
    )  # fmt: skip
    return kept, shares


def replay(scenario: Any, story: Story, seed: int, fly_trace: Any = None) -> None:
    """Fly the story's flight again with its trace, into the story."""
    from sim.ensemble import fly_runs

    fly = fly_trace or fly_runs.fly_trace
    values = {name: np.array([value]) for name, value in story.values.items()}
    more = {} if fly_trace else {"width": fly_runs.WIDTH}
    outcomes, trace = fly(scenario, seed, story.run, values, **more)
    story.outcomes = {name: float(np.asarray(v).ravel()[0]) for name, v in outcomes.items()}
    story.trace = {name: np.asarray(v) for name, v in trace.items()}


def _modes(scenario: ScenarioLike) -> Iterator[Mode]:
    for limit in scenario.success:
        high, low = getattr(limit, "high", None), getattr(limit, "low", None)
        inside = limit.variable == "inside_landing_pad" and getattr(limit, "flag", None) is True
        if inside or high is not None or low is not None:
            yield Mode(limit.variable, limit)


def _starts(
    mode: Mode, points: Floats, margins: Floats, out: Outcomes, space: NormalSpace
) -> Iterator[Floats]:
    """Where searches begin: the linear fit's point, and failing flights as they were."""
    plane = fit_plane(points, np.maximum(margins, DEEPEST))
    origin = np.zeros(points.shape[1])
    yield nearest_on(plane, origin, space.free)
    fails = np.flatnonzero(~(margins >= 0.0))
    if len(fails) < 10:
        return
    if mode.name == "inside_landing_pad" and "miss_east" in out:
        fails = fails[np.isfinite(out["miss_east"][fails])]
        turn = np.arctan2(out["miss_east"][fails], out["miss_north"][fails])
        sector = np.floor((turn + np.pi) / (2.0 * np.pi) * SECTORS).astype(int)
        groups = [fails[sector == i] for i in range(SECTORS)]
    else:
        groups = [fails]
    for group in groups:
        if len(group) >= 10:
            yield _typical(points[group], space.free)


def _typical(points: Floats, free: Mask) -> Floats:
    """Mean of failing flights in what they have in common, directions of the nearest of them."""
    mean = points.mean(axis=0)
    common = (np.abs(mean) * np.sqrt(len(points)) > 3.5) & ~free
    start = np.where(common, mean, 0.0)
    nearest = int(np.argmin(np.linalg.norm((points - start)[:, ~free], axis=1)))
    return np.where(free, points[nearest], start)


def _to_half(search: Search, mode: Mode, point: Floats) -> Floats | None:
    """Point on the same ray at which half of the flights fail; None if it is too far.

    The search leads to where the mean margin is zero; with noise that is skew this is not yet where
    flights fail.
    """
    free = search.space.free
    reach = float(np.linalg.norm(point[~free]))
    if reach == 0.0:
        return None

    def failing(length: float) -> float:
        there = np.where(free, point, point * (length / reach))
        out, _ = search.fly(np.tile(there, (SCALE_FLIGHTS, 1)))
        return float(np.mean(~(mode.margin(out, search.scenario) >= 0.0)))

    low, high = 0.0, reach
    while failing(high) < 0.5:
        low, high = high, 1.4 * high
        if high > FARTHEST:
            return None
    for _ in range(4):
        middle = 0.5 * (low + high)
        if failing(middle) < 0.5:
            low = middle
        else:
            high = middle
    return np.where(free, point, point * (high / reach))


def _story(search: Search, mode: Mode, point: Floats, share: float) -> Story:
    out, values = search.fly(np.tile(point, (CHECK, 1)))
    margins = mode.margin(out, search.scenario)
    fails = ~(margins >= 0.0)
    first = search._next - CHECK
    # replay the failing flight that fails as such flights mostly do
    order = np.flatnonzero(fails)
    pick = order[np.argsort(np.nan_to_num(margins[order], nan=-3.0))[len(order) // 2]] if (
        len(order)) else 0  # fmt: skip
    space = search.space
    paid = np.where(space.free, 0.0, point)
    size = float(paid @ paid) or 1.0
    ranked = sorted(range(len(point)), key=lambda i: -abs(paid[i]))
    parts = [
        (space.names[i], float(point[i]), float(paid[i] ** 2 / size))
        for i in ranked if paid[i] ** 2 / size >= PART
    ]  # fmt: skip
    sizes = {name.rpartition("_")[0] or name for name, _, _ in parts}
    heads = {name.rpartition(".")[0] for name, _, _ in parts}
    directions = [
        name for name, free in zip(space.names, space.free, strict=True)
        if free and (name.rpartition("_")[0] in sizes or (
            name.endswith(".direction") and name.rpartition(".")[0] in heads))
    ]  # fmt: skip
    return Story(
        mode=mode.name, point=point, distance=float(np.sqrt(paid @ paid)),
        values={name: float(column[0]) for name, column in values.items()}, parts=parts,
        directions=directions, fails_there=float(np.mean(fails)), share=share,
        run=int(first + pick),
    )  # fmt: skip


def _distinct(found: Sequence[Story], space: NormalSpace) -> list[Story]:
    """Nearest stories first, without those that are told already, or that do not fail."""
    kept: list[Story] = []
    for story in sorted(found, key=lambda s: s.distance):
        if not story.fails_there > 0.15:
            continue
        near = [
            other for other in kept
            if other.mode == story.mode
            and (_same_parts(other, story)
                 or np.linalg.norm((other.point - story.point)[~space.free])
                 < SAME * max(story.distance, 0.5))
        ]  # fmt: skip
        if not near:
            kept.append(story)
    return kept


def _same_parts(one: Story, two: Story) -> bool:
    return [p[0] for p in one.parts[:1]] == [p[0] for p in two.parts[:1]]


def _try_changes(search: Search, mode: Mode, story: Story) -> None:
    """Find what would have saved it, the cheapest first."""

    def failing(point: Floats, scenario: Any, flights: int) -> float:
        out, _ = search.fly(np.tile(point, (flights, 1)), scenario)
        return float(np.mean(out["success"] < 0.5))

    story.before, found = find_changes(
        search.scenario, story.point, list(search.space.names), [p[0] for p in story.parts],
        search.space.free, mode=mode.name, failing=failing,
    )  # fmt: skip
    best = next((one for one in found if one.kind == "setting"), None)
    story.changes = [
        replace(one, success=success_with(search.scenario, one, search.campaign))
        if one is best else one for one in found
    ]  # fmt: skip
