"""Uniform numbers keyed by name: the value for (seed, name, run) depends on nothing else.

Three methods, each with random access to any run:

* `random`: word `run % 4` of block `run // 4` of the counter generator Philox4x64-10 (Salmon et
  al., SC11, 2011), its key the first 128 bits of SHA-256 of seed and name.
* `latin_hypercube`: one flight in each of N equal strata of every number. N is the number of
  flights of the whole ensemble, so flight i is another flight if N changes.
* `sobol`: Sobol' sequence with a random linear scramble and digital shift (Matousek, J. Complexity
  14, 1998), both keyed by name. The dimension is the place of the name among *all* numbers of the
  scenario in alphabetical order, fixed ones too, so that making a number uncertain or fixing it
  leaves the others. Only a new key in the schema moves dimensions. Flight i does not depend on N,
  but two seeds are two scrambles of one net: flight i of one resembles flight i of the other, and
  only their averages are independent. Powers of two fill most evenly.

All values lie on the odd multiples of 2^-53, so that neither 0 nor 1 ever comes.
"""

from __future__ import annotations

import hashlib
import math
import threading
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sim.ensemble.protocols import Floats, Runs
from sim.errors import UserMistake

METHODS = ("random", "latin_hypercube", "sobol")

BITS = 52
SMALLEST = 2.0**-53
LARGEST = 1.0 - 2.0**-53
_GAP = 256  # blocks; a longer hole between runs is jumped over instead of generated
_ROUNDS = 6
_SOBOL_BITS = 32

Words = NDArray[np.uint64]


@lru_cache(maxsize=4096)
def stream_key(seed: int, name: str, purpose: str = "draw") -> Words:
    """Key of a Philox stream, two words: the first 128 bits of SHA-256 of seed, name, purpose."""
    digest = hashlib.sha256(f"{seed}\0{name}\0{purpose}".encode()).digest()
    key = np.frombuffer(digest[:16], dtype="<u8").astype(np.uint64)
    key.flags.writeable = False
    return key


class _Generators(threading.local):
    """One generator a thread, set to where it is wanted: to make one takes longer than its words.

    Each new one would also ask the system for entropy that nobody needs.
    """

    def __init__(self) -> None:
        self.philox = np.random.Philox(key=0)


_generators = _Generators()
_NO_WORDS = np.zeros(4, np.uint64)


def philox_words(key: Words, block: int, count: int) -> Words:
    """`count` words of a Philox stream from the start of `block`.

    Numpy increments its counter before the first block, so it is told the one before.
    """
    before = (block - 1) % 2**256
    words = [(before >> shift) % 2**64 for shift in (0, 64, 128, 192)]
    generator = _generators.philox
    place: Any = {"counter": np.array(words, dtype=np.uint64), "key": key}
    generator.state = {
        "bit_generator": "Philox", "state": place, "has_uint32": 0, "uinteger": 0,
        "buffer": _NO_WORDS, "buffer_pos": len(_NO_WORDS),  # nothing left over
    }  # fmt: skip
    return generator.random_raw(count)


def open_unit(words: Words) -> Floats:
    """Map 64-bit words to (0, 1), ends excluded: the middle of one of 2^52 equal cells.

    With 53 bits the topmost cell's middle would round to 1.
    """
    cells = (words >> np.uint64(64 - BITS)).astype(np.float64)
    cells += 0.5
    cells *= 2.0**-BITS
    return cells


def uniform_source(
    method: str, seed: int, runs: Runs, flights: int | None, dimensions: Mapping[str, int]
) -> Callable[[str], Floats]:
    """Make the function that gives the uniforms of a name for these runs.

    Parameters
    ----------
    method : {"random", "latin_hypercube", "sobol"}
        How the numbers fill the unit interval.
    seed : int
        Of the ensemble.
    runs : ndarray of int64, shape (n,)
        Run numbers, in any order.
    flights : int or None
        Size of the whole ensemble; needed by `latin_hypercube` only.
    dimensions : mapping
        Sobol' dimension of each name.

    Returns
    -------
    callable
        `name -> ndarray (n,)` in (0, 1).

    Raises
    ------
    UserMistake
        Unknown method, negative run, or a run beyond `flights` of a Latin hypercube.
    """
    if runs.size and runs.min() < 0:
        raise UserMistake(f"run numbers start at 0; {runs.min()} was given")
    if method == "random":
        plan = _segments(runs)
        return lambda name: _random(plan, stream_key(seed, name))
    if method == "latin_hypercube":
        total = _total(runs, flights)
        plan = _segments(runs)
        return lambda name: _latin(plan, seed, name, runs, total)
    if method == "sobol":
        last = max(int(runs.max(initial=0)) + 1, flights or 1)
        count = max(last.bit_length(), 1)
        gray = (runs ^ (runs >> 1)).astype(np.uint64)
        size = 1 + max(dimensions.values(), default=0)
        return lambda name: _sobol(gray, _scrambled(seed, name, dimensions[name], size, count))
    raise UserMistake(f'sampling method "{method}" is not known; known are {", ".join(METHODS)}')


# -- random ------------------------------------------------------------------------------------


