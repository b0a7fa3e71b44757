"""In which order flights are flown: those that come down together fly side by side.

Flights in lock step end with the slowest of them; the lanes of those that are down idle meanwhile.
When a flight comes down follows mostly from what was drawn for it, above all from the two motors,
and a straight line through the first flights says it well enough to sort the later ones by. No
flight's bits depend on it: each flies as if it were alone.
"""

from __future__ import annotations

import threading

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAST_FLIGHTS = 200  # to learn from
FLIGHTS_AN_INPUT = 2  # of those that vary, at least
STIFFNESS = 0.02  # pull of the slopes towards zero, over the spread of an input; chosen by trial


class FlightOrder:
    """Learns once from flights that are over when others will be; shared by threads."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._seen: list[tuple[Floats, Floats]] = []  # until they are enough
        self._slopes: Floats | None = None

    def of(self, inputs: Floats) -> NDArray[np.int64]:
        """Columns in the order in which to fly them; as they are, as long as nothing is learnt.

        Parameters
        ----------
        inputs : float64 array (fields, n)
            Inputs of the flight kernel.
        """
        if self._slopes is None:
            return np.arange(inputs.shape[1], dtype=np.int64)
        with np.errstate(invalid="ignore", over="ignore"):  # a sick input sorts badly, no more
            return np.argsort(self._slopes @ inputs, kind="stable")

    def learn(self, inputs: Floats, ticks: Floats) -> None:
        """Take these flights too to learn from, unless there were enough before.

        Parameters
        ----------
        inputs : float64 array (fields, n)
        ticks : float64 array (n,)
            At which each was over.
        """
        with self._guard:
            if self._slopes is None:
                self._seen.append((inputs, ticks))
                every_input = np.concatenate([i for i, _ in self._seen], axis=1)
                self._slopes = slopes(every_input, np.concatenate([t for _, t in self._seen]))
            if self._slopes is not None:
                self._seen.clear()


def slopes(inputs: Floats, ticks: Floats) -> Floats | None:
    """Slopes of a straight line through flights, by ridge regression (common practice).

    Parameters
    ----------
    inputs : float64 array (fields, n)
    ticks : float64 array (n,)

    Returns
    -------
    float64 array (fields,) [ticks per unit of the input] or None
        None if these flights are too few for so many inputs.
    """
    count = inputs.shape[1]
    if count < LEAST_FLIGHTS:
        return None
    with np.errstate(invalid="ignore", over="ignore"):
        middle, spread = np.mean(inputs, axis=1), np.std(inputs, axis=1)
        varying = np.flatnonzero(spread > 1e-12 * np.abs(middle))
    varying = varying[np.isfinite(spread[varying])]
    if count < FLIGHTS_AN_INPUT * len(varying):
        return None
    x = (inputs[varying] - middle[varying, None]) / spread[varying, None]
    normal = x @ x.T + STIFFNESS * count * np.eye(len(varying))
    found = np.zeros(len(inputs))
    found[varying] = np.linalg.solve(normal, x @ (ticks - np.mean(ticks))) / spread[varying]
    return found
