"""Tuples of lanes: a state vector with named fields."""

from typing import Any


def add_scaled(state: Any, factor: Any, slope: Any) -> Any:
    """Compute state + factor * slope, field by field, for two (named) tuples of equal length.

    A state must hold lanes from the start (`spread(lanes, 0.0)`): numba does not turn the fields
    of a tuple into lanes later.
    """
    moved = [x + factor * dx for x, dx in zip(state, slope, strict=True)]
    return type(state)(*moved) if hasattr(state, "_fields") else tuple(moved)