class _Segments:
    """Which blocks to generate for a set of runs, and where each run's word then lies."""

    def __init__(self, runs: Runs) -> None:
        blocks = np.unique(runs >> 2)
        cuts = np.flatnonzero(np.diff(blocks) > _GAP) + 1
        self.parts = [(int(p[0]), int(p[-1] - p[0] + 1)) for p in np.split(blocks, cuts) if p.size]
        firsts = np.array([first for first, _ in self.parts], dtype=np.int64)
        starts = np.cumsum([0] + [length for _, length in self.parts])[:-1]
        part = np.searchsorted(firsts, runs >> 2, side="right") - 1
        place = (starts[part] - firsts[part]) * 4 + runs if runs.size else runs
        straight = place.size > 0 and bool(np.all(np.diff(place) == 1))
        # plain forward order, the common case, needs no gather
        self.place: NDArray[np.int64] | slice = (
            slice(int(place[0]), int(place[-1]) + 1) if straight else place
        )


def _segments(runs: Runs) -> _Segments:
    return _Segments(runs)


def _random(plan: _Segments, key: Words) -> Floats:
    if not plan.parts:
        return np.empty(0)
    words = [philox_words(key, first, 4 * length) for first, length in plan.parts]
    joined = words[0] if len(words) == 1 else np.concatenate(words)
    return open_unit(joined[plan.place])


# -- Latin hypercube ---------------------------------------------------------------------------


def _total(runs: Runs, flights: int | None) -> int:
    if flights is None:
        raise UserMistake("a Latin hypercube needs the number of flights of the whole ensemble")
    if runs.size and runs.max() >= flights:
        raise UserMistake(f"run {runs.max()} is not in a Latin hypercube of {flights} flights")
    return flights


def _latin(plan: _Segments, seed: int, name: str, runs: Runs, total: int) -> Floats:
    stratum = permuted(runs, total, stream_key(seed, name, "latin hypercube"))
    within = _random(plan, stream_key(seed, name))
    return np.clip((stratum + within) / total, SMALLEST, LARGEST)


def permuted(index: Runs, total: int, key: Words) -> NDArray[np.int64]:
    """Place of each index in a keyed shuffling of 0 .. total-1, found without making the shuffle.

    Parameters
    ----------
    index : ndarray of int64, shape (n,)
        In [0, total).
    total : int
        Size of the set.
    key : ndarray of uint64, shape (2,)
        Stream key.

    Returns
    -------
    ndarray of int64, shape (n,)

    Notes
    -----
    Alternating Feistel network on Z_a x Z_b with a b >= total, walking on while the result falls
    outside the set (Black and Rogaway, CT-RSA 2002). The round function is the finaliser of
    SplitMix64 (Steele, Lea and Flood, OOPSLA 2014).
    """
    left_size = max(math.isqrt(max(total - 1, 0)) + 1, 1)
    right_size = -(-total // left_size)
    keys = philox_words(key, 0, _ROUNDS)
    result = _feistel(index.astype(np.uint64), left_size, right_size, keys)
    while True:
        outside = np.flatnonzero(result >= total)
        if outside.size == 0:
            return result.astype(np.int64)
        result[outside] = _feistel(result[outside], left_size, right_size, keys)


def _feistel(values: Words, left_size: int, right_size: int, keys: Words) -> Words:
    a, b = np.uint64(left_size), np.uint64(right_size)
    left, right = values // b, values % b
    for number, key in enumerate(keys):
        if number % 2 == 0:
            left = (left + _mix(right + key) % a) % a
        else:
            right = (right + _mix(left + key) % b) % b
    return left * b + right


def _mix(z: Words) -> Words:
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))


# -- Sobol' ------------------------------------------------------------------------------------


@lru_cache(maxsize=2)
def _direction_numbers(size: int, count: int) -> Words:
    """First `count` direction numbers of each dimension, (count, size), 32 bits each.

    Neighbours in Gray-code order differ by one direction number, so they are read off the public
    generator at the powers of two.
    """
    from scipy.stats import qmc

    engine = qmc.Sobol(size, scramble=False, bits=_SOBOL_BITS)
    numbers = np.empty((count, size), dtype=np.uint64)
    for bit in range(count):
        if bit == 1:  # point 1 was already taken with bit 0
            engine.reset()
        ahead = 2**bit - 1 - engine.num_generated
        if ahead:
            engine.fast_forward(ahead)
        pair = (engine.random(2) * 2.0**_SOBOL_BITS).astype(np.uint64)
        numbers[bit] = pair[0] ^ pair[1]
    return numbers


@lru_cache(maxsize=4096)
def _scrambled(seed: int, name: str, dimension: int, size: int, count: int) -> Words:
    """Scrambled direction numbers of one name, 52 bits, and the digital shift at the end."""
    words = philox_words(stream_key(seed, name, "sobol"), 0, BITS + 1)
    places = np.uint64(BITS - 1) - np.arange(BITS, dtype=np.uint64)  # row 0: leading bit
    ones = np.uint64(1) << places
    above = ~((ones << np.uint64(1)) - np.uint64(1)) & np.uint64(2**BITS - 1)
    rows = (words[:BITS] & above) | ones  # lower triangular, ones on the diagonal
    columns = _direction_numbers(size, count)[:, dimension] << np.uint64(BITS - _SOBOL_BITS)
    parity = np.bitwise_count(rows[:, None] & columns[None, :]) & 1
    mixed = (parity.astype(np.uint64) << places[:, None]).sum(axis=0, dtype=np.uint64)
    return np.append(mixed, words[BITS] >> np.uint64(64 - BITS))


def _sobol(gray: Words, numbers: Words) -> Floats:
    cell = np.full(gray.shape, numbers[-1], dtype=np.uint64)
    for bit, number in enumerate(numbers[:-1]):
        cell ^= ((gray >> np.uint64(bit)) & np.uint64(1)) * number
    return open_unit(cell << np.uint64(64 - BITS))
