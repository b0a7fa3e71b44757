"""What an ensemble is: everything that decides its numbers, and what its columns mean.

A manifest is written once, as JSON, when a run starts. The same manifest describes finished chunks
to the run that goes on, to whoever looks into an unfinished ensemble, and to the netCDF writer.
"""

from __future__ import annotations

import difflib
import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from sim.ensemble.program import source_hash
from sim.ensemble.protocols import ScenarioLike
from sim.ensemble.registry import OUTCOMES, axis_name, input_name
from sim.ensemble.vary import Vary, level_value, touched
from sim.ensemble.versions import setdown_version

FORMAT = 2
"""Version of the folder of finished chunks."""

LARGEST_CHUNK = 512
SMALLEST_CHUNK = 32
_CHUNKS_WANTED = 16
_LANES = 8

Task = tuple[int, int]
"""Chunk of runs, level of the sweep."""


@dataclass(frozen=True)
class InputColumn:
    """One drawn input. `varied` if its draws differ from level to level of a sweep."""

    key: str
    name: str
    unit: str
    long_name: str
    law: str
    source: str
    varied: bool


@dataclass(frozen=True)
class Axis:
    """One swept input: its levels in SI and as written."""

    key: str
    name: str
    unit: str
    values: tuple[float, ...]
    written: tuple[str, ...]


