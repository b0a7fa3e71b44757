"""Every lane function called from inside compiled kernels, on fixed inputs, at any width.

    NUMBA_DISABLE_JIT=1 python tests/lanes/lane_kernels.py results.npz

runs the same in plain Python at width 1. Inputs are (block, value) arrays: block k belongs to
function k, and a width only changes how the values are laid side by side.
"""

import sys
from typing import NamedTuple

import numpy as np

from sim.lanes import (
    absolute,
    acos,
    add_scaled,
    all_lanes,
    any_lane,
    asin,
    atan2,
    bits_of,
    clamp,
    copysign,
    cos,
    exp,
    float_of,
    floor,
    fma,
    gather,
    interpolate,
    kernel,
    lane_record,
    lane_types,
    load,
    log,
    maximum,
    minimum,
    normal_pair,
    normal_quad,
    not_,
    polynomial,
    power,
    random_bits,
    real,
    sincos,
    spread,
    sqrt,
    store,
    uniform,
    uniform_quad,
    where,
    whole,
    word_of,
)

VALUES = 1 << 15
PLAIN_STEP = 1 << 6  # plain Python does every 64th value
TABLE = np.array([0.0, 1.0, 4.0, 9.0, 16.0])
SPECIAL = np.array([0.0, -0.0, 1.0, -1.0, np.inf, -np.inf, np.nan, 5e-324, -1e308, 1e-310])


class Pair(NamedTuple):
    """A state of two."""

    a: float
    b: float


record = lane_record("record", ("mass", "thrust", "outcome"))

MATH_NAMES = (
    "exp", "log", "sin", "cos", "atan2", "asin", "acos", "power", "sqrt", "sincos", "interpolate",
    "polynomial",
)  # fmt: skip
EXACT_NAMES = (
    "add", "sub", "mul", "truediv", "neg", "absolute", "floor", "copysign", "fma", "minimum",
    "maximum", "clamp", "lt", "le", "gt", "ge", "eq", "ne", "not_", "and", "or", "xor",
    "float_of_bits", "pos",
)  # fmt: skip
WHOLE_NAMES = (
    "add", "sub", "mul", "and", "or", "xor", "shl", "shr", "neg", "lt", "whole_of_real", "eq",
)  # fmt: skip
RANDOM_NAMES = (
    "quad0", "quad1", "quad2", "quad3", "pair0", "pair1", "uniform0", "uniform1", "quad_uniform0",
    "quad_uniform3",
)  # fmt: skip


@kernel
def mathematics(lanes, x, y, out):
    rows = len(x) // 12
    for i in range(rows):
        store(out, i, exp(load(lanes, x, i)))
        store(out, i + rows, log(load(lanes, x, i + rows)))
        sine, cosine = sincos(load(lanes, x, i + 2 * rows))
        store(out, i + 2 * rows, sine)
        store(out, i + 9 * rows, sine * sine + cosine * cosine)
        store(out, i + 3 * rows, cos(load(lanes, x, i + 3 * rows)))
        store(out, i + 4 * rows, atan2(load(lanes, x, i + 4 * rows), load(lanes, y, i + 4 * rows)))
        store(out, i + 5 * rows, asin(load(lanes, x, i + 5 * rows)))
        store(out, i + 6 * rows, acos(load(lanes, x, i + 6 * rows)))
        store(out, i + 7 * rows, power(load(lanes, x, i + 7 * rows), load(lanes, y, i + 7 * rows)))
        store(out, i + 8 * rows, sqrt(load(lanes, x, i + 8 * rows)))
        store(out, i + 10 * rows, interpolate(TABLE, load(lanes, x, i + 10 * rows)))
        store(out, i + 11 * rows, polynomial(load(lanes, x, i + 11 * rows), (0.5, -2.0, 1.0)))


