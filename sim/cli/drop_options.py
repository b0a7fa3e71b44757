"""What `setdown drop` is told: short options that set the scenario, and what cannot go together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sim.errors import UserMistake

if TYPE_CHECKING:
    from sim.scenario import Scenario

SURFACES = {"grass": "short_grass", "dirt": "dry_dirt", "pad": "built_pad"}


def check_modes(
    mapped: bool, vary: str | None, run: int | None, flights: int | None,
    sink_rates: str | None, side_speeds: str | None,
) -> None:  # fmt: skip
    """Refuse options that contradict one another, all at once."""
    wrong = []
    if mapped and vary is not None:
        wrong.append("--map and --vary: give one of them")
    if run is not None and (flights is not None or mapped or vary is not None):
        wrong.append("--run is one drop alone: leave -n, --map and --vary out")
    if not mapped and (sink_rates or side_speeds):
        wrong.append("--sink-rates and --side-speeds are those of a map: add --map")
    if wrong:
        raise UserMistake("\n".join(wrong))


def load_dropped(file: str, sets: tuple[str, ...], given: dict[str, str | None]) -> Scenario:
    """Load the scenario with what the short options set in it."""
    from sim.ensemble.drop import make_rig
    from sim.scenario import load_scenario

    loaded = load_scenario(file, sets)
    make_rig(loaded)  # says that legs are missing before anything is set in them
    values, wrong = {}, []
    for name, (key, dimension, sign) in _SHORT.items():
        text = given.pop(name)
        if text is not None:
            values[key] = SURFACES.get(text, text)
            wrong += _mistakes(name, text, dimension, sign)
    if wrong:
        raise UserMistake("\n".join(wrong))
    return loaded.with_values(values)


# option -> key that it sets, dimension, sign; words without a dimension
_SHORT = {
    "surface": ("surface.kind", "", ""),
    "slope": ("surface.slope", "angle", "non_negative"),
    "slope_direction": ("surface.slope_direction", "angle", "any"),
    "struts": ("legs.strut", "", ""),
    "settle_longest": ("flight.settle_longest", "time", "positive"),
}


def _mistakes(name: str, text: str, dimension: str, sign: str) -> list[str]:
    """Say what is wrong with a short option, as it is called."""
    from sim.scenario.amounts import AmountProblem, read_amount
    from sim.scenario.dimensions import DIMENSIONS

    if dimension:
        try:
            read_amount(text, DIMENSIONS[dimension], sign)
        except AmountProblem as problem:
            return [f"--{name.replace('_', '-')}: {problem}"]
    if name == "surface" and text not in (*SURFACES, *SURFACES.values()):
        from difflib import get_close_matches

        near = get_close_matches(text, SURFACES, n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"?' if near else f"write {', '.join(SURFACES)}"
        return [f'--surface: there is no "{text}"; {hint}']
    return []


def read_speeds(option: str, text: str) -> list[float]:
    """Read the levels of one side of a map [m/s], ascending."""
    from sim.ensemble.drop_release import MOST_SINK
    from sim.ensemble.vary import parse_vary
    from sim.scenario.amounts import AmountProblem, read_quantity
    from sim.scenario.dimensions import DIMENSIONS

    try:
        levels = parse_vary(f"{option}={text}").levels
        found = sorted(read_quantity(level, DIMENSIONS["speed"]).value for level in levels)
    except AmountProblem as problem:
        raise UserMistake(f"{option}: {problem}") from None
    if found[0] < 0.0 or found[-1] > MOST_SINK:
        raise UserMistake(f"{option}: speeds from 0 to {MOST_SINK:g} m/s can be dropped")
    if len(found) < 2:
        raise UserMistake(f'{option}: a map needs two levels or more, as "0..2 m/s/9"')
    return found
