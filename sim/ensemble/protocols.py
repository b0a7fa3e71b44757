"""What this room asks of a scenario: the few members it reads, and nothing more."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Runs = NDArray[np.int64]


class ScenarioLike(Protocol):
    """A scenario as `sim.scenario` makes it."""

    @property
    def title(self) -> str:
        """Name of the vehicle."""

    @property
    def text(self) -> str:
        """TOML that reproduces the scenario alone."""

    @property
    def digest(self) -> str:
        """SHA-256 of the resolved content."""

    @property
    def numbers(self) -> Mapping[str, Any]:
        """Every number by dotted name, with `unit`, `value`, `law`, `source`, `doc`."""

    @property
    def choices(self) -> Mapping[str, str | int | bool]:
        """Every word, whole number and flag by dotted name."""

    @property
    def correlated(self) -> Sequence[Any]:
        """Groups of numbers that vary together, with `names` and `correlation`."""

    @property
    def success(self) -> Sequence[Any]:
        """Lines of the success predicate, with `text`."""

    def with_values(self, values: Mapping[str, Any]) -> Any:
        """Return the scenario with some numbers set."""


Fly = Callable[[Any, int, Runs, dict[str, Floats]], Mapping[str, NDArray[Any]]]
"""`fly(scenario, seed, runs, drawn values) -> {outcome name: array(len(runs))}`."""

FlyTrace = Callable[
    [Any, int, int, dict[str, Floats]], tuple[Mapping[str, Any], Mapping[str, NDArray[Any]]]
]
"""`fly_trace(scenario, seed, run, values) -> (outcomes, {trace name: array(time)})`."""