@kernel
def exact(lanes, x, y, out):
    n = len(x)
    for i in range(n):
        a, b = load(lanes, x, i), load(lanes, y, i)
        store(out, i, a + b)
        store(out, i + n, a - b)
        store(out, i + 2 * n, a * b)
        store(out, i + 3 * n, a / b)
        store(out, i + 4 * n, -a)
        store(out, i + 5 * n, absolute(a))
        store(out, i + 6 * n, floor(a))
        store(out, i + 7 * n, copysign(a, b))
        store(out, i + 8 * n, fma(a, b, 0.1))
        store(out, i + 9 * n, minimum(a, b))
        store(out, i + 10 * n, maximum(a, b))
        store(out, i + 11 * n, clamp(a, -1.0, 2.0))
        store(out, i + 12 * n, where(a < b, 1.0, 0.0))
        store(out, i + 13 * n, where(a <= b, 1.0, 0.0))
        store(out, i + 14 * n, where(a > b, 1.0, 0.0))
        store(out, i + 15 * n, where(a >= b, 1.0, 0.0))
        store(out, i + 16 * n, where(a == b, 1.0, 0.0))
        store(out, i + 17 * n, where(a != b, 1.0, 0.0))
        store(out, i + 18 * n, where(not_(a < b), 1.0, 0.0))
        store(out, i + 19 * n, where((a < b) & (a > 0.0), 1.0, 0.0))
        store(out, i + 20 * n, where((a < b) | (a > 0.0), 1.0, 0.0))
        store(out, i + 21 * n, where((a < b) ^ (a > 0.0), 1.0, 0.0))
        store(out, i + 22 * n, float_of(word_of(bits_of(a))))
        a += 1.0
        a *= 2.0
        a -= b
        a /= 4.0
        store(out, i + 23 * n, +a)


@kernel
def whole_numbers(lanes, x, y, out, words, out_words):
    n = len(x)
    for i in range(n):
        a, b = load(lanes, x, i), load(lanes, y, i)
        store(out, i, a + b)
        store(out, i + n, a - b)
        store(out, i + 2 * n, a * b)
        store(out, i + 3 * n, a & b)
        store(out, i + 4 * n, a | b)
        store(out, i + 5 * n, a ^ b)
        store(out, i + 6 * n, a << 3)
        store(out, i + 7 * n, a >> 3)
        store(out, i + 8 * n, -a)
        store(out, i + 9 * n, where(a < b, a, b))
        store(out, i + 10 * n, whole(real(a) + 0.25))
        store(out, i + 11 * n, where(a == b, a, -a))
        u = load(lanes, words, i)
        v = word_of(b)
        store(out_words, i, (u ^ v) + (u & v))
        store(out_words, i + n, (u >> word_of(7)) | (v << word_of(9)))
        store(out_words, i + 2 * n, where(u > v, u - v, u * v))


@kernel
def randoms(lanes, seed, flights, out, out_words):
    n = len(flights)
    for i in range(n):
        flight = load(lanes, flights, i)
        a, b, c, d = normal_quad(seed, flight, 3, 2)
        store(out, i, a)
        store(out, i + n, b)
        store(out, i + 2 * n, c)
        store(out, i + 3 * n, d)
        a, b = normal_pair(seed, flight, 7, 7)  # the same block from here on, to compile it once
        store(out, i + 4 * n, a)
        store(out, i + 5 * n, b)
        a, b, c, d = uniform_quad(seed, flight, 7, 7)
        store(out, i + 8 * n, a)
        store(out, i + 9 * n, d)
        first, second = random_bits(seed, flight, 7, 7)
        store(out_words, i, first)
        store(out_words, i + n, second)
        store(out, i + 6 * n, uniform(first))
        store(out, i + 7 * n, uniform(second))


@kernel
def records(lanes, work, x, out):
    """A record written by name, a state in a tuple, masks that branch, a gather."""
    p = record(lanes, work)
    state = Pair(spread(lanes, 0.0), spread(lanes, 1.0))
    rare = 0
    for i in range(len(x)):
        value = load(lanes, x, i)
        p.mass = value
        p.thrust = 2.0
        state = add_scaled(state, 0.5, Pair(p.mass, p.thrust))
        large = state.a > 5.0
        if any_lane(large):
            rare += 1
            state = where(large, Pair(state.a - 5.0, state.b), state)
        if all_lanes(not_(large)):
            state = add_scaled(state, value, Pair(p.thrust, p.mass))
        p.outcome = state.a
        store(out, i, p.outcome + state.b + gather(TABLE, whole(value)))
    return rare


