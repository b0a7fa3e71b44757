"""What even draws save: flights of plain draws that give the same interval as one of theirs."""

from __future__ import annotations

from typing import Any

import numpy as np

FLIGHTS = 256  # a power of two, which Sobol' points fill most evenly
REPLICATES = 24


def gains(scenario: Any) -> dict[tuple[str, str], float]:
    """Variance of plain draws over that of other draws, by method and figure.

    Each replicate is an ensemble with a seed of its own, so that the spread of their averages is an
    honest measure (randomised quasi-Monte Carlo; Owen, Monte Carlo theory, methods and examples
    (2013), ch. 17, from memory).
    """
    from sim.ensemble.draws import draw_numbers
    from sim.ensemble.fly_runs import fly_runs

    runs = np.arange(FLIGHTS, dtype=np.int64)
    found: dict[tuple[str, str], list[float]] = {}
    for method in ("random", "latin_hypercube", "sobol"):
        for seed in range(1, REPLICATES + 1):
            values = draw_numbers(scenario, seed, runs, method=method, flights=FLIGHTS)
            out = fly_runs(scenario, seed, runs, values)
            averages = {
                "touchdown speed": float(np.nanmean(out["touchdown_speed"])),
                "miss, east": float(np.nanmean(out["miss_east"])),
                "apogee height": float(np.nanmean(out["apogee_height"])),
                "success": float(np.mean(out["success"])),
            }
            for name, average in averages.items():
                found.setdefault((method, name), []).append(average)
    return {
        (method, name): float(np.var(found["random", name]) / np.var(averages))
        for (method, name), averages in found.items()
        if method != "random"
    }
