"""Streams keyed by name: known answers, random access, and how evenly the methods fill."""

import numpy as np
import pytest
from scipy import stats
from scipy.stats import qmc

from sim.ensemble.uniforms import (
    _direction_numbers,
    open_unit,
    permuted,
    philox_words,
    stream_key,
    uniform_source,
)
from sim.errors import UserMistake

PLACES = {"a": 0, "b": 1, "c": 2}


def uniforms(method, runs, name="a", seed=1, flights=None):
    return uniform_source(method, seed, np.asarray(runs, dtype=np.int64), flights, PLACES)(name)


def test_philox_words__known_answer():
    # Philox4x64-10, counter and key zero: Random123's file of known answers (Salmon et al.,
    # "Parallel random numbers: as easy as 1, 2, 3", SC11, 2011); R13.5. Numpy increments its
    # counter before the first block (R13.6), so that block 0 only comes out right if that is met.
    words = philox_words(np.zeros(2, dtype=np.uint64), 0, 4)
    expected = [0x16554D9ECA36314C, 0xDB20FE9D672D0FDC, 0xD7E772CEE186176B, 0x7E68B68AEC7BA23B]
    assert [int(w) for w in words] == expected


def test_philox_words__blocks_follow_one_another():
    key = stream_key(3, "launch_pad.tilt")
    whole = philox_words(key, 0, 40)
    assert np.array_equal(philox_words(key, 7, 12), whole[28:])


def test_open_unit__never_reaches_the_ends():
    ends = open_unit(np.array([0, 2**64 - 1], dtype=np.uint64))
    assert ends.tolist() == [2.0**-53, 1 - 2.0**-53]


@pytest.mark.parametrize("method", ["random", "latin_hypercube", "sobol"])
def test_uniform_source__any_runs_in_any_order(method):
    whole = uniforms(method, range(3000), flights=3000)
    shuffled = np.random.default_rng(1).permutation(3000)
    assert np.array_equal(uniforms(method, shuffled, flights=3000), whole[shuffled])
    few = [2999, 0, 1777, 1777, 3]
    assert np.array_equal(uniforms(method, few, flights=3000), whole[few])
    assert uniforms(method, [], flights=3000).shape == (0,)


def test_uniform_source__far_apart_runs_need_no_filling_in_between():
    far = np.array([5, 10**12, 10**6, 2**40 + 3])
    values = uniforms("random", far)
    alone = [uniforms("random", [run])[0] for run in far]
    assert np.array_equal(values, alone)


@pytest.mark.parametrize("method", ["random", "latin_hypercube", "sobol"])
def test_uniform_source__name_and_seed_make_another_stream(method):
    n = 4096
    first = uniforms(method, range(n), flights=n)
    others = [uniforms(method, range(n), name="b", flights=n)]
    if method != "sobol":  # two seeds scramble the same net: the halves stay together or swap
        others.append(uniforms(method, range(n), seed=2, flights=n))
    for other in others:
        # fixed seed; a right generator lies beyond 4.5/sqrt(n) once in 150,000 such pairs
        assert abs(np.corrcoef(first, other)[0, 1]) < 4.5 / np.sqrt(n)


@pytest.mark.parametrize("method", ["random", "latin_hypercube", "sobol"])
def test_uniform_source__is_uniform(method):
    # Kolmogorov-Smirnov; a right generator fails once in a million (fixed seed)
    assert stats.kstest(uniforms(method, range(8000), flights=8000), "uniform").pvalue > 1e-6


@pytest.mark.parametrize("flights", [1, 2, 3, 7, 100, 1009])
def test_latin_hypercube__one_flight_in_each_stratum(flights):
    for name in PLACES:
        u = uniforms("latin_hypercube", range(flights), name, flights=flights)
        assert sorted(np.floor(u * flights)) == list(range(flights))


def test_permuted__reaches_every_order_of_five():
    orders = {tuple(permuted(np.arange(5), 5, stream_key(seed, "x"))) for seed in range(1500)}
    assert len(orders) == 120


def test_direction_numbers__rebuild_the_published_sequence():
    # plain Sobol' points in Gray-code order, here from scipy, whose numbers are those of Joe and
    # Kuo, SIAM J. Sci. Comput. 30 (2008); the first points by hand in R5.32
    numbers = _direction_numbers(3, 8)
    index = np.arange(256)
    gray = index ^ (index >> 1)
    points = np.zeros((256, 3), dtype=np.uint64)
    for bit in range(8):
        points ^= np.where((gray[:, None] >> bit) & 1, numbers[bit], np.uint64(0))
    assert np.array_equal(points / 2.0**32, qmc.Sobol(3, scramble=False).random(256))
    assert (points[:4, :2] / 2.0**32).tolist() == [[0, 0], [0.5, 0.5], [0.75, 0.25], [0.25, 0.75]]


def test_sobol__scrambled_points_stay_a_net():
    # dimensions 1 and 2 of the sequence are a (0, m, 2)-net in base 2, and scrambling keeps it:
    # each of the 2^m boxes 2^-k by 2^-(m-k) holds one point (Owen, 1995)
    m = 8
    x, y = (uniforms("sobol", range(2**m), name) for name in "ab")
    for k in range(m + 1):
        box = np.floor(x * 2**k) * 2 ** (m - k) + np.floor(y * 2 ** (m - k))
        assert len(set(box)) == 2**m


def test_sobol__flight_does_not_depend_on_how_many():
    assert np.array_equal(
        uniforms("sobol", range(100), flights=100), uniforms("sobol", range(100), flights=5000)
    )


def test_sobol__fills_more_evenly_than_random():
    # mean of a smooth function of three numbers over 4096 flights: true value 1
    errors = {}
    for method in ("random", "sobol"):
        u = np.array([uniforms(method, range(4096), name) for name in PLACES])
        errors[method] = abs(np.mean(np.prod(np.pi / 2 * np.sin(np.pi * u), axis=0)) - 1)
    assert errors["sobol"] < errors["random"] / 10


@pytest.mark.parametrize(
    ("method", "runs", "flights", "words"),
    [
        ("dice", [0], 1, "random, latin_hypercube, sobol"),
        ("latin_hypercube", [0], None, "number of flights"),
        ("latin_hypercube", [5], 5, "run 5"),
        ("random", [-1], 5, "start at 0"),
    ],
)
def test_uniform_source__says_what_is_wrong(method, runs, flights, words):
    with pytest.raises(UserMistake, match=words):
        uniforms(method, runs, flights=flights)
