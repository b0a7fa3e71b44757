"""Lane types for numba: one physics source, compiled for one flight or for many in lock step.

A *lane* is one flight. `lane_types(16)` names a family of types that hold 16 values side by side
in an LLVM vector; `lane_types(1)` names plain float64, int64, uint64 and bool. A kernel takes the
family as its first argument, so the same source is compiled once for each width that is used:

    F  numbers (float64)    I  whole numbers (int64)    U  random bits (uint64)    M  masks (bool)

Arithmetic and comparisons are written as usual. A scalar meeting a lane value is copied to every
lane. What differs from scalar code: a condition is a mask, `where(mask, a, b)` chooses lane by
lane, and `if any_lane(mask):` guards work that most steps do not need.

Every function below also runs as plain Python on plain numbers (NUMBA_DISABLE_JIT=1, width 1), so
a flight can be stepped through with a debugger; it gives the same bits. No fast-math: nothing
here may depend on the width, the machine or the compiler's mood. `math.exp`, `max` and `**`
compile on float64 and break that promise: import from here instead.

None of this loads numba: see sim.lanes.compiled.
"""

from typing import Any

from sim.lanes.arrays import gather, lane_numbers, lane_rows, load, spread, store
from sim.lanes.cache import cache_is_warm
from sim.lanes.compiler import apart, kernel, part, room
from sim.lanes.exact import absolute, bits_of, copysign, float_of, floor, fma, sqrt, word_of
from sim.lanes.masks import all_lanes, any_lane, not_, where
from sim.lanes.mathematics import (
    acos,
    asin,
    atan2,
    clamp,
    cos,
    diff2,
    exp,
    interpolate,
    log,
    maximum,
    minimum,
    polynomial,
    power,
    real,
    sin,
    sincos,
    sum2,
    sum3,
    whole,
)  # fmt: skip
from sim.lanes.random import (
    normal_pair,
    normal_quad,
    random_bits,
    random_words,
    rare_normal_quad,
    uniform,
    uniform_of_word,
    uniform_pair,
    uniform_quad,
)  # fmt: skip
from sim.lanes.records import lane_record
from sim.lanes.states import add_scaled
from sim.lanes.types import LaneTypes, lane_types


def __getattr__(name: str) -> Any:
    """Return what belongs to the compiler, and load it."""
    if name == "compiled_by":
        from sim.lanes.compiled.building import compiled_by

        return compiled_by
    if name in ("LaneType", "lane_type"):
        from sim.lanes.compiled import types

        return getattr(types, name)
    raise AttributeError(f"sim.lanes has no {name!r}")


__all__ = [
    "LaneType",
    "LaneTypes",
    "absolute",
    "acos",
    "add_scaled",
    "all_lanes",
    "any_lane",
    "apart",
    "asin",
    "atan2",
    "bits_of",
    "cache_is_warm",
    "clamp",
    "compiled_by",
    "copysign",
    "cos",
    "diff2",
    "exp",
    "float_of",
    "floor",
    "fma",
    "gather",
    "interpolate",
    "kernel",
    "lane_numbers",
    "lane_record",
    "lane_rows",
    "lane_type",
    "lane_types",
    "load",
    "log",
    "maximum",
    "minimum",
    "normal_pair",
    "normal_quad",
    "not_",
    "part",
    "polynomial",
    "power",
    "random_bits",
    "random_words",
    "rare_normal_quad",
    "real",
    "room",
    "sin",
    "sincos",
    "spread",
    "sqrt",
    "store",
    "sum2",
    "sum3",
    "uniform",
    "uniform_of_word",
    "uniform_pair",
    "uniform_quad",
    "where",
    "whole",
    "word_of",
]  # fmt: skip