def spread_out(random, low, high):
    return random.uniform(low, high, VALUES)


def math_inputs():
    """Input blocks (12, VALUES), two of them; the ranges over which accuracy is promised."""
    random = np.random.default_rng(1)
    scale = 10.0 ** random.uniform(-5, 5, (2, VALUES))
    spot = random.normal(size=(2, VALUES)) * scale
    x = [
        spread_out(random, -700, 700),
        10 ** spread_out(random, -300, 300),
        spread_out(random, -1e6, 1e6),
        spread_out(random, -4, 4),
        spot[0],
        spread_out(random, -1, 1),
        spread_out(random, -1, 1),
        10 ** spread_out(random, -2, 2),
        10 ** spread_out(random, -300, 300),
        spread_out(random, -1e3, 1e3),
        spread_out(random, -2, 7),
        spread_out(random, -3, 3),
    ]
    x[1][::2] = random.uniform(0.5, 2, VALUES // 2)  # where a logarithm is hardest
    x[2][::2] = random.uniform(-np.pi, np.pi, VALUES // 2)
    y = [np.zeros(VALUES)] * 12
    y[4], y[7] = spot[1], spread_out(random, 0.05, 1)
    return np.array(x), np.array(y)


def exact_inputs():
    random = np.random.default_rng(2)
    x, y = random.normal(size=(2, VALUES)) * 10.0 ** random.integers(-3, 4, (2, VALUES))
    x[:: PLAIN_STEP // 2] = np.round(x[:: PLAIN_STEP // 2])
    pairs = np.array(np.meshgrid(SPECIAL, SPECIAL)).reshape(2, -1)
    x[: 100 * PLAIN_STEP : PLAIN_STEP], y[: 100 * PLAIN_STEP : PLAIN_STEP] = pairs
    return x, y


def whole_inputs():
    random = np.random.default_rng(3)
    x, y = random.integers(-(2**40), 2**40, (2, VALUES))
    y[::128] = x[::128]
    return x, y, random.integers(0, 2**64 - 1, VALUES, dtype=np.uint64)


def random_flights():
    flights = np.arange(VALUES, dtype=np.uint64)
    flights[1::2] += np.uint64(2**40)  # also the upper half of the counter
    return flights


def run(width, step=1):
    """Every kernel at one width; a dict of (block, value) arrays. step takes every so manieth."""
    lanes = lane_types(width)
    results = {}

    def laid(values):
        return np.ascontiguousarray(values[..., ::step]).reshape(-1, width)

    x, y = (laid(v) for v in math_inputs())
    out = np.empty_like(x)
    mathematics(lanes, x, y, out)
    results["mathematics"] = out.reshape(len(MATH_NAMES), -1)

    x, y = (laid(v) for v in exact_inputs())
    out = np.empty((len(EXACT_NAMES) * len(x), width))
    exact(lanes, x, y, out)
    results["exact"] = out.reshape(len(EXACT_NAMES), -1)

    x, y, words = (laid(v) for v in whole_inputs())
    out = np.empty((len(WHOLE_NAMES) * len(x), width), np.int64)
    out_words = np.empty((3 * len(x), width), np.uint64)
    whole_numbers(lanes, x, y, out, words, out_words)
    results["whole"] = out.reshape(len(WHOLE_NAMES), -1)
    results["words"] = out_words.reshape(3, -1)

    flights = laid(random_flights())
    out = np.empty((len(RANDOM_NAMES) * len(flights), width))
    out_words = np.empty((2 * len(flights), width), np.uint64)
    randoms(lanes, np.uint64(0xFEDCBA9876543210), flights, out, out_words)
    results["randoms"] = out.reshape(len(RANDOM_NAMES), -1)
    results["random_words"] = out_words.reshape(2, -1)

    x = np.repeat(np.linspace(-2, 9, 64)[:, None], width, axis=1)
    work, out = np.empty((3, width)), np.empty((64, width))
    rare = records(lanes, work, x, out)
    assert (out == out[:, :1]).all()
    results["records"] = np.concatenate([out[:, 0], work[:, 0], [rare]])
    return results


if __name__ == "__main__":
    np.savez(sys.argv[1], **run(1, PLAIN_STEP))
