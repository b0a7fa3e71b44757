"""The same kind of flight by a general solver: what compiling and lock step are worth."""

from __future__ import annotations

import time
from statistics import median
from typing import Any

from tests.flight.own_flight import OwnFlight

RTOL = 1e-6


def solver_seconds(scenario: Any) -> float:
    """Processor seconds of one uncontrolled ten-second flight by scipy's DOP853 at rtol 1e-6."""
    seconds = []
    for _ in range(3):
        own = OwnFlight(scenario, {"wind.speed": 1.5}, separation=1.9, light=4.3, legs=4.7)
        start = time.process_time()
        own.fly([10.0], rtol=RTOL)
        seconds.append(time.process_time() - start)
    return median(seconds)
