"""Families of lanes: what a kernel takes as its first argument.

A *lane* is one flight. A family of types exists for each width; at width 1 it is the plain
scalars, so that the reference is ordinary compiled code.

    F  numbers (float64)    I  whole numbers (int64)    U  random bits (uint64)    M  masks (bool)
"""

from typing import Any

WIDTHS = (1, 2, 4, 8, 16, 32)


class LaneTypes:
    """The family of one width: `.F .I .U .M` are numba types, `.width` the number of flights."""

    def __init__(self, width: int) -> None:
        self.width = width

    def __getattr__(self, kind: str) -> Any:
        """Return the numba type of a kind; it loads the compiler."""
        if kind not in ("F", "I", "U", "M"):
            raise AttributeError(f"lanes have no {kind!r}")
        from sim.lanes.compiled.types import lane_type

        return lane_type(kind, self.width)

    def __repr__(self) -> str:
        """Show the call that makes it."""
        return f"lane_types({self.width})"


def lane_types(width: int) -> LaneTypes:
    """Return the family of a width (1, 2, 4, 8, 16, 32), to be passed to kernels."""
    if width not in WIDTHS:
        raise ValueError(f"width must be 1, 2, 4, 8, 16 or 32, not {width!r}")
    return LaneTypes(width)
