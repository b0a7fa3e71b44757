"""Whether faults happen in a flight: from the chances that were written to laws of 0 and 1."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from sim.scenario.crosschecks import Finding, View
from sim.scenario.faults import FAULTS, Fault
from sim.scenario.laws import Law
from sim.scenario.numbers import Number

Choices = Mapping[str, str | int | bool]


@dataclass(frozen=True)
class Chance:
    """How likely a fault is, as the scenario says it.

    Parameters
    ----------
    value : float
        Chance by itself; of a margin it is not known before numbers are drawn: nan.
    failures, tests : int or None
        What a bench showed, where the chance is from tests.
    margin : bool
        It happens where strength is less than load.
    after : str
        Fault with a cause in common, or "none".
    value_after : float
        Chance where that one happens.
    """

    value: float
    failures: int | None = None
    tests: int | None = None
    margin: bool = False
    after: str = "none"
    value_after: float = 0.0

    @property
    def shares_out(self) -> bool:
        """Whether it is a chance of its own, that exclusive ones before it can be taken off."""
        return not self.margin and self.after == "none"


def left_over(chance: float, before: float) -> float:
    """Chance of one of several that exclude one another, where those before it do not happen.

    Parameters
    ----------
    chance, before : float [1]
        Its own, and the sum of theirs.
    """
    return min(1.0, chance / (1.0 - before)) if before < 1.0 else 0.0


def link_faults(
    numbers: dict[str, Number], choices: Choices, parts: frozenset[str]
) -> dict[str, Chance]:
    """Give the faults' numbers their laws, and return the chances of those that are written.

    A fault's `happens` becomes a number that is 0 or 1: fixed, unless faults are mixed. Of faults
    that exclude one another a flight keeps the first that is drawn, so the chance drawn with is
    that which is left: chance / (1 - chances of those before), which gives each the chance that
    was written. (One with a margin or a cause in common has no chance of its own to be divided so:
    it counts where none before it happens.)
    """
    mixed = choices.get("faults.mixed") is True
    chances: dict[str, Chance] = {}
    before: dict[str, float] = {}
    for name in FAULTS:
        part = f"faults.{name}"
        key, follows = f"{part}.happens", f"{part}.happens_after"
        if key not in numbers or follows not in numbers:
            continue
        chance = _chance(part, numbers, choices)
        if part in parts:
            chances[name] = chance
        forced = choices.get(f"{part}.forced") is True
        drawn = mixed and part in parts and not forced
        alone = chance.value
        if drawn and chance.shares_out and FAULTS[name].excludes:
            taken = before.get(FAULTS[name].excludes, 0.0)
            before[FAULTS[name].excludes] = taken + alone
            alone = left_over(alone, taken)
        _set(numbers, key, alone if drawn and not chance.margin else None, forced)
        _set(numbers, follows, chance.value_after if drawn else None, forced)
        if forced or not mixed:
            for bare in ("strength", "load"):
                number = numbers.get(f"{part}.{bare}")
                if number is not None:
                    numbers[number.name] = replace(number, law=Law("fixed", (number.value,)))
    return chances


def _chance(part: str, numbers: Mapping[str, Number], choices: Choices) -> Chance:
    law = numbers[f"{part}.happens"].law
    after = str(choices.get(f"{part}.after", "none"))
    both = numbers[f"{part}.happens_after"].law.parameters[0]
    margin = any(
        number is not None and number.given
        for number in (numbers.get(f"{part}.strength"), numbers.get(f"{part}.load"))
    )
    if law.kind == "chance" and len(law.parameters) == 3:
        _, failures, tests = law.parameters
        return Chance(law.parameters[0], int(failures), int(tests), margin, after, both)
    return Chance(law.parameters[0], None, None, margin, after, both)


def _set(numbers: dict[str, Number], key: str, chance: float | None, forced: bool) -> None:
    law = Law("fixed", (1.0 if forced else 0.0,)) if chance is None else Law("chance", (chance,))
    numbers[key] = replace(numbers[key], law=law, value=law.nominal(), believed=0.0)


def fault_mistakes(view: View) -> Iterator[Finding]:
    """Faults of parts that the vehicle does not have, and chances that cannot be."""
    sums: dict[str, float] = {}
    for name, model in FAULTS.items():
        part = f"faults.{name}"
        if part not in view.parts:
            continue
        yield from _company(part, model, view)
        key = f"{part}.happens"
        if key in view.numbers:
            law = view.numbers[key].law
            if law.kind not in ("fixed", "chance"):
                yield key, f"a {law.kind} law", 'write a chance, 0.02, or { tests = "0 of 25" }'
            elif model.excludes:
                sums[model.excludes] = sums.get(model.excludes, 0.0) + law.parameters[0]
                if sums[model.excludes] > 1.0 + 1e-12:
                    others = ", ".join(n for n, m in FAULTS.items() if m.excludes == model.excludes)
                    yield (
                        key, f"chances that add up to {sums[model.excludes]:g}",
                        f"a flight has one at most of {others}: 1 or less together",
                    )  # fmt: skip
        after = view.choices.get(f"{part}.after")
        if after == name or (after != "none" and f"faults.{after}" not in view.parts):
            yield f"{part}.after", f'"{after}"', "name another fault that this scenario has"


def _company(part: str, model: type[Fault], view: View) -> Iterator[Finding]:
    if model.needs and not any(other in view.parts for other in model.needs):
        wanted = " or ".join(f"[{other}]" for other in model.needs)
        found = "a fault of a part that the vehicle does not have"
        yield part, found, f"add {wanted}, or take it out"
