"""Tuples of lanes: a state vector with named fields."""

from typing import Any

from sim.lanes.exact import fma


def add_scaled(state: Any, factor: Any, slope: Any) -> Any:
    """Compute fma(factor, slope, state), field by field, for two (named) tuples of equal length.

    A state must hold lanes from the start (`spread(lanes, 0.0)`): numba does not turn the fields
    of a tuple into lanes later.
    """
    moved = [fma(factor, dx, x) for x, dx in zip(state, slope, strict=True)]
    return type(state)(*moved) if hasattr(state, "_fields") else tuple(moved)