@dataclass(frozen=True)
class Manifest:
    """One ensemble; see the module.

    `program` is a hash of the sources of drawing and flying, `kernel` one of the flight code and of
    what compiles it. `earlier` has a line for each other version that flew a part of it.
    """

    format: int
    setdown_version: str
    kernel: str
    title: str
    scenario: str
    scenario_digest: str
    success: str
    seed: int
    flights: int
    method: str
    chunk: int
    command: str
    axes: tuple[Axis, ...]
    inputs: tuple[InputColumn, ...]
    outcomes: tuple[str, ...]
    program: str
    earlier: tuple[str, ...] = ()

    @property
    def columns(self) -> tuple[str, ...]:
        """Rows of a chunk's array: keys of the drawn inputs, then names of the outcomes."""
        return tuple(column.key for column in self.inputs) + self.outcomes

    @property
    def shape(self) -> tuple[int, ...]:
        """Number of levels of each swept input; empty without a sweep."""
        return tuple(len(axis.values) for axis in self.axes)

    @property
    def levels(self) -> int:
        """Number of scenarios flown: 1 without a sweep."""
        return math.prod(self.shape)

    @property
    def chunks(self) -> int:
        """Number of chunks along the runs."""
        return -(-self.flights // self.chunk)

    def tasks(self) -> Iterator[Task]:
        """Every piece of work, all levels of the first chunk first."""
        for chunk in range(self.chunks):
            for level in range(self.levels):
                yield chunk, level

    def span(self, chunk: int) -> tuple[int, int]:
        """First run of a chunk and the one after its last."""
        return chunk * self.chunk, min((chunk + 1) * self.chunk, self.flights)

    def to_json(self) -> str:
        """As stored."""
        return json.dumps(asdict(self), indent=1, ensure_ascii=False, allow_nan=False)

    @staticmethod
    def from_json(text: str) -> Manifest:
        """Read back.

        Raises
        ------
        ValueError, KeyError, TypeError
            The text is not a manifest of this format.
        """
        raw = json.loads(text)
        if raw["format"] != FORMAT:
            raise ValueError(f"format {raw['format']}")
        raw["axes"] = tuple(
            Axis(**axis | {"values": tuple(axis["values"]), "written": tuple(axis["written"])})
            for axis in raw["axes"]
        )
        raw["inputs"] = tuple(InputColumn(**column) for column in raw["inputs"])
        raw["outcomes"] = tuple(raw["outcomes"])
        raw["earlier"] = tuple(raw["earlier"])
        return Manifest(**raw)


def chunk_size(flights: int) -> int:
    """Flights in a chunk, from the number of flights alone.

    Small ensembles are cut finer, so that several workers have something to do. A multiple of 8.
    """
    wanted = max(SMALLEST_CHUNK, min(LARGEST_CHUNK, -(-flights // _CHUNKS_WANTED)))
    return -(-wanted // _LANES) * _LANES


def make_manifest(
    scenario: ScenarioLike,
    scenarios: Sequence[ScenarioLike],
    varied: Sequence[Vary],
    *,
    seed: int,
    flights: int,
    method: str,
    chunk: int,
    command: str,
    kernel: str,
) -> Manifest:
    """Describe an ensemble.

    Parameters
    ----------
    scenario : Scenario
        As the user gave it.
    scenarios : sequence of Scenario
        One a level, last swept input fastest; `[scenario]` without a sweep.
    varied : sequence of Vary
        The swept inputs; empty without a sweep.
    seed, flights, method, chunk, command, kernel
        As in `sim.ensemble.run.disperse`.

    Returns
    -------
    Manifest
    """
    return Manifest(
        format=FORMAT,
        setdown_version=setdown_version(),
        kernel=kernel,
        title=scenario.title,
        scenario=scenario.text,
        scenario_digest=scenario.digest,
        success="\n".join(f"{limit.variable} = {limit.text}" for limit in scenario.success),
        seed=seed,
        flights=flights,
        method=method,
        chunk=chunk,
        command=command,
        axes=_axes(scenarios, varied),
        inputs=_inputs(scenarios, varied),
        outcomes=tuple(OUTCOMES),
        program=source_hash(),
    )


def _axes(scenarios: Sequence[ScenarioLike], varied: Sequence[Vary]) -> tuple[Axis, ...]:
    axes = []
    stride = len(scenarios)
    for vary in varied:
        stride //= len(vary.levels)
        levels = [level_value(scenarios[i * stride], vary.key) for i in range(len(vary.levels))]
        values = tuple(value for value, _ in levels)
        axes.append(Axis(vary.key, axis_name(vary.key), levels[0][1], values, vary.levels))
    return tuple(axes)


def _inputs(scenarios: Sequence[ScenarioLike], varied: Sequence[Vary]) -> tuple[InputColumn, ...]:
    changed = {name for vary in varied for name in touched(scenarios[0], vary.key)}
    found: dict[str, InputColumn] = {}
    for scenario in scenarios:
        for key, number in scenario.numbers.items():
            if number.law.kind != "fixed" and key not in found:
                found[key] = InputColumn(
                    key=key,
                    name=input_name(key),
                    unit=number.unit,
                    long_name=_one_line(number.doc) or key,
                    law=f"{number.law.kind} {_listed(number.law.parameters)}".strip(),
                    source=_one_line(number.source),
                    varied=key in changed,
                )
    return tuple(found[key] for key in sorted(found))


def _listed(parameters: Any) -> str:
    return " ".join(f"{p:.12g}" if isinstance(p, float) else str(p) for p in parameters)


def _one_line(text: Any) -> str:
    return " ".join(str(text or "").split())


_VERSIONS = (
    ("setdown_version", "version of setdown"),
    ("kernel", "source of the flight code"),
    ("program", "source of the program"),
)
_NAMED = (
    ("seed", "seed"),
    ("flights", "number of flights"),
    ("method", "sampling method"),
    ("chunk", "chunk size"),
    ("axes", "what is varied"),
)


def differences(old: Manifest, new: Manifest) -> list[str]:
    """Say what makes two ensembles different ones, whatever version flies them."""
    found = _differing(old, new, _NAMED)
    if old.scenario_digest != new.scenario_digest:
        found.append("scenario: " + (_changed_lines(old.scenario, new.scenario) or "other data"))
    elif (old.inputs, old.outcomes) != (new.inputs, new.outcomes) and old.axes == new.axes:
        found.append("stored variables: other ones than before")
    return found


def other_version(old: Manifest, new: Manifest) -> list[str]:
    """Say in what the program is another one; nothing if it is the same."""
    return _differing(old, new, _VERSIONS)


def gone_on(old: Manifest, new: Manifest, flown: int) -> Manifest:
    """Make the manifest of an ensemble of which an earlier run has flown a part.

    Parameters
    ----------
    old, new : Manifest
        Of the earlier run and of this one.
    flown : int
        Flights finished so far, over all levels.

    Returns
    -------
    Manifest
        The new one; if the program is another one, it remembers the old one.
    """
    earlier = old.earlier
    if other_version(old, new) and flown:
        total = old.flights * old.levels
        line = (
            f"{flown} of {total} flights were finished when setdown {old.setdown_version} (flight "
            f"code {old.kernel or 'not recorded'}, sources {old.program}) stopped"
        )
        earlier = (*earlier, line)
    return replace(new, earlier=earlier)


def _differing(old: Manifest, new: Manifest, fields: Sequence[tuple[str, str]]) -> list[str]:
    found = []
    for field, name in fields:
        before, now = getattr(old, field), getattr(new, field)
        if before != now:
            found.append(f"{name}: {_shown(before)} before, {_shown(now)} now")
    return found


def _shown(value: Any) -> str:
    if isinstance(value, tuple):
        return ", ".join(f"{axis.key} at {len(axis.values)} levels" for axis in value) or "nothing"
    text = str(value)
    return text if len(text) <= 16 else text[:12] + "..."


def _changed_lines(before: str, now: str, most: int = 4) -> str:
    lines = [
        ("was " if line[0] == "-" else "is ") + line[1:].strip()
        for line in difflib.unified_diff(before.splitlines(), now.splitlines(), n=0, lineterm="")
        if line[:1] in "+-" and line[:3] not in ("+++", "---") and line[1:].strip()
    ]
    more = f"; and {len(lines) - most} more lines" if len(lines) > most else ""
    return "; ".join(lines[:most]) + more
