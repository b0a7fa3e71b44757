"""The most multiply-adds a second that one core can do, in lanes as the flight kernel uses them."""

from __future__ import annotations

import time

import numpy as np

from sim.lanes import fma, kernel, lane_types, load, store

CHAINS = 10  # independent of each other: more than latency times units, and they fit the registers
TURNS = 2_000_000


@kernel
def multiply_add(lanes, turns, numbers):  # type: ignore[no-untyped-def]
    """Ten chains of multiply-adds side by side; `numbers` keeps them from being left out."""
    x, y = load(lanes, numbers, 0), load(lanes, numbers, 1)
    a, b, c, d, e = x, x + 1.0, x + 2.0, x + 3.0, x + 4.0
    f, g, h, i, j = x + 5.0, x + 6.0, x + 7.0, x + 8.0, x + 9.0
    for _ in range(turns):
        a, b, c, d, e = fma(a, y, x), fma(b, y, x), fma(c, y, x), fma(d, y, x), fma(e, y, x)
        f, g, h, i, j = fma(f, y, x), fma(g, y, x), fma(h, y, x), fma(i, y, x), fma(j, y, x)
    store(numbers, 2, a + b + c + d + e + f + g + h + i + j)


def peak(width: int) -> float:
    """Multiply-adds a second of processor time, the best of five."""
    numbers = np.zeros((3, width))
    numbers[0], numbers[1] = 0.5, 0.25
    multiply_add(lane_types(width), 1, numbers)
    best = np.inf
    for _ in range(5):
        start = time.process_time()
        multiply_add(lane_types(width), TURNS, numbers)
        best = min(best, time.process_time() - start)
    return CHAINS * width * TURNS / best
