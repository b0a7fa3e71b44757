"""What faults cost that never happen: a scenario with sections of faults against one without."""

from __future__ import annotations

import time
from pathlib import Path
from statistics import median

import numpy as np

FAULTS = (
    "landing_no_light", "stage_hangs_on", "throttle_stuck", "gimbal_jammed", "gimbal_reversed",
    "channel_stuck", "computer_reset", "legs_late",
)  # fmt: skip


def never_happening(demo: Path, rounds: int) -> tuple[float, float]:
    """Flights a second of processor time without faults, and the extra share with eight of them.

    Returns
    -------
    float, float
        Flights a second; extra time over time without [1], the median of interleaved rounds.
    """
    from sim.ensemble.draws import draw_numbers
    from sim.ensemble.fly_runs import fly_runs
    from sim.scenario import load_scenario

    plain = load_scenario(demo)
    faulty = load_scenario(demo, [f"faults.{name}.happens=0.01" for name in FAULTS])
    runs = np.arange(256, dtype=np.int64)
    drawn = [(s, draw_numbers(s, 1, runs)) for s in (plain, faulty)]
    for scenario, values in drawn:
        fly_runs(scenario, 1, runs, values)
    spent: list[list[float]] = [[], []]
    for _ in range(rounds):
        for place, (scenario, values) in enumerate(drawn):
            start = time.process_time()
            fly_runs(scenario, 1, runs, values)
            spent[place].append(time.process_time() - start)
    extra = median([b / a for a, b in zip(*spent, strict=True)]) - 1.0
    return len(runs) / median(spent[0]), extra
